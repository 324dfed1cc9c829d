"""A plate: an outline of a certain stock, where it stands in an assembly, and its faces.

Material fills local z from 0 to the stock's thickness.  The face at local +Z is the *show face*, the one that looks at the
beam; the one at z = 0 is the back.  The other faces are *edge faces*, one for each segment of the outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

from panelwright.plates._validate import instance, shown, text, vector
from panelwright.plates.errors import ArgumentError, SelectionError
from panelwright.plates.geometry.bending import Roll, RoundPiece
from panelwright.plates.geometry.curves import Line, Loop, Point, Segment, points_along
from panelwright.plates.geometry.frame import Frame, Vector, dot, minus, scaled
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.svg_path import Pen
from panelwright.plates.tolerances import CONTACT_TOLERANCE, COSINE_ROUNDING

if TYPE_CHECKING:
    import cadquery as cq
    from panelwright.plates._kernel.solids.select import FaceTable

__all__ = ["Face", "Owner", "Place", "PlacedPlate", "Plate"]

Place = tuple[str | int, ...]
"""Which face of a plate: ("show",), ("back",) or ("edge", loop number, segment number)."""


class Owner(Protocol):
    """What placed plates belong to: something that takes note of joins between them."""

    name: str

    def record_join(self, first: Face, second: Face, joint: object) -> None:
        """Keep a join for when the assembly is resolved.  Raises `JointError` for what is no joint."""
        ...


@dataclass(frozen=True)
class Plate:
    """One flat part as designed, before any joint: an `outline` of a `stock`.

    `Assembly.add` makes one of an outline by itself.  Raises `ArgumentError` for what is no `Outline` or no `Stock`.

    >>> from panelwright.plates import rectangle
    >>> shelf = Plate(rectangle(300, 80), Stock("MDF", 6, density=750))
    >>> round(shelf.mass_kg, 4)
    0.108
    """

    outline: Outline
    stock: Stock

    def __post_init__(self) -> None:
        instance(self.outline, Outline, "outline of a plate", "give an Outline, such as rectangle(300, 80)")
        instance(self.stock, Stock, "stock of a plate", "give a Stock")

    def __repr__(self) -> str:
        return f"<Plate {self.outline!r} of {self.stock!r}>"

    @property
    def area_mm2(self) -> float:
        """Area of the show face in mm²."""
        return self.outline.area

    @property
    def mass_kg(self) -> float | None:
        """Mass in kg, or None for stock of unknown density."""
        density = self.stock.density
        return None if density is None else self.outline.area * self.stock.t * 1e-9 * density

    def to_cadquery(self) -> cq.Solid:
        """The plate as a CadQuery solid in its own frame."""
        import cadquery as cq
        from panelwright.plates._kernel.solids.build import plate_solid
        from panelwright.plates.geometry.region import pieces

        return cq.Solid(plate_solid(pieces(self.outline.loops), self.stock.t))

    def _repr_svg_(self) -> str:
        """Outline for a notebook."""
        return outline_svg(self.outline)


@dataclass(frozen=True, eq=False)
class PlacedPlate:
    """A plate under its name in an assembly, standing at `frame` in that assembly's coordinates.

    Handles are cheap and never change; faces picked from one stay good whatever is joined later.  A bent part of a sheet has a
    `roll`, and its broad faces are cylinders.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import rectangle
    >>> base = Assembly("card stand", stock=Stock("MDF", 3)).add("base", rectangle(120, 60))
    >>> base.face(">Z").place == base.show.place, base.face("<X").middle, len(base.border)
    (True, (-60.0, 0.0, 1.5), 4)
    """

    name: str
    plate: Plate
    frame: Frame
    owner: Owner
    roll: Roll | None = None

    def __post_init__(self) -> None:
        text(self.name, "name of a placed plate")
        of = f"of placed plate {self.name!r}"
        instance(self.plate, Plate, f"plate {of}", "give a Plate")
        instance(self.frame, Frame, f"frame {of}", "give a Frame")
        if self.roll is not None:
            instance(self.roll, Roll, f"roll {of}", "give a Roll or None")
        if not callable(getattr(self.owner, "record_join", None)):
            raise ArgumentError(f"owner {of} is {shown(self.owner)}; give the assembly that it stands in", value=self.owner)

    def __repr__(self) -> str:
        w, h = self.plate.outline.size
        return (
            f"<PlacedPlate {self.name!r}, {w:.2f} × {h:.2f} × {self.plate.stock.t:g} mm of {shown(self.plate.stock.material)}>"
        )

    def _repr_svg_(self) -> str:
        """Its outline for a notebook."""
        return outline_svg(self.plate.outline)

    @cached_property
    def _table(self) -> FaceTable:
        from panelwright.plates._kernel.solids.select import FaceTable

        return FaceTable(self.plate.outline.loops, self.plate.stock.t, self.frame, self.roll)

    @cached_property
    def _rolled(self) -> RoundPiece | None:
        return None if self.roll is None else self.roll.piece((), self.frame, self.plate.stock.t)

    def point(self, local: Vector) -> Vector:
        """Where a point of the plate's own coordinates stands, in the assembly's."""
        return self.frame.point(local) if self._rolled is None else self._rolled.point(local[:2], local[2])

    def direction(self, local: Vector, at: Point) -> Vector:
        """Where a direction goes that is at the point `at`, (x, y) in mm, of the plate's plane."""
        return self.frame.direction(local) if self._rolled is None else self._rolled.direction(at, local)

    def face(self, selector: str) -> Face:
        """The one face that a CadQuery selector picks on the plate as designed, in the assembly's directions.

        ">Z" is the highest face, "<X" the one furthest to negative x, "|Y and >Z" and so on.  Raises `SelectionError`
        if it picks none or several, saying which.
        """
        found = self.faces(selector)
        if len(found) > 1:
            listed = "; ".join(str(face) for face in found[:4]) + (" …" if len(found) > 4 else "")
            raise SelectionError(
                f"selector {selector!r} on plate {self.name!r} picks {len(found)} faces ({listed}); "
                "narrow it with 'and', or take all with faces()",
                plates=(self.name,),
                face=selector,
                value=len(found),
                limit=1,
            )
        return next(iter(found))

    def faces(self, selector: str) -> tuple[Face, ...]:
        """All faces that a CadQuery selector picks; at least one, or `SelectionError` is raised."""
        text(selector, f"selector of faces of plate {self.name!r}", "give text such as '>Z'", SelectionError)
        places = self._table.select(selector)
        if not places:
            known = self.all_faces()
            listed = "; ".join(face.describe for face in known[:8])
            more = f"; and {len(known) - 8} more edge faces" if len(known) > 8 else ""
            raise SelectionError(
                f"selector {selector!r} on plate {self.name!r} picks no face; it has {listed}{more}",
                plates=(self.name,),
                face=selector,
                value=0,
                limit=1,
            )
        return tuple(Face(self, place, selector) for place in places)

    @property
    def show(self) -> Face:
        """The show face."""
        return Face(self, ("show",), "show face")

    @property
    def back(self) -> Face:
        """The face opposite the show face."""
        return Face(self, ("back",), "back face")

    @property
    def border(self) -> tuple[Face, ...]:
        """The edge faces round the outside, straight and curved, in the order of the outline."""
        return tuple(Face(self, ("edge", 0, j), f"border {j}") for j in range(len(self.plate.outline.outer)))

    def edge_toward(self, other: PlacedPlate) -> Face:
        """The straight edge face that lies along another plate, whichever way the two are turned: the edge to be joined to it.

        That is the edge nearest to the other plate, measured at both its ends and its middle.  Raises `SelectionError` where
        several are as near, as where a notch parts the edge (`edges_toward` gives them all), and where none looks that way.

        >>> from panelwright.assemblies import carcass
        >>> pot = carcass("pot", stock=Stock("MDF", 3), width=80, height=60, sides=6, lean_deg=10)
        >>> wall = pot["side 2"]
        >>> wall.edge_toward(pot["base"]).describe, wall.edge_toward(pot["side 3"]).describe
        ('straight edge face at (33.4, -19.3, 3.3)', 'straight edge face at (49.8, -0.7, 31.5)')
        """
        found = self.edges_toward(other)
        if len(found) > 1:
            listed = "; ".join(face.describe for face in found[:4])
            raise SelectionError(
                f"{len(found)} edges of plate {self.name!r} lie equally near to plate {other.name!r} ({listed}); take all with "
                "edges_toward(), or choose one with face()",
                plates=(self.name, other.name),
                value=len(found),
                limit=1,
            )
        return next(iter(found))

    def edges_toward(self, other: PlacedPlate) -> tuple[Face, ...]:
        """The straight edge faces that lie along another plate: more than one where a cut-out parts the edge.

        All that lie as near to it as the nearest, in the order of the outline; see `edge_toward`.
        """
        instance(other, PlacedPlate, f"plate that an edge of {self.name!r} looks to", "give a placed plate", SelectionError)
        if other is self or other.owner is not self.owner or self.roll is not None or other.roll is not None:
            why = (
                "are one"
                if other is self
                else "stand in two assemblies"
                if other.owner is not self.owner
                else "are not both flat"
            )
            raise SelectionError(
                f"plates {self.name!r} and {other.name!r} {why}; choose the edge with face()", plates=(self.name, other.name)
            )
        edges = [face for face in self.border if isinstance(face.segment, Line)]
        reach = {face: away for face in edges if (away := _distance_along(face, other)) is not None}
        if not reach:
            raise SelectionError(
                f"no straight edge of plate {self.name!r} looks to plate {other.name!r}; choose one with face()",
                plates=(self.name, other.name),
            )
        least = min(reach.values())
        return tuple(face for face, away in reach.items() if away - least <= CONTACT_TOLERANCE)

    def all_faces(self) -> tuple[Face, ...]:
        """Show face, back face, then every edge face in the order of the outline."""
        edges = tuple(
            Face(self, ("edge", i, j), f"edge {i}.{j}")
            for i, loop in enumerate(self.plate.outline.loops)
            for j in range(len(loop))
        )
        return (self.show, self.back, *edges)

    def moved_to(self, name: str, frame: Frame, owner: Owner) -> PlacedPlate:
        """The same plate seen from another assembly."""
        return PlacedPlate(name, self.plate, frame, owner, self.roll)


@dataclass(frozen=True)
class Face:
    """One face of a placed plate, as designed: where joints and placements take hold.

    `place` is ("show",), ("back",) or ("edge", loop number, segment number).  Pick one by `PlacedPlate.face`.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import rectangle
    >>> edge = Assembly("card stand", stock=Stock("MDF", 3)).add("base", rectangle(120, 60)).face(">X")
    >>> edge, edge.normal, edge.extent((0, 1, 0))
    (<Face straight edge face at (60.0, 0.0, 1.5) of 'base'>, (1.0, 0.0, 0.0), (-30.0, 30.0))
    """

    placed: PlacedPlate
    place: Place
    selector: str

    def __post_init__(self) -> None:
        instance(self.placed, PlacedPlate, "plate of a face", "give a placed plate", SelectionError)
        text(self.selector, "selector of a face", error=SelectionError)
        loops = self.placed.plate.outline.loops
        match self.place:
            case ("show",) | ("back",):
                return
            case ("edge", int(i), int(j)) if 0 <= i < len(loops) and 0 <= j < len(loops[i]):
                return
            case _:
                pass
        raise SelectionError(
            f"{self.placed.name!r} has no face {shown(self.place)}; give ('show',), ('back',) or ('edge', loop, segment), "
            "or pick one by face()",
            plates=(self.placed.name,),
            value=self.place,
        )

    def __repr__(self) -> str:
        return f"<Face {self}>"

    def __str__(self) -> str:
        return f"{self.describe} of {self.placed.name!r}"

    @property
    def describe(self) -> str:
        """What the face is, in words, and where it looks."""
        if self.is_broad and self.placed.roll is not None:
            return f"bent {self.place[0]} face"
        if self.is_broad:
            return f"{self.place[0]} face (looks to {_direction_text(self.normal)})"
        segment = self.segment
        kind = "straight" if isinstance(segment, Line) else "curved"
        x, y, z = self.middle
        return f"{kind} edge face at ({x:.1f}, {y:.1f}, {z:.1f})"

    @property
    def is_broad(self) -> bool:
        """Whether this is the show face or the back."""
        return bool(self.place[0] != "edge")

    @property
    def loop(self) -> Loop:
        """The loop that an edge face belongs to."""
        return self.placed.plate.outline.loops[int(self.place[1])]

    @property
    def segment(self) -> Segment:
        """The segment of the outline under an edge face."""
        return self.loop.segments[int(self.place[2])]

    @property
    def level(self) -> float:
        """Local z of a broad face, in mm."""
        return self.placed.plate.stock.t if self.place[0] == "show" else 0.0

    @property
    def normal(self) -> Vector:
        """Unit vector out of the material, in the assembly's coordinates; of a face that isn't flat, in its middle."""
        placed = self.placed
        if self.is_broad:
            x0, y0, x1, y1 = placed.plate.outline.bounds
            way = placed.direction((0.0, 0.0, 1.0), ((x0 + x1) / 2, (y0 + y1) / 2))
            return way if self.place[0] == "show" else scaled(way, -1.0)
        tx, ty = self.segment.tangent_at(0.5)
        return placed.direction((ty, -tx, 0.0), self.segment.point_at(0.5))

    @property
    def middle(self) -> Vector:
        """A point in the middle of the face, in the assembly's coordinates, in mm."""
        placed = self.placed
        if self.is_broad:
            x0, y0, x1, y1 = placed.plate.outline.bounds
            return placed.point(((x0 + x1) / 2, (y0 + y1) / 2, self.level))
        x, y = self.segment.point_at(0.5)
        return placed.point((x, y, placed.plate.stock.t / 2))

    def extent(self, direction: Vector) -> tuple[float, float]:
        """Least and most of the face along a direction, in mm."""
        direction = vector(direction, "direction of an extent")
        placed = self.placed
        if self.is_broad:
            flat = [(x, y, self.level) for x, y in placed.plate.outline.outer.points()]
        else:
            segment = self.segment
            ends = points_along([segment], 1e-3)
            flat = [(x, y, z) for x, y in ends for z in (0.0, placed.plate.stock.t)]
        if placed.roll is not None:
            # a round face bulges out between its corners
            flat = [(x, y, z) for p, q in pairwise([*flat, flat[0]]) for x, y, z in _between(p, q)]
        along = [dot(placed.point(point), direction) for point in flat]
        return (min(along), max(along))


def _distance_along(edge: Face, other: PlacedPlate) -> float | None:
    """Distances in mm of an edge's ends and middle from a plate, summed; None if the edge looks away from it."""
    from panelwright.plates.geometry.polygons import polygon_of
    from shapely import Point as Spot
    from shapely.ops import nearest_points

    outline, t = polygon_of(other.plate.outline.outer), other.plate.stock.t
    out, total = edge.normal, 0.0
    for share in (0.0, 0.5, 1.0):
        x, y = edge.segment.point_at(share)
        near: list[tuple[float, Vector]] = []
        for z in (0.0, edge.placed.plate.stock.t):
            here = other.frame.local(edge.placed.point((x, y, z)))
            spot = nearest_points(outline, Spot(here[:2]))[0]
            way = minus((spot.x, spot.y, min(max(here[2], 0.0), t)), here)
            near.append((math.sqrt(dot(way, way)), way))
        away, way = min(near)
        if share == 0.5 and away > CONTACT_TOLERANCE and dot(other.frame.direction(way), out) < away / 2:
            return None
        total += away
    return total


def _between(p: Vector, q: Vector, count: int = 64) -> list[Vector]:
    shares = [i / count for i in range(count)]
    return [(p[0] + (q[0] - p[0]) * a, p[1] + (q[1] - p[1]) * a, p[2] + (q[2] - p[2]) * a) for a in shares]


def faces_of(given: Face | Iterable[Face]) -> tuple[Face, ...]:
    """One face or several as a tuple.  Raises `SelectionError` for anything else, with what to write instead."""
    if isinstance(given, Face):
        return (given,)
    if isinstance(given, PlacedPlate):
        raise SelectionError(
            f'plate {given.name!r} is given where one of its faces is wanted; choose it, such as {given.name}.face(">Z")',
            plates=(given.name,),
            value=given.name,
        )
    found = tuple(given) if isinstance(given, list | tuple | set | Iterator) else None
    if found is None or not all(isinstance(face, Face) for face in found):
        raise SelectionError(
            f'{shown(given)} is no face of a plate; choose one or several, such as base.face(">Z")', value=given
        )
    return found


def _direction_text(direction: Vector) -> str:
    for name, sign in (("X", 0), ("Y", 1), ("Z", 2)):
        if abs(abs(direction[sign]) - 1.0) < COSINE_ROUNDING:
            return ("+" if direction[sign] > 0 else "-") + name
    return "(" + ", ".join(f"{value:.3f}" for value in direction) + ")"


def outline_svg(outline: Outline) -> str:
    """A small true-scale drawing of an outline, as SVG text."""
    x0, y0, x1, y1 = outline.bounds
    pen = Pen(0.0, 0.0, 3)
    parts = [pen.path(loop.segments) for loop in outline.loops]
    width, height = x1 - x0 + 4, y1 - y0 + 4
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="{x0 - 2:.3f} {-y1 - 2:.3f} {width:.3f} {height:.3f}">'
        f'<path d="{" ".join(parts)}" fill="#E69F00" fill-opacity="0.35" fill-rule="evenodd" '
        'stroke="#000000" stroke-width="0.4"/></svg>'
    )
