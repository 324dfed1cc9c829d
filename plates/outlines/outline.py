"""The flat shape of a plate: one outer loop, its holes, and lines to be marked on the show face.

An `Outline` is frozen; every method gives a new one.  Its origin is where its primitive put it: all primitives are centred
on the origin of the plate's own XY plane, x to the right and y up as seen from the show face.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol, TypeAlias, runtime_checkable

from panelwright.plates._validate import finite, instance, point, positive, shown
from panelwright.plates.errors import OutlineError, SizeError
from panelwright.plates.geometry.curves import Loop, Motion, Point, Segment
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.region import told_middle

from .dxf_reading import DxfReading
from .planar_cuts import combine
from .stroke_font import lettering

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["CutOut", "Drawn", "Outline", "Pattern", "outline_of"]

_OF_PLATES = frozenset({"all_faces", "back", "border", "edge_toward", "edges_toward", "face", "faces", "frame", "show"})
"""What only a plate has, asked for where an outline was kept for one."""

FINEST_ARCS = 1e-4
"""Finest tolerance of `in_arcs`, mm: the number of arcs grows with the cube root of what is gained, the accuracy of the curve's
own derivatives ends soon below, and no beam follows a tenth of a micrometre."""


@runtime_checkable
class Pattern(Protocol):
    """Cut-outs that can only be placed once the outline that they go into is known, such as a row spread evenly.

    >>> from panelwright.plates import hole, rectangle, row
    >>> holes = row(hole(9), 4)
    >>> isinstance(holes, Pattern), len(holes.on(rectangle(100, 20)))
    (True, 4)
    """

    def on(self, outline: Outline) -> tuple[Outline, ...]:
        """The cut-outs, in the outline's own coordinates."""
        ...


Drawn: TypeAlias = "Outline | cq.Sketch | cq.Workplane | cq.Face | cq.Wire"
"""What draws one outline."""

CutOut: TypeAlias = "Drawn | Pattern | Sequence[CutOut]"
"""What can be cut out of an outline, joined to it or marked on it."""


@dataclass(frozen=True)
class Outline:
    """A closed flat shape in millimetres.

    `loops` holds the outer loop first, counter-clockwise, then the holes, clockwise.  `marks` are chains of segments to be
    engraved, which cut nothing, and `read_as` how it was read from a DXF file, for messages.  Designs begin with `rectangle`
    and its like, or with `outline_of`.  Raises `OutlineError` for loops that are none.

    >>> from panelwright.plates import hole, rectangle
    >>> lid = rectangle(60, 40).cut(hole(10))
    >>> lid.size, round(lid.area, 3)
    ((60.0, 40.0), 2321.46)
    """

    loops: tuple[Loop, ...]
    marks: tuple[tuple[Segment, ...], ...] = ()
    read_as: DxfReading | None = field(default=None, compare=False, repr=False, kw_only=True)

    def __post_init__(self) -> None:
        if type(self.loops) is not tuple or not all(isinstance(loop, Loop) for loop in self.loops):
            raise OutlineError(
                f"loops of an outline are {shown(self.loops)}; give a tuple of loops, or draw it by polygon() and the like",
                value=self.loops,
            )
        if type(self.marks) is not tuple or not all(type(mark) is tuple for mark in self.marks):
            raise OutlineError(f"marks of an outline are {shown(self.marks)}; add them by marked()", value=self.marks)
        if not (self.read_as is None or isinstance(self.read_as, DxfReading)):
            raise OutlineError(
                f"read_as of an outline is {shown(self.read_as)}; leave it to outline_from_dxf()", value=self.read_as
            )

    def __repr__(self) -> str:
        if not self.loops:
            return "<Outline of nothing>"
        marks = f", {len(self.marks)} marks" if self.marks else ""
        return f"<Outline {_extent(self.outer)}, {len(self.outer)} segments, {len(self.holes)} holes{marks}>"

    if not TYPE_CHECKING:  # a type checker tells it by itself

        def __getattr__(self, name):
            if name in _OF_PLATES:
                raise AttributeError(
                    f"an outline has no {name}, since it stands nowhere yet; take the plate that add() gives: "
                    f'plate = assembly.add("name", outline, …), then plate.{name}',
                    name=name,
                    obj=self,
                )
            raise AttributeError(f"{type(self).__name__!r} object has no attribute {name!r}", name=name, obj=self)

    @property
    def outer(self) -> Loop:
        """The outer loop, counter-clockwise."""
        return self.loops[0]

    @property
    def holes(self) -> tuple[Loop, ...]:
        """The inner loops, clockwise."""
        return self.loops[1:]

    @property
    def area(self) -> float:
        """Area in mm², holes taken out."""
        return sum(loop.area for loop in self.loops)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(x least, y least, x most, y most) of the outer loop, in mm."""
        return self.outer.bounds

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the bounding box in mm, outside size."""
        x0, y0, x1, y1 = self.bounds
        return (x1 - x0, y1 - y0)

    def moved(self, motion: Motion) -> Outline:
        """The outline after a rigid motion or mirror."""
        instance(motion, Motion, "motion of an outline", "give a Motion, or use at() and turned()")
        return Outline(
            tuple(loop.moved(motion) for loop in self.loops),
            tuple(tuple(segment.moved(motion) for segment in mark) for mark in self.marks),
            read_as=self.read_as,
        )

    def at(self, x: float, y: float) -> Outline:
        """The outline shifted by (x, y) mm: where a cut-out goes.

        >>> from panelwright.plates import disc
        >>> disc(4).at(10, 0).bounds
        (8.0, -2.0, 12.0, 2.0)
        """
        return self.moved(Motion.shift(finite(x, "x of a shift"), finite(y, "y of a shift")))

    def turned(self, angle_deg: float) -> Outline:
        """The outline turned about its origin, counter-clockwise, in degrees; quarter turns are exact."""
        return self.moved(Motion.turn(finite(angle_deg, "angle of a turn", unit="°")))

    def mirrored(self) -> Outline:
        """The mirror image: left and right swapped."""
        return self.moved(Motion.mirror_x())

    def cut(self, *shapes: CutOut) -> Outline:
        """The outline less all the given shapes at once.

        Takes outlines, patterns such as `row` and `grid`, CadQuery sketches, workplanes, faces and wires, and lists of
        these.  A shape over the border makes a notch.  Raises `OutlineError` for a shape that lies clear of the material,
        one that cuts it in pieces, or one that touches a border or another cut-out in a single point, naming the place.
        """
        given = [(loop, shape.read_as) for shape in _flatten(shapes, self) for loop in shape.loops if loop.area > 0]
        combined = combine(self.loops, cuts=[loop for loop, _ in given])
        if combined.idle_cuts:
            tool, read_as = given[combined.idle_cuts[0]]
            other_unit = "" if read_as is None else read_as.instead(self.size)
            raise OutlineError(
                f"the cut-out at {told_middle(tool)}, {_extent(tool)}, lies outside the outline, which spans "
                f"{_span(self.outer)}, or in another cut-out; {other_unit or 'move it or leave it out'}",
                value=tool.bounds,
                limit=self.bounds,
            )
        return Outline(_unpinched(_single(combined.loops, "cutting")), self.marks)

    def joined(self, *shapes: CutOut) -> Outline:
        """The outline and all the given shapes together, as one.  Raises `OutlineError` for a shape that stands apart."""
        tools = [loop for shape in _flatten(shapes, self) for loop in shape.loops if loop.area > 0]
        return Outline(_single(combine(self.loops, adds=tools).loops, "joining"), self.marks)

    def marked(self, *shapes: CutOut) -> Outline:
        """The outline with the given shapes' loops engraved on its show face: drawn on the MARK layer, cut nowhere."""
        marks = tuple(loop.segments for shape in _flatten(shapes, self) for loop in shape.loops)
        return Outline(self.loops, (*self.marks, *marks))

    def lettered(self, text: str, height: float, at: Point = (0.0, 0.0), *, angle_deg: float = 0.0) -> Outline:
        """The outline with a text engraved on its show face: capitals `height` mm high, each stroke drawn once.

        `at` is the middle of the text, in mm; it is turned about there by `angle_deg`, counter-clockwise.  The letters are a
        plain font of single lines, A to Z, figures and . , : - + = × / ( ); small letters come as capitals.  Raises `SizeError`
        for any other letter.  The proof tells of letters that lie beside the plate or under another one (`MARK`).

        >>> from panelwright.plates import rectangle
        >>> len(rectangle(80, 30).lettered("Slip 1", 8, (0, 5)).marks)
        8
        """
        words = instance(text, str, "text on an outline", "give text such as 'GLAZES'")
        high, (x, y) = positive(height, "height of a text"), point(at, "at= of a text")
        turn = Motion.turn(finite(angle_deg, "angle of a text", unit="°")).then(Motion.shift(x, y))
        chains = lettering(words, high, (0.0, -high / 2), centred=True)
        if not chains:
            raise OutlineError(f"the text {shown(text)} has nothing to engrave; give letters or figures", value=text)
        return Outline(self.loops, (*self.marks, *(tuple(line.moved(turn) for line in chain) for chain in chains)))

    def in_arcs(self, tolerance: float = 0.02) -> Outline:
        """The outline with ellipses and splines drawn as tangent arcs, within `tolerance` mm: what a bent wall can follow.

        Raises `SizeError` for a tolerance below 0.0001 mm.

        >>> import cadquery as cq
        >>> oval = outline_of(cq.Sketch().ellipse(60, 40)).in_arcs()
        >>> {type(segment).__name__ for segment in oval.outer}
        {'Arc'}
        """
        from panelwright.plates.geometry.biarcs import as_arcs

        near = positive(tolerance, "tolerance of in_arcs()")
        if near < FINEST_ARCS:
            raise SizeError(
                f"tolerance of in_arcs() is {near:g} mm; give {FINEST_ARCS:g} mm or more, finer than any beam follows",
                value=near,
                limit=FINEST_ARCS,
            )
        loops = tuple(Loop(tuple(arc for segment in loop for arc in as_arcs(segment, near))) for loop in self.loops)
        return Outline(loops, self.marks)

    def rounded(self, radius: float, corners: str | None = None) -> Outline:
        """The outline with corners between straight edges and arcs rounded by tangent arcs of `radius` mm.

        `corners` is a CadQuery vertex selector, such as ">Y" or "<X and >Y"; without one, all corners of the outer loop.
        Raises `SelectionError` if it picks none, and `OutlineError` naming the corner if the radius does not fit there.
        """
        from .corners import round_corners

        return Outline(round_corners(self.loops, positive(radius, "corner radius"), _selector(corners)), self.marks)

    def chamfered(self, size: float, corners: str | None = None) -> Outline:
        """The outline with corners cut off, `size` mm along each side, on arcs along the curve; `corners` as for `rounded`."""
        from .corners import chamfer_corners

        return Outline(chamfer_corners(self.loops, positive(size, "chamfer"), _selector(corners)), self.marks)


def _selector(corners: str | None) -> str | None:
    return corners if corners is None else instance(corners, str, "selector of corners", "give text such as '>X and >Y'")


def _unpinched(loops: tuple[Loop, ...]) -> tuple[Loop, ...]:
    """The loops, none of which meets itself or another in a point: there would be no material left, and yet no way through."""
    seen: set[Point] = set()
    for loop in loops:
        for segment in loop:
            x, y = (round(value, 5) + 0.0 for value in segment.start)
            if (x, y) in seen:
                raise OutlineError(
                    f"a cut-out touches the border or another cut-out at ({x:.2f}, {y:.2f}) and leaves nothing between; move "
                    "it away, at least as far as the sheet is thick, or over the border",
                    value=(x, y),
                )
            seen.add((x, y))
    return loops


def _flatten(shapes: Iterable[Any], outline: Outline) -> list[Outline]:
    found: list[Outline] = []
    for shape in shapes:
        if isinstance(shape, Outline):
            found.append(shape)
        elif isinstance(shape, Pattern) and not isinstance(shape, type):
            found.extend(shape.on(outline))
        elif isinstance(shape, list | tuple):
            found.extend(_flatten(shape, outline))
        else:
            found.extend(_from_cadquery(shape))
    return found


def _from_cadquery(shape: Any) -> list[Outline]:
    from panelwright.plates._kernel.solids.accept import region_loops

    if not hasattr(shape, "wrapped") and not hasattr(shape, "_faces") and not hasattr(shape, "vals"):
        raise OutlineError(
            f"{shown(shape)} is no flat shape; give an outline, a pattern, or a CadQuery Sketch, Workplane, Face or Wire",
            value=shape,
        )
    return [Outline(checked(loops)) for loops in region_loops(shape)]


def outline_of(shape: Drawn) -> Outline:
    """The outline drawn by a CadQuery `Sketch`, `Workplane`, `Face` or `Wire`, each curve kept as what it is.

    A shape in a plane parallel to XY keeps its x and y; any other is laid flat in its own plane.  Raises `OutlineError`
    if the shape is open, crosses itself, is not flat, or bounds more than one region.

    >>> import cadquery as cq
    >>> outline_of(cq.Sketch().rect(20, 10).vertices().fillet(2)).size
    (20.0, 10.0)
    """
    found = _flatten([shape], Outline(()))
    if len(found) != 1:
        raise OutlineError(f"the shape bounds {len(found)} regions; a plate is one piece, so give one", value=len(found))
    return found[0]


_FAULTS = {
    "Self-intersection": ("the outline crosses or touches itself", "draw it so that it does not"),
    "Ring Self-intersection": ("the outline crosses or touches itself", "draw it so that it does not"),
    "Hole lies outside shell": ("a hole lies outside the outline", "move it in or leave it out"),
    "Holes are nested": ("a hole lies in another hole", "leave one of them out"),
    "Interior is disconnected": ("holes that touch part the outline", "move them apart"),
    "Duplicate Rings": ("two loops of the outline are the same", "leave one of them out"),
}
"""What is wrong with a polygon in the geometry library's words, and in ours."""


def checked(loops: Sequence[Loop]) -> tuple[Loop, ...]:
    """The loops, if they bound one region: none crosses itself or another, every hole inside.  Else `OutlineError`."""
    from shapely.validation import explain_validity

    flat = [loop for loop in loops if len(loop) < 3 and len(loop.points()) < 3]
    if flat:
        raise OutlineError(f"the outline at {told_middle(flat[0])} encloses no area; give it one", value=flat[0].area)
    polygon = polygon_of(loops[0], loops[1:])
    if not polygon.is_valid:
        reason, _, at = explain_validity(polygon).rstrip("]").partition("[")
        place = tuple(float(value) for value in at.split()[:2])
        where = f" at ({place[0]:.6g}, {place[1]:.6g})" if len(place) == 2 else ""
        what, mend = _FAULTS.get(reason, ("the outline is not one flat region", "draw it anew"))
        raise OutlineError(f"{what}{where}; {mend}", value=place)
    return tuple(loops)


def _single(loops: tuple[Loop, ...], action: str) -> tuple[Loop, ...]:
    outers = [loop for loop in loops if loop.area > 0]
    if len(outers) == 1:
        return loops
    if not outers:
        raise OutlineError(f"{action} leaves nothing of the outline; make the shape smaller", value=0)
    places = ", ".join(told_middle(loop) for loop in outers[:4])
    raise OutlineError(
        f"{action} leaves {len(outers)} separate pieces, at {places}; a plate is one piece", value=len(outers), limit=1
    )


def _extent(loop: Loop) -> str:
    x0, y0, x1, y1 = loop.bounds
    return f"{x1 - x0:.2f} × {y1 - y0:.2f} mm"


def _span(loop: Loop) -> str:
    x0, y0, x1, y1 = loop.bounds
    return f"x {x0:.2f} to {x1:.2f}, y {y0:.2f} to {y1:.2f}"
