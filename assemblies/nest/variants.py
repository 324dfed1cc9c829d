"""The ways in which a piece may lie, and the rooms that pieces go into, as outlines on the grid.

Pieces of the same outline share their variants, whatever they are called.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING, Final

from panelwright.plates.geometry.curves import Loop, Motion

from .job import NestJob, Piece, Pin, Sheet, motion_of
from .shapes.flatten import covering_polygon
from .shapes.paths import MICRONS, Box, Path, Spot, area_of, box_of, grown, turned
from .shapes.reduce import inner_paths, outer_path, scale_of

if TYPE_CHECKING:
    import shapely

__all__ = ["Room", "Shapes", "Variant"]

LIKE: Final = 1e-3
"""Two ways to lay a piece are one if they differ by no more than this share of its area: any turn of a disc."""

TURN_ROUNDING: Final = 2
"""Grid steps by which a piece turned by other than quarter turns is made larger, and a window in it smaller: turning rounds its
corners to the grid and so does making it larger, each by half the diagonal of a cell at most, 1.42 steps in all."""


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A closed outline that pieces may fill: a sheet less its margin, or the window of a piece."""

    key: int
    path: Path
    box: Box

    @property
    def is_rectangle(self) -> bool:
        """Whether it is a rectangle along the axes."""
        x0, y0, x1, y1 = self.box
        return len(self.path) == 4 and all(x in (x0, x1) and y in (y0, y1) for x, y in self.path)


@dataclass(frozen=True, slots=True, eq=False)
class Variant:
    """One way to lay a piece: turned by `turn_deg`, perhaps turned over first.

    `key` is its own number; variants with the same `shape` come from one path by turning.  `outer` is the reduced outline,
    grown by half the spacing; `inside` is a point in it; `area` in mm² is what the piece takes up of a sheet, windows that
    something could go into left out.
    """

    key: int
    shape: int
    turn_deg: float
    flipped: bool
    outer: Path
    box: Box
    inside: Spot
    area: float
    windows: tuple[Room, ...]

    @property
    def is_square(self) -> bool:
        """Whether it is turned by quarter turns only, so that its path is exact."""
        return self.turn_deg % 90.0 == 0.0


class Shapes:
    """The variants of a job's pieces and the rooms on its sheets, each with a number of its own."""

    def __init__(self, job: NestJob) -> None:
        self._spacing = job.spacing
        self._margin = job.margin
        self._scale = scale_of([piece.area_mm2 for piece in job.pieces])
        widths = [_least_width(covering_polygon(piece.loops)) for piece in job.pieces if piece.pin is None]
        self._least_window = (min(widths, default=0.0) + job.spacing) * MICRONS
        self._room_keys = count()
        self._variant_keys = count()
        self._variants: dict[object, tuple[Variant, ...]] = {}
        self.bases: list[Path] = []

    def of(self, piece: Piece) -> tuple[Variant, ...]:
        """The ways to lay a piece that differ by more than a shift, in order of flip and turn."""
        key = (piece.loops, piece.turn_step_deg, piece.may_flip)
        if key not in self._variants:
            self._variants[key] = tuple(self._different(piece))
        return self._variants[key]

    def within_box(self, piece: Piece) -> tuple[Variant, ...]:
        """The same ways, the room between pieces kept within the piece's box and half the spacing beyond, as it is drawn.

        For pieces that lie at an angle and go on a sheet by their box only: corners of what is grown stick out of that.
        """
        key = (piece.loops, piece.turn_step_deg, piece.may_flip, "within its box")
        if key not in self._variants:
            self._variants[key] = tuple(self._different(piece, in_box=True))
        return self._variants[key]

    def pinned(self, piece: Piece, pin: Pin) -> Variant:
        """A pinned piece as it lies, in coordinates of its sheet."""
        motion = motion_of(pin.x, pin.y, pin.turn_deg, pin.flipped)
        polygon = covering_polygon([loop.moved(motion) for loop in piece.loops])
        return self._variant(*self._base(polygon, self._spacing), 0.0, False)

    def obstacles(self, sheet: Sheet) -> tuple[Variant, ...]:
        """The holes in a sheet, in its coordinates, grown so that pieces keep the margin from them.

        They keep half the spacing if that is more: a hole made smaller has corners that a grown piece could pass too near.
        """
        import shapely

        found: list[Variant] = []
        for hole in sheet.loops[1:]:
            more = max(0.0, self._margin - self._spacing / 2)
            grown_hole = covering_polygon([hole.reversed()]).buffer(more, join_style="mitre", mitre_limit=2.0)
            for part in getattr(grown_hole, "geoms", [grown_hole]):
                if not part.is_empty:
                    found.append(self._variant(*self._base(shapely.Polygon(part.exterior), 0.0), 0.0, False))
        return tuple(found)

    def rooms(self, sheet: Sheet) -> tuple[Room, ...]:
        """What the margin leaves of a sheet, its holes not counted."""
        border = _kept_clear(sheet.loops[0])
        return self._rooms(inner_paths(border, self._margin - self._spacing / 2))

    def _different(self, piece: Piece, *, in_box: bool = False) -> Iterator[Variant]:
        from shapely.affinity import rotate

        seen: list[shapely.Polygon] = []
        outers: set[tuple[Spot, ...]] = set()
        for flipped in (False, True) if piece.may_flip else (False,):
            loops = [loop.moved(Motion.mirror_x()) for loop in piece.loops] if flipped else piece.loops
            polygon = covering_polygon(loops)
            base: tuple[int, list[Path]] | None = None
            for turn_deg in piece.turns_deg:
                look = _centred(rotate(polygon, turn_deg, origin=(0, 0)))
                if any(_is_like(look, other) for other in seen):
                    continue
                seen.append(look)
                base = base or self._base(polygon, self._spacing, in_box=in_box)
                variant = self._variant(*base, turn_deg, flipped)
                # what differs in small cut-outs only is one way too
                corners = _cornered(variant)
                if variant.windows or corners not in outers:
                    outers.add(corners)
                    yield variant

    def _base(self, polygon: shapely.Polygon, spacing: float, *, in_box: bool = False) -> tuple[int, list[Path]]:
        """A new shape, and the windows in it that something could go into."""
        import shapely

        self.bases.append(outer_path(polygon, spacing, self._scale, in_box=in_box))
        windows = [path for hole in polygon.interiors for path in inner_paths(shapely.Polygon(hole), spacing / 2)]
        return len(self.bases) - 1, [path for path in windows if _least_side(path) >= self._least_window]

    def _variant(self, shape: int, windows: Sequence[Path], turn_deg: float, flipped: bool) -> Variant:
        import shapely

        outer = turned(self.bases[shape], turn_deg)
        rooms = [turned(window, turn_deg) for window in windows]
        if turn_deg % 90.0:  # turned corners are rounded to the grid, so keep on the safe side of them
            outer = max(grown([outer], TURN_ROUNDING), key=len)
            rooms = [path for room in rooms for path in grown([room], -TURN_ROUNDING)]
        inside = shapely.Polygon(outer).representative_point()
        area = (area_of(outer) - sum(area_of(room) for room in rooms)) / MICRONS**2
        return Variant(
            next(self._variant_keys),
            shape,
            turn_deg,
            flipped,
            outer,
            box_of(outer),
            (round(inside.x), round(inside.y)),
            area,
            self._rooms(rooms),
        )

    def _rooms(self, paths: Sequence[Path]) -> tuple[Room, ...]:
        return tuple(Room(next(self._room_keys), path, box_of(path)) for path in paths)


def _kept_clear(loop: Loop) -> shapely.Polygon:
    """A polygon that lies within a sheet's border: what covers the outside, turned inside out."""
    import shapely

    x0, y0, x1, y1 = loop.bounds
    frame = shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    outside = covering_polygon([_box_loop(frame), loop.clockwise()])
    return shapely.Polygon(max(outside.interiors, key=lambda ring: shapely.Polygon(ring).area))


def _box_loop(frame: shapely.Polygon) -> Loop:
    from panelwright.plates.geometry.curves import loop_through

    x0, y0, x1, y1 = frame.bounds
    return loop_through([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _least_width(polygon: shapely.Polygon) -> float:
    """Width in mm of the narrowest gap between parallels that the shape passes through."""
    import shapely

    corners = list(shapely.minimum_rotated_rectangle(polygon).exterior.coords)
    return min(float(shapely.Point(corners[i]).distance(shapely.Point(corners[i + 1]))) for i in (0, 1))


def _least_side(path: Path) -> int:
    x0, y0, x1, y1 = box_of(path)
    return min(x1 - x0, y1 - y0)


def _cornered(variant: Variant) -> tuple[Spot, ...]:
    """The corners of its outline, from the lower left of its box."""
    x0, y0, _, _ = variant.box
    return tuple(sorted((x - x0, y - y0) for x, y in variant.outer))


def _centred(polygon: shapely.Polygon) -> shapely.Polygon:
    from shapely.affinity import translate

    middle = polygon.centroid
    return translate(polygon, -middle.x, -middle.y)


def _is_like(a: shapely.Polygon, b: shapely.Polygon) -> bool:
    """Whether two outlines with their centres in the origin are the same but for little."""
    if any(abs(mine - theirs) > LIKE * (a.length + b.length) for mine, theirs in zip(a.bounds, b.bounds, strict=True)):
        return False
    return bool(a.symmetric_difference(b).area <= LIKE * a.area)
