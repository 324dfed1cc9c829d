"""Design files: found, imported, asked for their parameters and called.

Comes in: a path and values as text.  Goes out: an `Assembly`, or an error that names the line of the design.
"""
