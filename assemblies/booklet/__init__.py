"""The booklet that goes into the box: pictures, parts, steps, cautions and templates.

Comes in: a product.  Goes out: one PDF.
"""
