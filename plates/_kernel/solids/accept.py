"""CadQuery's own flat things as loops.

Nothing here imports CadQuery: it takes seconds, and who hands in one of its objects has imported it already.
"""

from __future__ import annotations

import sys
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates._validate import shown
from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.region import sorted_loops

from .read import loops_of_face

__all__ = ["region_loops"]


def region_loops(shape: Any) -> list[tuple[Loop, ...]]:
    """One tuple of loops for each region that a CadQuery Sketch, Workplane, Face, Wire or compound of these bounds."""
    cq = sys.modules.get("cadquery")
    if cq is None:
        raise _no_flat_shape(shape)
    with guarded("reading a CadQuery shape"):
        faces: list[Any] = []
        if isinstance(shape, cq.Sketch):
            faces = _faces_of_sketch(cq, shape)
        elif isinstance(shape, cq.Workplane):
            for value in _workplane_values(shape):
                faces.extend(_faces_of(cq, value))
        else:
            faces = _faces_of(cq, shape)
        if not faces:
            raise OutlineError(f"the {type(shape).__name__} bounds no flat region; draw a closed outline", value=shape)
        found = []
        for face in faces:
            loops, _ = loops_of_face(face.wrapped)
            found.append(sorted_loops(loops))
        return found


def _workplane_values(workplane: Any) -> list[Any]:
    pending = workplane.ctx.pendingWires
    return list(pending) if pending else workplane.vals()


def _faces_of_sketch(cq: Any, sketch: Any) -> list[Any]:
    faces = sketch._faces
    if isinstance(faces, cq.Compound) or hasattr(faces, "Faces"):
        located = faces.moved(sketch.locs[0]) if getattr(sketch, "locs", None) else faces
        return list(located.Faces())
    return []


def _faces_of(cq: Any, value: Any) -> list[Any]:
    if isinstance(value, cq.Sketch):
        return _faces_of_sketch(cq, value)
    if isinstance(value, cq.Wire):
        if not value.IsClosed():
            raise OutlineError("the wire is open; close it", value=value)
        return [_filled(cq, value)]
    if isinstance(value, cq.Edge):
        if not value.IsClosed():
            raise OutlineError("the edge is open; draw a closed wire", value=value)
        return [_filled(cq, cq.Wire.assembleEdges([value]))]
    if isinstance(value, cq.Solid):
        raise OutlineError("a solid is no outline; give one of its faces, for example workplane.faces('>Z').val()", value=value)
    if isinstance(value, cq.Shape):
        return list(value.Faces())
    raise _no_flat_shape(value)


def _no_flat_shape(value: Any) -> OutlineError:
    return OutlineError(f"{shown(value)} is no flat shape; give a CadQuery Sketch, Workplane, Face or Wire", value=value)


def _filled(cq: Any, wire: Any) -> Any:
    try:
        return cq.Face.makeFromWires(wire)
    except ValueError as problem:
        raise OutlineError(f"the wire bounds no flat region ({problem}); draw it in one plane", value=wire) from problem
