"""Pictures of an assembly: a line drawing as SVG and a shaded one as PNG, neither of which needs a display.

Comes in: a product and a view.  Goes out: text and bytes.
"""
