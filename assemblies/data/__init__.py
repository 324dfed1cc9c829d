"""Plain frozen data that rooms hand on: parts, panels, findings, joints as settled, the product.

Comes in and goes out: nothing is worked out here.  Every room below `design` may use it.
"""
