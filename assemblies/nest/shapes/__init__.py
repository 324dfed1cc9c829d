"""Shapes for a nest: on a grid of whole micrometres, flattened, reduced to few corners, in convex parts.

Comes in: outlines with curves.  Goes out: closed paths that cover them.  `paths` is the one module that calls pyclipper.
"""
