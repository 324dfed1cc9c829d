"""Ready-made bodies to build on: a carcass, a tray, a grid of dividers.  Each is an `Assembly`.

Comes in: sizes.  Goes out: an assembly like any other; write your own in the same way.
"""
