"""Planar booleans by the kernel, for outlines with ellipses and splines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.region import pieces, sorted_loops
from panelwright.plates.tolerances import SAME_AREA

from .build import face_of
from .read import loops_of_face

__all__ = ["combine_by_kernel"]


def combine_by_kernel(base: Sequence[Loop], adds: Sequence[Loop], cuts: Sequence[Loop]) -> tuple[Loop, ...]:
    """`base` and all `adds`, less all `cuts`, by one General Fuse for each; loops as `region.combine` returns them.

    Raises `KernelError` if the kernel fails or if the area that comes back cannot be right.
    """
    with guarded("combining outlines"):
        shape = [face_of(outer, holes) for outer, holes in pieces(base)]
        if adds:
            shape = [_boolean("Fuse", shape, [face_of(loop) for loop in adds])]
        if cuts:
            shape = [_boolean("Cut", shape, [face_of(loop) for loop in cuts])]
        found = [loop for whole in shape for face in _faces(_unified(whole)) for loop in loops_of_face(face)[0]]
    area, most = sum(loop.area for loop in found), sum(loop.area for loop in (*base, *adds))
    least = sum(loop.area for loop in base) - sum(loop.area for loop in cuts)
    if not least - SAME_AREA <= area <= most + SAME_AREA:
        raise KernelError(
            f"the kernel's boolean gave an area of {area:.3f} mm² where {least:.3f} to {most:.3f} is possible; "
            "move the shapes apart or make them overlap clearly",
            value=area,
            limit=(least, most),
        )
    return sorted_loops(found)


def _boolean(kind: str, objects: list[Any], tools: list[Any]) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
    from OCP.TopTools import TopTools_ListOfShape

    operation = BRepAlgoAPI_Fuse() if kind == "Fuse" else BRepAlgoAPI_Cut()
    left, right = TopTools_ListOfShape(), TopTools_ListOfShape()
    for shape in objects:
        left.Append(shape)
    for shape in tools:
        right.Append(shape)
    operation.SetArguments(left)
    operation.SetTools(right)
    operation.SetRunParallel(False)
    operation.Build()
    if not operation.IsDone():
        raise KernelError(f"the kernel could not carry out a planar {kind.lower()} of {len(tools)} shapes")
    return operation.Shape()


def _unified(shape: Any) -> Any:
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    unify = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    unify.Build()
    return unify.Shape()


def _faces(shape: Any) -> list[Any]:
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    explorer, faces = TopExp_Explorer(shape, TopAbs_FACE), []
    while explorer.More():
        faces.append(TopoDS.Face_s(explorer.Current()))
        explorer.Next()
    return faces
