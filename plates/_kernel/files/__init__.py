"""Solids as STEP text and as CadQuery objects.

Comes in: named, coloured, placed solids.  Goes out: the same bytes every time.
"""
