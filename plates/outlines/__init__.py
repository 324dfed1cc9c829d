"""The flat shape of a plate: drawn from primitives, taken from CadQuery or read from DXF, cut, rounded and lettered.

Comes in: sizes, CadQuery's flat things, DXF files.  Goes out: `Outline`, whose loops are closed and in order.  The one module
that cuts and adds in the plane is `planar_cuts`.
"""
