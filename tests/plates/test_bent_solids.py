"""Bent solids: held to the flat panel that they come from, point by point, by the kernel's checker and by other readers."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import gmsh
import numpy as np
import pytest
import shapely
from panelwright.joints.kinds.hinges.slits import Lattice, Pattern, slits_of
from panelwright.joints.spec.strip import Stretch
from panelwright.plates import Frame, KernelError, disc, rectangle
from panelwright.plates._kernel.files.step import write_step
from panelwright.plates._kernel.solids.bent_solid import bent_solid
from panelwright.plates._kernel.solids.rolled import rolled
from panelwright.plates.geometry.bending import FlatPiece, Piece, RoundPiece, split_for_bending
from panelwright.plates.geometry.curves import EllipseArc, Loop, Motion, Point, loop_through
from panelwright.plates.geometry.frame import Vector, dot, minus
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.planar_cuts import combine
from readers import is_valid, solids_in, volume

ODD = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))
TURNS = {"plain": 0.0, "quarter": 90.0, "aslant": 33.0}
"""How the panel's own coordinates are turned against the bend."""

LATTICES: dict[str, Lattice] = {
    "staggered": Lattice("staggered", 6, 2.4, 0.2, 20.0, 3.0),
    "obround": Lattice("obround", 5, 2.4, 1.2, 20.0, 3.0),
    "chevron": Lattice("chevron", 5, 2.4, 0.2, 20.0, 3.0),
}
HEIGHT = 40.0


@dataclass(frozen=True)
class Panel:
    """A strip with a plate on one or both sides of it, and one more strip and plate after that if wanted."""

    pieces: tuple[Piece, ...]
    thickness: float

    @property
    def rounds(self) -> list[RoundPiece]:
        return [piece for piece in self.pieces if isinstance(piece, RoundPiece)]

    @property
    def flat_area(self) -> float:
        return sum(loop.area for piece in self.pieces for loop in piece.loops)

    @property
    def solid(self) -> Any:
        return bent_solid(self.pieces, self.thickness)


def strip_loops(name: str, length: float, place: Any) -> tuple[Loop, ...]:
    """A strip of the given length less the slits of a pattern; without a pattern it stays whole."""
    half = HEIGHT / 2
    corners = [(-half, 0.0), (half, 0.0), (half, length), (-half, length)]
    outline = loop_through([place(*corner) for corner in corners]).counter_clockwise()
    if name == "whole":
        return (outline,)
    lattice = LATTICES[name]
    plain = [Stretch(-half, half, True, True)]
    slits = slits_of(lattice, (-half, half), length, lambda low, high: plain)
    return combine([outline], cuts=[slit.loop(place) for slit in slits]).loops


def panel(
    pattern: str = "staggered",
    angle_deg: float = 90.0,
    *,
    inner: float = 20.0,
    thickness: float = 3.0,
    toward_show: bool = True,
    turn: str = "plain",
    against: bool = False,
    frame: Frame | None = None,
    sides: str = "both",
) -> Panel:
    """`against` lets the bend line run the other way; `sides` is "both", "before", "after", "none" or "chain"."""
    middle = inner + thickness / 2
    angle = math.radians(angle_deg) * (1 if toward_show else -1)
    length = middle * abs(angle)
    motion = Motion.turn(TURNS[turn]).then(Motion.shift(7.0, -3.0))
    along, across = motion.turned((0.0, -1.0 if against else 1.0)), motion.turned((1.0, 0.0))

    def flat(loop: Loop, frame: Frame) -> FlatPiece:
        return FlatPiece((loop.moved(motion),), frame)

    def strip(start: float, frame: Frame) -> RoundPiece:
        origin = motion.apply((start, 0.0))

        def place(u: float, s: float) -> Point:
            return (origin[0] + u * along[0] + s * across[0], origin[1] + u * along[1] + s * across[1])

        return RoundPiece(strip_loops(pattern, length, place), frame, origin, along, across, middle, angle, thickness)

    half = HEIGHT / 2
    here = frame or Frame()
    found: list[Piece] = []
    if sides in ("both", "before", "chain"):
        found.append(flat(loop_through([(-30, -half), (0, -half), (0, half), (-30, half)]), here))
    found.append(strip(0.0, here))
    beyond = found[-1].beyond  # type: ignore[union-attr]  # known to be there
    if sides in ("both", "after", "chain"):
        # narrower than the strip, so that the strip's border is shared in part only
        second = [(length, 5 - half), (length + 25, 5 - half), (length + 25, half), (length, half)]
        found.append(flat(loop_through(second), beyond))
    if sides == "chain":
        found.append(strip(length + 25, beyond))
    return Panel(tuple(found), thickness)


def faces_by_kind(solid: Any) -> Counter[tuple[str, float]]:
    """How many faces there are of each kind of surface, cylinders with their radii."""
    import cadquery as cq
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType

    found: Counter[tuple[str, float]] = Counter()
    for face in cq.Shape.cast(solid).Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        is_round = surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Cylinder
        radius = round(surface.Cylinder().Radius(), 9) if is_round else 0.0
        found[(face.geomType(), radius)] += 1
    return found


def edge_points(solid: Any, count: int = 7) -> list[Vector]:
    """Points along every edge of a solid."""
    import cadquery as cq
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    found = []
    for edge in cq.Shape.cast(solid).Edges():
        curve = BRepAdaptor_Curve(edge.wrapped)
        low, high = curve.FirstParameter(), curve.LastParameter()
        for i in range(count + 1):
            p = curve.Value(low + (high - low) * i / count)
            found.append((p.X(), p.Y(), p.Z()))
    return found


def unrolled(piece: RoundPiece, at: Vector) -> tuple[Point, float]:
    """The panel point and the height above the back that a point of a round piece comes from."""
    center, _, radial, tangent = piece.axis
    off = minus(at, center)
    x, y = dot(off, radial), dot(off, tangent)
    # angles just below the first bend line come out as just below 0
    phi = (math.atan2(y, x) + 0.01) % math.tau - 0.01
    z = piece.thickness / 2 + piece.sign * (piece.radius - math.hypot(x, y))
    u, s = dot(off, piece.frame.direction((*piece.along, 0.0))), phi * piece.radius
    (ox, oy), (ax, ay), (bx, by) = piece.origin, piece.along, piece.across
    return (ox + u * ax + s * bx, oy + u * ay + s * by), z


def borders(loops: tuple[Loop, ...]) -> Any:
    return shapely.union_all([shapely.LinearRing(loop.points(1e-7)) for loop in loops])


CASES: list[dict[str, Any]] = [
    *({"angle_deg": 5.0, "inner": 200.0, "toward_show": show} for show in (True, False)),
    *({"angle_deg": angle, "toward_show": show} for angle in (60.0, 90.0, 180.0, 345.0) for show in (True, False)),
    *(
        {"turn": turn, "against": against, "frame": ODD, "toward_show": show, "angle_deg": 75.0}
        for turn in TURNS
        for against in (True, False)
        for show in (True, False)
    ),
    *(
        {"sides": sides, "toward_show": show, "frame": ODD, "against": True, "angle_deg": 115.0}
        for sides in ("before", "after", "none", "chain")
        for show in (True, False)
    ),
    {"inner": 6.0, "thickness": 6.0, "angle_deg": 100.0, "turn": "aslant"},
]


def words(case: dict[str, Any]) -> str:
    return " ".join(f"{key}={'odd' if isinstance(value, Frame) else value}" for key, value in case.items())


@pytest.mark.parametrize("pattern", ["whole", *LATTICES])
@pytest.mark.parametrize("case", CASES, ids=words)
def test_bent_panel_is_one_valid_solid_of_the_flat_panels_volume(pattern: str, case: dict[str, Any]) -> None:
    """BRepCheck passes, it is one closed solid, and its volume is that of the flat panel (Pappus)."""
    import cadquery as cq

    one = panel(pattern, **case)
    solid = one.solid
    assert is_valid(solid)
    assert solids_in(solid) == 1
    (shell,) = cq.Shape.cast(solid).Shells()
    assert shell.wrapped.Closed()
    # every edge lies between two faces
    uses = Counter(edge.hashCode() for face in shell.Faces() for edge in face.Edges())
    assert set(uses.values()) == {2}
    exact = pattern in ("whole", "staggered")
    # the kernel integrates over spline walls to about 1e-7
    assert volume(solid) == pytest.approx(one.flat_area * one.thickness, rel=1e-9 if exact else 1e-6)


@pytest.mark.parametrize("pattern", ["whole", *LATTICES])
@pytest.mark.parametrize("case", CASES, ids=words)
def test_faces_are_cylinders_and_planes_over_the_panels_segments(pattern: str, case: dict[str, Any]) -> None:
    """Each strip has one cylinder at R and one at R + t; every segment that no two pieces share has one wall."""
    one = panel(pattern, **case)
    found = faces_by_kind(one.solid)
    strips, plates = len(one.rounds), len(one.pieces) - len(one.rounds)
    inner = case.get("inner", 20.0)
    cylinders = {kind: count for kind, count in found.items() if kind[0] == "CYLINDER"}
    assert cylinders == {("CYLINDER", inner): strips, ("CYLINDER", round(inner + one.thickness, 9)): strips}
    split = split_for_bending(one.pieces)
    segments = [segment for loops in split for loop in loops for segment in loop]
    shared = 2 * (strips + plates - 1)  # each of two pieces has it once
    walls = sum(found.values()) - 2 * strips - 2 * plates
    assert walls == len(segments) - shared
    flat_walls = found[("PLANE", 0.0)] - 2 * plates
    if pattern in ("whole", "staggered"):
        assert flat_walls == walls
    else:
        assert 0 < flat_walls < walls
        assert found[("BSPLINE", 0.0)] == walls - flat_walls


@pytest.mark.parametrize("pattern", LATTICES)
@pytest.mark.parametrize("toward_show", [True, False])
@pytest.mark.parametrize(("turn", "against"), [("plain", False), ("aslant", True)])
def test_edges_lie_where_the_panels_points_go(pattern: str, toward_show: bool, turn: str, against: bool) -> None:
    """Every point of every edge, taken back to the flat panel, lies on its borders; every corner of it is a vertex."""
    import cadquery as cq

    one = panel(pattern, 130.0, toward_show=toward_show, turn=turn, against=against, frame=ODD, sides="none")
    (piece,) = one.rounds
    lines = borders(piece.loops)
    corners = shapely.MultiPoint([segment.start for loop in piece.loops for segment in loop])
    seen: Counter[str] = Counter()
    for at in edge_points(one.solid):
        spot, z = unrolled(piece, at)
        level = "back" if abs(z) < 1e-5 else "show" if abs(z - one.thickness) < 1e-5 else "between"
        assert (corners if level == "between" else lines).distance(shapely.Point(spot)) < 1e-5
        assert math.dist(piece.point(spot, z), at) < 1e-9
        seen[level] += 1
    assert set(seen) == {"back", "show", "between"}
    assert seen["back"] == seen["show"]
    vertices = np.array([v.toTuple() for v in cq.Shape.cast(one.solid).Vertices()])
    for loop in piece.loops:
        for segment in loop:
            for z in (0.0, one.thickness):
                assert np.abs(vertices - piece.point(segment.start, z)).max(axis=1).min() < 1e-7


@pytest.mark.parametrize("pattern", LATTICES)
@pytest.mark.parametrize("toward_show", [True, False])
def test_each_slit_is_a_hole_in_both_cylinders(pattern: str, toward_show: bool) -> None:
    """Both cylinder faces have an inner wire for each slit that ends inside the strip."""
    import cadquery as cq

    one = panel(pattern, 95.0, toward_show=toward_show)
    (piece,) = one.rounds
    closed = len(piece.loops) - 1
    assert closed > LATTICES[pattern].columns
    rounds = [f for f in cq.Shape.cast(one.solid).Faces() if f.geomType() == "CYLINDER"]
    assert [len(face.innerWires()) for face in rounds] == [closed, closed]


def by_gmsh(path: Path) -> list[float]:
    """Volumes in a STEP file, in mm³."""
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.model.occ.importShapes(str(path))
        gmsh.model.occ.synchronize()
        return [gmsh.model.occ.getMass(3, tag) for _, tag in gmsh.model.getEntities(3)]
    finally:
        gmsh.finalize()


@dataclass
class Named:
    """The least that a part must have to be written."""

    name: str
    stock: Stock
    frame: Frame
    solid: Any


@pytest.mark.parametrize("pattern", LATTICES)
@pytest.mark.parametrize("case", [{"angle_deg": 90.0}, {"angle_deg": 345.0, "toward_show": False, "sides": "chain"}], ids=words)
def test_step_keeps_the_volume(pattern: str, case: dict[str, Any], tmp_path: Path) -> None:
    """Written and read back, by gmsh and by the kernel's reader, it is one valid solid of the same volume."""
    import cadquery as cq

    one = panel(pattern, frame=ODD, **case)
    path = tmp_path / "bent.step"
    write_step(path, "card stand", [Named("lid", Stock("card", one.thickness), ODD, one.solid)])
    wanted = pytest.approx(one.flat_area * one.thickness, rel=1e-6)
    assert by_gmsh(path) == [wanted]
    (read,) = cq.importers.importStep(str(path)).solids().vals()
    assert read.isValid()
    assert read.Volume() == wanted


def test_a_hole_across_a_bend_line_is_split_between_its_pieces() -> None:
    """A round hole over the bend line: half of it in the plate, half in the strip, and the solid is whole."""
    one = panel("whole", 70.0, frame=ODD)
    first, strip, last = one.pieces
    hole = disc(11).at(7.0, -3.0).loops[0]
    assert isinstance(first, FlatPiece)
    assert isinstance(strip, RoundPiece)
    cut_first = FlatPiece(combine(first.loops, cuts=[hole]).loops, first.frame)
    cut_strip = RoundPiece(
        combine(strip.loops, cuts=[hole]).loops,
        strip.frame,
        strip.origin,
        strip.along,
        strip.across,
        strip.radius,
        strip.angle,
        strip.thickness,
    )
    whole = Panel((cut_first, cut_strip, last), one.thickness)
    solid = whole.solid
    assert is_valid(solid)
    assert solids_in(solid) == 1
    assert one.flat_area - whole.flat_area == pytest.approx(math.pi * 5.5**2, abs=1e-9)
    assert volume(solid) == pytest.approx(whole.flat_area * 3.0, rel=1e-6)


def test_a_plate_may_have_any_curves() -> None:
    """The flat pieces keep circles and arcs as cylinders of their own."""
    one = panel("staggered", 120.0, frame=ODD)
    first, strip, last = one.pieces
    assert isinstance(first, FlatPiece)
    hole = disc(9).at(-8.0, -3.0).loops[0]
    notch = disc(16).at(-23.0, 5.0).loops[0]
    cut = Panel((FlatPiece(combine(first.loops, cuts=[hole, notch]).loops, first.frame), strip, last), 3.0)
    assert is_valid(cut.solid)
    assert faces_by_kind(cut.solid)[("CYLINDER", 4.5)] == 2
    assert volume(cut.solid) == pytest.approx(cut.flat_area * 3.0, rel=1e-9)


def test_pieces_that_share_too_much_are_refused() -> None:
    """Three pieces over one border have walls that do not close, and the message says where to look."""
    one = panel("whole", 90.0)
    first, strip, _ = one.pieces
    assert isinstance(first, FlatPiece)
    again = FlatPiece(first.loops, first.frame)
    with pytest.raises(KernelError, match=r"walls of a bent panel do not close.* may not meet along their bend lines"):
        bent_solid([first, strip, again], 3.0)


def test_a_strip_takes_lines_and_arcs_only() -> None:
    """Other curves have no place on a hinge's strip; the error names the kind and what to use."""
    ellipse = Loop((EllipseArc((15.0, 3.0), (6.0, 2.0), 0.5, 0.0, math.tau),)).clockwise()
    border = rectangle(10 * math.pi, 40).at(5 * math.pi, 0).loops
    strip = RoundPiece((*border, ellipse), Frame(), (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), 20.0, math.pi / 2, 2.0)
    with pytest.raises(KernelError, match="EllipseArc on a bend can't be rolled; use lines and arcs"):
        bent_solid([strip], 2.0)


def test_all_patterns_were_tried() -> None:
    """The lattices here cover every pattern that there is."""
    from panelwright.joints.kinds.hinges.slits import PATTERNS

    wanted: tuple[Pattern, ...] = PATTERNS
    assert set(LATTICES) == set(wanted)


def test_segments_that_are_alike_are_rolled_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the slanting slits of a strip each kind of leg is interpolated once and moved: same volume, all walls closed."""
    made = []

    def counted(*arguments: Any) -> Any:
        made.append(arguments[0])
        return rolled(*arguments)

    monkeypatch.setattr("panelwright.plates._kernel.solids.slanting.rolled", counted)
    legs = [(4.0 + 6.0 * i, 3.0 + 9.0 * j) for i in range(6) for j in range(4)]
    slits = [loop_through([(x, y), (x + 0.2, y), (x + 2.2, y + 6.0), (x + 2.0, y + 6.0)]).reversed() for x, y in legs]
    angle, t = 1.2, 2.0
    outline = loop_through([(0.0, 0.0), (36.0 * angle, 0.0), (36.0 * angle, 40.0), (0.0, 40.0)])
    piece = RoundPiece((outline, *slits), Frame(), (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), 36.0, angle, t)
    solid = bent_solid([piece], t)
    assert is_valid(solid)
    assert volume(solid) == pytest.approx(t * sum(loop.area for loop in piece.loops), rel=1e-7)
    # up and down again along the two flanks
    assert 2 <= len(made) <= 4 < 2 * len(legs)
