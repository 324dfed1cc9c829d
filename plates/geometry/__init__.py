"""Plane geometry that knows nothing of plates.

Comes in: points, lines, arcs, ellipses, splines and closed loops of them, in mm.  Goes out: the same, split, moved, offset,
measured or compared; and frames in space.  Nothing here asks the kernel for a solid.  What is written here must hold for
every kind of curve; a case that is left out is refused, not drawn as a chord.
"""
