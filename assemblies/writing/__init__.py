"""Files and folders put in place whole, or not at all.

Comes in: bytes and a place.  Goes out: the place holds the new or the old, never half of either, whatever kills the run.
"""
