"""Paper at true size: the canvas in millimetres, and panels as templates on pages.

Comes in: what to draw, and where in mm.  Goes out: pages of a PDF.  `press` is the one module that calls reportlab.
"""
