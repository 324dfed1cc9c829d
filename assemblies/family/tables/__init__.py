"""Tables of variants and orders of them, read and checked by what the design takes.

Comes in: a CSV, a TOML or a function, and the design's parameters.  Goes out: names with their settings, or faults.
"""
