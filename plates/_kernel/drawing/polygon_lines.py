"""Visible edges of many solids at once, by the kernel's hidden-line removal on triangles: fast, and nearly exact.

The exact removal (`hidden_line.visible_edges`) compares every edge with every face; for hundreds of plates that takes
minutes.  Here straight edges stay exact, since plates have straight edges in flat faces; round ones become chords that
are at most `deflection` mm off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.tolerances import POINT_TOLERANCE

from .hidden_line import Outlook, VisibleEdges, placed, sorted_segments, visible_edges

__all__ = ["EXACT_UP_TO", "edges_seen", "polygon_edges"]

EXACT_UP_TO = 100
"""How many solids the exact removal is used for."""


def edges_seen(solids: Sequence[tuple[Any, Frame]], outlook: Outlook) -> list[VisibleEdges]:
    """The visible edges of each solid: exact up to `EXACT_UP_TO` solids, by polygons above."""
    return visible_edges(solids, outlook) if len(solids) <= EXACT_UP_TO else polygon_edges(solids, outlook)


def polygon_edges(solids: Sequence[tuple[Any, Frame]], outlook: Outlook, *, deflection: float = 0.05) -> list[VisibleEdges]:
    """The visible edges of each solid, in the order given, as straight lines; see `visible_edges` for the rest.

    `deflection` is the largest distance in mm between a round edge and its chords.  Raises `KernelError` if hidden-line
    removal fails.
    """
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector
    from OCP.HLRBRep import HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape

    if not solids:
        return []
    shapes = [placed(solid, frame) for solid, frame in solids]
    plane = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*outlook.viewer), gp_Dir(*outlook.right))
    try:
        removal = HLRBRep_PolyAlgo()
        for shape in shapes:
            BRepMesh_IncrementalMesh(shape, deflection, False, 0.4, False)
            removal.Load(shape)
        removal.Projector(HLRAlgo_Projector(plane))
        removal.Update()
        reader = HLRBRep_PolyHLRToShape()
        reader.Update(removal)
        found = []
        for shape in shapes:
            sharp = _lines(reader.VCompound(shape))
            outline = _lines(reader.OutLineVCompound(shape))
            smooth = _lines(reader.Rg1LineVCompound(shape)) + _lines(reader.RgNLineVCompound(shape))
            found.append(VisibleEdges(*(sorted_segments(lines) for lines in (sharp, outline, smooth))))
    except Exception as error:  # kernel exceptions share no other base
        raise KernelError(f"hidden-line removal failed on {len(shapes)} solids: {error}") from error
    return found


def _lines(compound: Any) -> list[Line]:
    """The straight edges of a compound in the picture's plane; a null compound holds none."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopExp import TopExp, TopExp_Explorer
    from OCP.TopoDS import TopoDS

    if compound is None or compound.IsNull():
        return []
    found = []
    explorer = TopExp_Explorer(compound, TopAbs_EDGE)
    while explorer.More():
        edge = TopoDS.Edge_s(explorer.Current())
        explorer.Next()
        ends = [BRep_Tool.Pnt_s(end(edge)) for end in (TopExp.FirstVertex_s, TopExp.LastVertex_s)]
        start, end = ((point.X(), point.Y()) for point in ends)
        if math.dist(start, end) > POINT_TOLERANCE:
            found.append(Line(start, end))
    return found
