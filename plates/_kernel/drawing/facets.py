"""A solid as triangles and edge lines in whole micrometres, for viewers that know no B-rep.

Guarantees: the triangles of all faces close the solid, up to the rounding of each corner; they are wound so that normals point
out of the material; edges run through the same corners as the triangles beside them; the same solid gives the same numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.frame import Frame

from .hidden_line import placed

__all__ = ["MICROMETRES", "Facets", "facets_of"]

MICROMETRES = 1000
"""Steps of a corner's coordinates in one mm: finer than any fit that is cut, and still short numbers."""


@dataclass(frozen=True, slots=True)
class Facets:
    """A solid in its own frame.

    `points` are distinct corners in micrometres.  `faces` holds for each B-rep face the corners of its triangles, three indices
    a triangle; `edges` for each B-rep edge at which two faces meet at an angle a chain of indices.
    """

    points: tuple[tuple[int, int, int], ...]
    faces: tuple[tuple[int, ...], ...]
    edges: tuple[tuple[int, ...], ...]


class _Corners:
    """Distinct corners, numbered as they come."""

    def __init__(self) -> None:
        self.points: dict[tuple[int, int, int], int] = {}

    def index(self, node: Any) -> int:
        spot = (round(node.X() * MICROMETRES), round(node.Y() * MICROMETRES), round(node.Z() * MICROMETRES))
        return self.points.setdefault(spot, len(self.points))


def facets_of(solid: Any, *, deflection: float, turn_deg: float = 18.0) -> Facets:
    """The triangles and sharp edges of a solid, in its own coordinates.

    `deflection` is the largest distance in mm between a round face and its triangles, and `turn_deg` the largest angle
    between neighbouring chords of a curve.  The solid itself stays as it was.
    Lines where one face runs into the next without a crease, and the seams of round faces, are left out.  Raises
    `KernelError` if the kernel gives no mesh.
    """
    from OCP.BRep import BRep_Tool
    from OCP.BRepLib import BRepLib
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.GeomAbs import GeomAbs_C0
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp, TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS
    from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape

    shape = placed(solid, Frame())
    BRepMesh_IncrementalMesh(shape, deflection, False, math.radians(turn_deg), False)
    BRepLib.EncodeRegularity_s(shape, 1e-4)
    corners = _Corners()
    faces: list[tuple[int, ...]] = []
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        explorer.Next()
        location = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, location)
        if mesh is None:
            raise KernelError("the kernel gave no triangles for a face; check that the solid is valid")
        motion = location.Transformation()
        index = [corners.index(mesh.Node(i).Transformed(motion)) for i in range(1, mesh.NbNodes() + 1)]
        turned = face.Orientation() == TopAbs_REVERSED
        flat: list[int] = []
        for number in range(1, mesh.NbTriangles() + 1):
            a, b, c = (index[i - 1] for i in mesh.Triangle(number).Get())
            if len({a, b, c}) == 3:  # rounding may close a triangle thinner than a micrometre
                flat += (a, c, b) if turned else (a, b, c)
        faces.append(tuple(flat))
    if not faces:
        raise KernelError("a solid to show has no faces; give a solid")

    edges: list[tuple[int, ...]] = []
    beside = TopTools_IndexedDataMapOfShapeListOfShape()
    TopExp.MapShapesAndAncestors_s(shape, TopAbs_EDGE, TopAbs_FACE, beside)
    for number in range(1, beside.Extent() + 1):
        edge = TopoDS.Edge_s(beside.FindKey(number))
        around = beside.FindFromIndex(number)  # looked at by its ends: iterating over it costs more than the mesh
        face = TopoDS.Face_s(around.First())
        if BRep_Tool.Degenerated_s(edge) or BRep_Tool.IsClosed_s(edge, face):
            continue
        if around.Extent() == 2 and BRep_Tool.Continuity_s(edge, face, TopoDS.Face_s(around.Last())) != GeomAbs_C0:
            continue
        location = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, location)
        chain = BRep_Tool.PolygonOnTriangulation_s(edge, mesh, location)
        if chain is None:
            raise KernelError("the kernel gave no points for an edge; check that the solid is valid")
        motion = location.Transformation()
        nodes = (mesh.Node(chain.Node(i)).Transformed(motion) for i in range(1, chain.NbNodes() + 1))
        edges.append(tuple(corners.index(node) for node in nodes))
    return Facets(tuple(corners.points), tuple(faces), tuple(edges))
