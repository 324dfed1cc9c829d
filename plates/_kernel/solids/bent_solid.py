"""Bent panels as one solid: flat faces, cylinder faces and the walls between them, built from shared vertices and edges.

Nothing is cut or sewn here.  Every loop of the flat panel is mapped onto its piece's surfaces, once at the back and once at the
show face, and a wall closes each segment between the two.  On a cylinder, segments along the axis stay straight and segments
across it become circles, both exact; any other segment becomes a quintic spline (`slanting`).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from types import SimpleNamespace
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates._kernel.values.place import transformation_of
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.bending import FlatPiece, Piece, RoundPiece, split_for_bending
from panelwright.plates.geometry.curves import Line, Loop, Point, Segment
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.region import pieces as grouped
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CYLINDER_SPLINE, ON_BEND_LINE, POINT_TOLERANCE

from .build import curve_of
from .slanting import SlantingSegments

__all__ = ["bent_solid", "round_faces"]

_Key = tuple[int, int]
_Corner = tuple[Any, Any, Any, Any, Any]
"""Vertices at the back and at the show face, the edge between them, and the two places."""

_Chain = list[tuple[Any, bool]]


def bent_solid(pieces: Sequence[Piece], thickness: float) -> Any:
    """One `TopoDS_Solid` of a bent panel of the given thickness, in the coordinates that the pieces' frames lead to.

    Neighbouring pieces must meet along their bend lines; whatever of their borders is not shared gets a wall.  Raises
    `KernelError` if the walls do not close.
    """
    with guarded("building a bent panel"):
        return _Maker(pieces, thickness).solid()


def round_faces(piece: RoundPiece) -> list[tuple[tuple[Any, ...], Any]]:
    """The faces of one round piece as designed, each with its place: ("show",), ("back",) or ("edge", loop, segment)."""
    with guarded("finding the faces of a bent plate"):
        maker = _Maker([piece], piece.thickness)
        walls = [("edge", i, j) for i, loop in enumerate(maker.loops[0]) for j in range(len(loop))]
        return list(zip([*walls, ("back",), ("show",)], _Round(maker, piece).faces(maker.loops[0]), strict=True))


def _kernel() -> SimpleNamespace:
    """The kernel's classes that are called for every edge, looked up once a panel."""
    from OCP.BRep import BRep_Builder
    from OCP.Geom import Geom_Circle, Geom_Line, Geom_Plane
    from OCP.Geom2d import Geom2d_Line
    from OCP.gp import gp_Ax2, gp_Dir, gp_Dir2d, gp_Pnt, gp_Pnt2d, gp_Vec
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS_Edge, TopoDS_Face, TopoDS_Vertex, TopoDS_Wire

    return SimpleNamespace(
        builder=BRep_Builder(),
        circle=Geom_Circle,
        line=Geom_Line,
        plane=Geom_Plane,
        line2d=Geom2d_Line,
        axes=gp_Ax2,
        way=gp_Dir,
        way2d=gp_Dir2d,
        point=gp_Pnt,
        point2d=gp_Pnt2d,
        vector=gp_Vec,
        forward=TopAbs_Orientation.TopAbs_FORWARD,
        reversed=TopAbs_Orientation.TopAbs_REVERSED,
        nowhere=TopLoc_Location(),
        edge=TopoDS_Edge,
        face=TopoDS_Face,
        vertex=TopoDS_Vertex,
        wire=TopoDS_Wire,
    )


class _Maker:
    """Corners and shared edges by place."""

    def __init__(self, pieces: Sequence[Piece], thickness: float) -> None:
        self.k = _kernel()
        self.pieces = pieces
        self.thickness = thickness
        self.loops = split_for_bending(pieces)
        self.corners: dict[_Key, _Corner] = {}
        self.shared: dict[tuple[_Key, _Key], tuple[Any, Any]] = {}
        self.uses = Counter(_ways(segment)[0] for loops in self.loops for segment in _on_bend_lines(loops, pieces))

    def solid(self) -> Any:
        from OCP.BRep import BRep_Tool
        from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid

        builder, shell, solid = self.k.builder, TopoDS_Shell(), TopoDS_Solid()
        builder.MakeShell(shell)
        for piece, loops in zip(self.pieces, self.loops, strict=True):
            maker: _Faces = _Flat(self, piece) if isinstance(piece, FlatPiece) else _Round(self, piece)
            for outer, holes in grouped(loops):
                for face in maker.faces((outer, *holes)):
                    builder.Add(shell, face)
        shell.Closed(BRep_Tool.IsClosed_s(shell))
        if not shell.Closed():
            raise KernelError("the walls of a bent panel do not close; its pieces may not meet along their bend lines")
        builder.MakeSolid(solid)
        builder.Add(solid, shell)
        return solid

    def straight(self, first: Any, last: Any, start: Any, end: Any) -> Any:
        """A straight edge whose parameter is the distance from its start, mm."""
        k = self.k
        way = k.vector(start, end)
        return self.edge(k.line(start, k.way(way)), first, last, 0.0, way.Magnitude())

    def straight_pair(self, start: _Corner, end: _Corner) -> tuple[Any, Any]:
        """Straight edges between two corners at the back and at the show face."""
        return self.straight(start[0], end[0], start[3], end[3]), self.straight(start[1], end[1], start[4], end[4])

    def edge(self, curve: Any, first: Any, last: Any, low: float, high: float) -> Any:
        k = self.k
        edge = k.edge()
        k.builder.MakeEdge(edge, curve, POINT_TOLERANCE)
        k.builder.Add(edge, first.Oriented(k.forward))
        k.builder.Add(edge, last.Oriented(k.reversed))
        k.builder.Range(edge, low, high)
        return edge

    def line2d(self, x: float, y: float, dx: float, dy: float) -> Any:
        k = self.k
        return k.line2d(k.point2d(x, y), k.way2d(dx, dy))

    def draw(self, edge: Any, curve: Any, surface: Any, tolerance: float = POINT_TOLERANCE) -> None:
        """Tell an edge its curve in a surface's own parameters."""
        self.k.builder.UpdateEdge(edge, curve, surface, self.k.nowhere, tolerance)

    def face(self, surface: Any, chains: Sequence[_Chain], *, agrees: bool, outward: bool = True) -> Any:
        """A face over closed chains of edges, each with whether it is travelled forwards, material on the left.

        `agrees` says that left and right on the surface are those of whoever gave the chains; `outward` that the way in
        which the chains run round is that of someone outside the material.
        """
        k = self.k
        face = k.face()
        k.builder.MakeFace(face, surface, POINT_TOLERANCE)
        for chain in chains:
            wire = k.wire()
            k.builder.MakeWire(wire)
            for edge, forwards in chain if agrees else reversed(chain):
                k.builder.Add(wire, edge if forwards is agrees else edge.Reversed())
            wire.Closed(True)
            k.builder.Add(face, wire)
        return face if agrees is outward else face.Reversed()

    def plane_wall(self, outwards: Vector, pair: tuple[Any, Any], forwards: bool, start: _Corner, end: _Corner) -> Any:
        k = self.k
        plane = k.plane(start[3], k.way(*outwards))
        chain = [(pair[0], forwards), (end[2], True), (pair[1], not forwards), (start[2], False)]
        return self.face(plane, [chain], agrees=True)


class _Faces:
    """Faces of one piece: back, show face, and a wall for each segment of its own."""

    def __init__(self, maker: _Maker) -> None:
        self.maker = maker

    def place(self, spot: Point, z: float) -> Vector:
        raise NotImplementedError

    def segment(self, segment: Segment) -> tuple[Any, Any, bool, Any]:
        """Edges at the back and at the show face, whether they run along the segment, and its wall or None."""
        raise NotImplementedError

    def cover(self, level: int, chains: Sequence[_Chain]) -> Any:
        raise NotImplementedError

    def faces(self, loops: Sequence[Loop]) -> Iterator[Any]:
        chains: tuple[list[_Chain], list[_Chain]] = ([], [])
        for loop in loops:
            low: _Chain = []
            high: _Chain = []
            for segment in loop:
                bottom, top, forwards, wall = self.segment(segment)
                low.append((bottom, forwards))
                high.append((top, forwards))
                if wall is not None:
                    yield wall
            chains[0].append(low)
            chains[1].append(high)
        for level in (0, 1):
            yield self.cover(level, chains[level])

    def corner(self, spot: Point) -> _Corner:
        key = _key(spot)
        found = self.maker.corners.get(key)
        if found is not None:
            return found
        k = self.maker.k
        low, high = k.point(*self.place(spot, 0.0)), k.point(*self.place(spot, self.maker.thickness))
        first, last = k.vertex(), k.vertex()
        k.builder.MakeVertex(first, low, POINT_TOLERANCE)
        k.builder.MakeVertex(last, high, POINT_TOLERANCE)
        corner = (first, last, self.maker.straight(first, last, low, high), low, high)
        self.maker.corners[key] = corner
        return corner

    def straight_segment(self, segment: Line, start: _Corner, end: _Corner) -> tuple[tuple[Any, Any], bool, bool]:
        """Straight edges of a segment, whether they run along it, and whether a neighbour shares them."""
        maker = self.maker
        key, forwards = _ways(segment)
        if maker.uses[key] < 2:
            return maker.straight_pair(start, end), True, False
        pair = maker.shared.get(key)
        if pair is None:
            pair = maker.shared[key] = maker.straight_pair(*((start, end) if forwards else (end, start)))
        return pair, forwards, True


class _Flat(_Faces):
    """Faces of a piece that stays flat."""

    def __init__(self, maker: _Maker, piece: FlatPiece) -> None:
        super().__init__(maker)
        self.frame = piece.frame
        self.move = transformation_of(piece.frame)

    def place(self, spot: Point, z: float) -> Vector:
        return self.frame.point((spot[0], spot[1], z))

    def cover(self, level: int, chains: Sequence[_Chain]) -> Any:
        from OCP.gp import gp_Ax3

        k, frame = self.maker.k, self.frame
        origin = frame.point((0.0, 0.0, level * self.maker.thickness))
        plane = k.plane(gp_Ax3(k.point(*origin), k.way(*frame.z), k.way(*frame.x)))
        return self.maker.face(plane, chains, agrees=True, outward=level == 1)

    def segment(self, segment: Segment) -> tuple[Any, Any, bool, Any]:
        maker = self.maker
        start, end = self.corner(segment.start), self.corner(segment.end)
        if isinstance(segment, Line):
            pair, forwards, is_shared = self.straight_segment(segment, start, end)
            if is_shared:
                return *pair, forwards, None
            tx, ty = segment.tangent_at(0.0)
            outwards = self.frame.direction((ty, -tx, 0.0))
            return *pair, forwards, maker.plane_wall(outwards, pair, forwards, start, end)
        curve, low, high, backward = curve_of(segment, 0.0)
        first, last = (end, start) if backward else (start, end)
        edges = []
        for level in (0, 1):
            raised = curve.Translated(maker.k.vector(0.0, 0.0, level * maker.thickness)).Transformed(self.move)
            edges.append(maker.edge(raised, first[level], last[level], low, high))
        return edges[0], edges[1], not backward, self._curved_wall(curve, (low, high), edges, (first, last), backward)

    def _curved_wall(
        self, curve: Any, span: tuple[float, float], edges: Sequence[Any], ends: Sequence[_Corner], backward: bool
    ) -> Any:
        from OCP.Geom import Geom_Circle, Geom_CylindricalSurface, Geom_SurfaceOfLinearExtrusion
        from OCP.gp import gp_Ax3

        maker = self.maker
        if isinstance(curve, Geom_Circle):
            surface = Geom_CylindricalSurface(gp_Ax3(curve.Circ().Position()), curve.Radius()).Transformed(self.move)
        else:
            surface = Geom_SurfaceOfLinearExtrusion(curve.Transformed(self.move), maker.k.way(*self.frame.z))
        for edge, height in zip(edges, (0.0, maker.thickness), strict=True):
            maker.draw(edge, maker.line2d(0.0, height, 1.0, 0.0), surface)
        for corner, at in zip(ends, span, strict=True):
            maker.draw(corner[2], maker.line2d(at, 0.0, 0.0, 1.0), surface)
        chain = [(edges[0], True), (ends[1][2], True), (edges[1], False), (ends[0][2], False)]
        # along the curve and then up looks to the right of travel, which is out unless the segment runs against its curve
        return maker.face(surface, [chain], agrees=True, outward=not backward)


class _Round(_Faces):
    """Faces of a piece that lies on a cylinder."""

    def __init__(self, maker: _Maker, piece: RoundPiece) -> None:
        from OCP.Geom import Geom_CylindricalSurface
        from OCP.gp import gp_Ax3

        super().__init__(maker)
        k = maker.k
        self.piece = piece
        self.center, self.direction, self.radial, self.tangent = piece.axis
        self.around = piece.frame.direction((*piece.along, 0.0))
        axes = gp_Ax3(k.point(*self.center), k.way(*self.direction), k.way(*self.radial))
        self.axes = axes.Ax2()
        self.lift = k.vector(axes.Direction())
        self.radii = tuple(piece.radius_at(z) for z in (0.0, maker.thickness))
        self.surfaces = tuple(Geom_CylindricalSurface(axes, radius) for radius in self.radii)
        # heights on the cylinders grow along the axis, which may run against the bend line
        self.rise = math.copysign(1.0, sum(a * b for a, b in zip(self.around, self.direction, strict=True)))
        self.slanting = SlantingSegments(piece, self.radii, maker.thickness)
        # the borders of every wall of radial lines, in its own parameters
        self.wall_lines = (
            maker.line2d(0.0, 0.0, 1.0, 0.0),
            maker.line2d(0.0, maker.thickness, 1.0, 0.0),
            maker.line2d(0.0, 0.0, 0.0, 1.0),
            maker.line2d(1.0, 0.0, 0.0, 1.0),
        )

    def flat(self, spot: Point) -> Point:
        """Angle about the axis in radians and height along it in mm."""
        s, u = self.piece.flat(spot)
        return s / self.piece.radius, u * self.rise

    def place(self, spot: Point, z: float) -> Vector:
        phi, height = self.flat(spot)
        rho = self.piece.radius_at(z)
        a, b = rho * math.cos(phi), rho * math.sin(phi)
        (cx, cy, cz), (dx, dy, dz), (rx, ry, rz), (tx, ty, tz) = self.center, self.direction, self.radial, self.tangent
        return (
            cx + height * dx + a * rx + b * tx,
            cy + height * dy + a * ry + b * ty,
            cz + height * dz + a * rz + b * tz,
        )

    def cover(self, level: int, chains: Sequence[_Chain]) -> Any:
        # out of the cylinder is out of the show face where the panel turns away from it
        return self.maker.face(self.surfaces[level], chains, agrees=self.piece.sign < 0, outward=level == 1)

    def segment(self, segment: Segment) -> tuple[Any, Any, bool, Any]:
        piece = self.piece
        start, end = self.corner(segment.start), self.corner(segment.end)
        if isinstance(segment, Line):
            tx, ty = segment.tangent_at(0.0)
            across = tx * piece.across[0] + ty * piece.across[1]
            along = tx * piece.along[0] + ty * piece.along[1]
            if abs(across) < ANGLE_TOLERANCE:
                return self._generator(segment, start, end, (across, along))
            if abs(along) < ANGLE_TOLERANCE:
                return self._circle(segment, start, end, (across, along))
        return self._spline(segment, start, end)

    def _outwards(self, segment: Line, way: Point, phi: float) -> Vector:
        """To the right of travel, in the tangent plane at an angle."""
        piece, (across, along) = self.piece, way
        turn = piece.across[0] * piece.along[1] - piece.across[1] * piece.along[0]
        # the right of (across, along) is (along, −across) where the two axes turn to the left, and the other way otherwise
        a, b = along * turn, -across * turn
        cosine, sine = math.cos(phi), math.sin(phi)
        x, y, z = (a * (cosine * t - sine * r) + b * u for t, r, u in zip(self.tangent, self.radial, self.around, strict=True))
        return (x, y, z)

    def _generator(self, segment: Line, start: _Corner, end: _Corner, way: Point) -> tuple[Any, Any, bool, Any]:
        """A segment along the axis: straight, and shared with the neighbour where it lies on a bend line."""
        maker = self.maker
        pair, forwards, is_shared = self.straight_segment(segment, start, end)
        phi, height = self.flat(segment.start if forwards else segment.end)
        drawn = maker.line2d(phi, height, 0.0, math.copysign(1.0, way[1] * self.rise) * (1 if forwards else -1))
        for edge, surface in zip(pair, self.surfaces, strict=True):
            maker.draw(edge, drawn, surface)
        if is_shared:
            return *pair, forwards, None
        return *pair, forwards, maker.plane_wall(self._outwards(segment, way, phi), pair, forwards, start, end)

    def _circle(self, segment: Line, start: _Corner, end: _Corner, way: Point) -> tuple[Any, Any, bool, Any]:
        """A segment across the axis: an arc about it, its parameter the angle."""
        maker, k = self.maker, self.maker.k
        forwards = way[0] > 0
        (phi0, height), (phi1, _) = self.flat(segment.start), self.flat(segment.end)
        first, last = (start, end) if forwards else (end, start)
        low, high = (phi0, phi1) if forwards else (phi1, phi0)
        axes = self.axes.Translated(self.lift.Multiplied(height))
        drawn = maker.line2d(0.0, height, 1.0, 0.0)
        edges = []
        for level, (radius, surface) in enumerate(zip(self.radii, self.surfaces, strict=True)):
            edge = maker.edge(k.circle(axes, radius), first[level], last[level], low, high)
            maker.draw(edge, drawn, surface)
            edges.append(edge)
        pair = (edges[0], edges[1])
        return *pair, forwards, maker.plane_wall(self._outwards(segment, way, phi0), pair, forwards, start, end)

    def _spline(self, segment: Segment, start: _Corner, end: _Corner) -> tuple[Any, Any, bool, Any]:
        """Any other segment: a spline on either cylinder, and the surface of radial lines between the two."""
        maker = self.maker
        curves, wall, drawn = self.slanting.rolled(segment)
        bottom, top, at_start, at_end = self.wall_lines
        edges = []
        for level, (curve, surface) in enumerate(zip(curves, self.surfaces, strict=True)):
            edge = maker.edge(curve, start[level], end[level], 0.0, 1.0)
            maker.draw(edge, drawn, surface, CYLINDER_SPLINE)
            edges.append(edge)
        maker.draw(edges[0], bottom, wall, CYLINDER_SPLINE)
        maker.draw(edges[1], top, wall, CYLINDER_SPLINE)
        maker.draw(start[2], at_start, wall, CYLINDER_SPLINE)
        maker.draw(end[2], at_end, wall, CYLINDER_SPLINE)
        chain = [(edges[0], True), (end[2], True), (edges[1], False), (start[2], False)]
        return edges[0], edges[1], True, maker.face(wall, [chain], agrees=True)


def _on_bend_lines(loops: Sequence[Loop], pieces: Sequence[Piece]) -> Iterator[Line]:
    """Straight segments that lie on some bend line, where two pieces may meet."""
    lines = []
    for piece in pieces:
        if isinstance(piece, RoundPiece):
            base = piece.origin[0] * piece.across[0] + piece.origin[1] * piece.across[1]
            lines += [(piece.across, base), (piece.across, base + piece.length)]
    for loop in loops:
        x0, y0, x1, y1 = loop.bounds
        for (nx, ny), at in lines:
            spots = [x * nx + y * ny for x in (x0, x1) for y in (y0, y1)]
            if min(spots) - ON_BEND_LINE > at or max(spots) + ON_BEND_LINE < at:
                continue
            for segment in loop:
                ends = (segment.start, segment.end)
                if isinstance(segment, Line) and all(abs(x * nx + y * ny - at) < ON_BEND_LINE for x, y in ends):
                    yield segment


def _key(spot: Point) -> _Key:
    return (round(spot[0] * 1e5), round(spot[1] * 1e5))


def _ways(segment: Segment) -> tuple[tuple[_Key, _Key], bool]:
    """What tells a straight segment apart from others, whichever way it is travelled, and whether it is forwards."""
    a, b = _key(segment.start), _key(segment.end)
    return ((a, b), True) if a < b else ((b, a), False)
