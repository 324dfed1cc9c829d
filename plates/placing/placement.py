"""Where a plate goes, said the way a maker says it.

Every helper here gives a placement for `Assembly.add`.  A `Frame`, a CadQuery `Location` or a CadQuery `Plane` is one too:
it says where the plate's own origin and axes go.  That origin lies on the plate's back face: material fills z from 0 to its
thickness, so a plate at height 10 spans 10 to 10 + t.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, cast, runtime_checkable

from panelwright.plates._validate import finite, instance, items, one_of, point, shown
from panelwright.plates.errors import PlacementError, SelectionError
from panelwright.plates.geometry.curves import cos_sin_deg
from panelwright.plates.geometry.frame import AXES, Frame, Vector, axis, cross, dot, minus, plus, scaled, unit
from panelwright.plates.tolerances import ANGLE_TOLERANCE, COSINE_ROUNDING, SAME_PLACE

from .plate import Face, PlacedPlate, Plate, faces_of

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["Placement", "against", "lying", "mirrored", "parallel", "placement_of", "standing"]

MOST_LEAN_DEG = 60.0
"""How far a standing plate may lean either way: no joint is made where plates meet at less than 30°."""


@runtime_checkable
class Placement(Protocol):
    """Something that knows where a plate goes once it knows the plate: what `standing` and its like give to `Assembly.add`.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> base = Assembly("card stand", stock=Stock("MDF", 3)).add("base", rectangle(120, 60))
    >>> isinstance(standing(base.show, facing="-Y"), Placement)
    True
    """

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        """The plate (mirrored, if that is what the placement does) and where it stands."""
        ...


@dataclass(frozen=True)
class _Fixed:
    frame: Frame

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        return plate, self.frame


def placement_of(place: Placement | Frame | cq.Location | cq.Plane | None) -> Placement:
    """Any accepted way to say where a plate goes, as a placement; None is the assembly's own origin."""
    if place is None:
        return _Fixed(Frame())
    if callable(getattr(place, "place", None)) and not isinstance(place, type):
        return cast(Placement, place)
    return _Fixed(Frame.of(cast("Frame | cq.Location | cq.Plane", place)))


def _common_normal(faces: Sequence[Face], what: str) -> tuple[Vector, float]:
    """The direction that all faces look to, and how far along it they lie."""
    if not faces:
        raise PlacementError(f"{what} is given no face; give one or more")
    for face in faces:
        if not isinstance(face, Face):
            raise PlacementError(f"{what} is given {shown(face)}; give a face, such as base.face('>Z')", value=face)
    normal = faces[0].normal
    level = dot(faces[0].middle, normal)
    for face in faces[1:]:
        off = abs(dot(face.middle, normal) - level)
        if dot(face.normal, normal) < 1 - COSINE_ROUNDING or off > SAME_PLACE:
            raise PlacementError(
                f"{what} needs faces in one plane, but {face} and {faces[0]} are not: they differ by {off:.3f} mm",
                plates=(faces[0].placed.name, face.placed.name),
                value=off,
            )
    return normal, level


def _extent(faces: Sequence[Face], direction: Vector) -> tuple[float, float]:
    spans = [face.extent(direction) for face in faces]
    return min(low for low, _ in spans), max(high for _, high in spans)


def _square_to(direction: str | Vector, on: Sequence[Face], up: Vector, what: str) -> Vector:
    look = axis(direction)
    if abs(dot(look, up)) > ANGLE_TOLERANCE:
        fine = [repr(name) for name, along in AXES.items() if abs(dot(along, up)) < ANGLE_TOLERANCE]
        known = f"{', '.join(fine)} or a vector" if fine else "a vector"
        raise PlacementError(
            f"{what} on {on[0]} looks to {direction!r}, which does not lie along that face; give {known} at right angles to "
            "where the face looks",
            plates=(on[0].placed.name,),
            face=on[0].selector,
            value=direction,
        )
    return look


@dataclass(frozen=True)
class _Standing:
    on: tuple[Face, ...]
    facing: str | Vector
    inset: float | None
    edge: str | Vector | None
    shift: float
    lift: float
    lean_deg: float

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        up, level = _common_normal(self.on, "standing()")
        look = _square_to(self.facing, self.on, up, "standing(facing=)")
        right = cross(up, look)
        x0, y0, x1, _ = plate.outline.bounds
        left_end, right_end = _extent(self.on, right)
        low, high = _extent(self.on, look)
        cosine, sine = cos_sin_deg(self.lean_deg)
        t = plate.stock.t * cosine  # what the lower border takes of the face, from the back to the show face
        if self.inset is None:
            depth = (low + high - t) / 2
        else:
            edge = look if self.edge is None else _square_to(self.edge, self.on, up, "standing(edge=)")
            if abs(abs(dot(edge, look)) - 1) > COSINE_ROUNDING:
                raise PlacementError("standing(edge=) must name the facing direction or its opposite", value=self.edge)
            depth = high - self.inset - t if dot(edge, look) > 0 else low + self.inset
        across = (left_end + right_end) / 2 + self.shift - (x0 + x1) / 2
        # a plate that leans back stands on its back's lower corner, one that leans forward on its show face's
        height = level + self.lift + max(0.0, -plate.stock.t * sine)
        foot = plus(plus(scaled(right, across), scaled(up, height)), scaled(look, depth))
        rise = minus(scaled(up, cosine), scaled(look, sine))
        show = plus(scaled(look, cosine), scaled(up, sine))
        return plate, Frame(minus(foot, scaled(rise, y0)), right, rise, show)


def standing(
    on: Face | Iterable[Face],
    *,
    facing: str | Vector,
    inset: float | None = 0.0,
    edge: str | Vector | None = None,
    shift: float = 0.0,
    lift: float = 0.0,
    lean_deg: float = 0.0,
) -> Placement:
    """Upright on a face, its lower border on it and its show face looking to `facing` ("+X", "-Y" … or a vector).

    `inset` is how far in from the border on that side the show face stands, in mm: 0 is flush, negative outside, None in
    the middle.  With `edge` (the opposite of `facing`) it is counted from that border to the back of the plate instead.
    `shift` moves the plate sideways from the middle, to the right as seen from its show face; `lift` raises it.
    With several faces, all in one plane, the borders are those of all of them together.

    `lean_deg` leans the plate back about its foot, away from where it looks, so that the show face looks up by so many degrees;
    below 0 it leans forward, -60 to 60 in all.  `inset` is then that of its foot, whose lower corner stands on the face.

    Raises `PlacementError` for faces that lie in no one plane, for a direction that does not lie along them and for a lean
    beyond 60°, `SizeError` for what is no number.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> stand = Assembly("card stand", stock=Stock("MDF", 3))
    >>> base = stand.add("base", rectangle(120, 60))
    >>> back = stand.add("back", rectangle(120, 80), standing(base.face(">Z"), facing="-Y", inset=10))
    >>> back.show.middle  # 10 mm in from the border at y = -30, half of 80 mm above the base
    (0.0, -20.0, 43.0)
    >>> board = stand.add("board", rectangle(100, 80), standing(base.show, facing="-Y", inset=20, lean_deg=30))
    >>> [round(value, 3) for value in board.show.normal]
    [0.0, -0.866, 0.5]
    """
    try:
        axis(facing)
    except PlacementError as unknown:
        try:
            faces_of(on)
        except SelectionError as error:  # both at once, not one after the other
            raise SelectionError(f"{error}; and {unknown}", plates=error.plates, value=error.value) from unknown
        raise
    if edge is not None:
        axis(edge)
    moved = None if inset is None else finite(inset, "inset of standing()")
    by, up = finite(shift, "shift of standing()"), finite(lift, "lift of standing()")
    lean = finite(lean_deg, "lean of standing()", unit="°")
    if abs(lean) > MOST_LEAN_DEG:
        raise PlacementError(
            f"lean of standing() is {lean:g}°; give {-MOST_LEAN_DEG:g} to {MOST_LEAN_DEG:g}°, since plates are joined at 30 to "
            "150° only; one that lies flatter is placed by a Frame",
            value=lean,
            limit=(-MOST_LEAN_DEG, MOST_LEAN_DEG),
        )
    return _Standing(faces_of(on), facing, moved, edge, by, up, lean)


@dataclass(frozen=True)
class _Lying:
    on: tuple[Face, ...]
    right: str | Vector | None
    shift: tuple[float, float]
    flush: tuple[str, ...]
    inset: float
    show: str

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        up, level = _common_normal(self.on, "lying()")
        if self.right is None:
            right = next(a for a in (AXES["+X"], AXES["+Y"]) if abs(dot(a, up)) < 1 - COSINE_ROUNDING)
            right = unit(minus(right, scaled(up, dot(right, up))))
        else:
            right = _square_to(self.right, self.on, up, "lying(right=)")
        look = up if self.show == "out" else scaled(up, -1.0)
        away = cross(look, right)
        x0, y0, x1, y1 = plate.outline.bounds
        origin = scaled(up, level if self.show == "out" else level + plate.stock.t)
        for direction, (low, high), shift in ((right, (x0, x1), self.shift[0]), (away, (y0, y1), self.shift[1])):
            least, most = _extent(self.on, direction)
            spot = (least + most) / 2 + shift - (low + high) / 2
            for name in self.flush:
                side = dot(_square_to(name, self.on, up, "lying(flush=)"), direction)
                if side > 0.5:
                    spot = most - self.inset - high
                elif side < -0.5:
                    spot = least + self.inset - low
            origin = plus(origin, scaled(direction, spot))
        return plate, Frame(origin, right, away, look)


def lying(
    on: Face | Iterable[Face],
    *,
    right: str | Vector | None = None,
    shift: tuple[float, float] = (0.0, 0.0),
    flush: str | Iterable[str] = (),
    inset: float = 0.0,
    show: str = "out",
) -> Placement:
    """Flat on one face or several in one plane, such as the tops of four walls.

    The plate is centred over the faces taken together, then moved by `shift` along its own x and y.  `flush` names sides
    ("+Y", or several) on which its border stands `inset` mm in from theirs instead.  `right` is where the plate's own x
    points; by default the assembly's X.  `show` is "out" to let the show face look away from what it lies on, or "in".

    Raises `PlacementError` for faces that lie in no one plane, directions that do not lie along them and unknown words,
    `SizeError` for what is no number.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> case = Assembly("card case", stock=Stock("MDF", 3))
    >>> base = case.add("base", rectangle(120, 60))
    >>> walls = [case.add(way, rectangle(120, 40), standing(base.show, facing=way)) for way in ("-Y", "+Y")]
    >>> lid = case.add("lid", rectangle(120, 60), lying([wall.face(">Z") for wall in walls]))
    >>> lid.back.middle
    (0.0, 0.0, 43.0)
    """
    one_of(show, ("out", "in"), "show of lying()", PlacementError)
    named = (flush,) if isinstance(flush, str) else flush
    given = items(named, "flush of lying()", "give sides, such as '+Y'", PlacementError)
    sides = tuple(instance(side, str, "side in flush of lying()", "give one such as '+Y'", PlacementError) for side in given)
    for way in (*sides, *(() if right is None else (right,))):
        axis(way)
    by = point(shift, "shift of lying()")
    return _Lying(faces_of(on), right, by, sides, finite(inset, "inset of lying()"), show)


@dataclass(frozen=True)
class _Against:
    face: tuple[Face, ...]
    up: str | Vector
    lift: float
    shift: float
    show: str

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        out, level = _common_normal(self.face, "against()")
        up = _square_to(self.up, self.face, out, "against(up=)")
        look = out if self.show == "out" else scaled(out, -1.0)
        right = cross(up, look)
        x0, y0, x1, _ = plate.outline.bounds
        left_end, right_end = _extent(self.face, right)
        bottom, _ = _extent(self.face, up)
        origin = plus(
            scaled(out, level if self.show == "out" else level + plate.stock.t),
            plus(
                scaled(right, (left_end + right_end) / 2 + self.shift - (x0 + x1) / 2),
                scaled(up, bottom + self.lift - y0),
            ),
        )
        return plate, Frame(origin, right, up, look)


def against(
    face: Face | Iterable[Face], *, up: str | Vector = "+Z", lift: float = 0.0, shift: float = 0.0, show: str = "out"
) -> Placement:
    """Upright with a broad face against an edge face (or any other): a wall outside the border of a base.

    `up` is where the plate's own y points.  The lower border of the plate stands `lift` mm above the lower end of the
    face, and the plate is centred on it sideways, then moved by `shift` mm, to the right as seen from its show face.  `show` is
    "out" or "in", as for `lying`; with "in", right is the other way round as seen from outside.

    Raises `PlacementError` for faces that lie in no one plane, an `up` that does not lie along them and unknown words,
    `SizeError` for what is no number.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> tray = Assembly("card tray", stock=Stock("MDF", 3))
    >>> base = tray.add("base", rectangle(120, 60))
    >>> end = tray.add("end", rectangle(60, 40), against(base.face(">X"), lift=-5))
    >>> end.back.middle, end.face("<Z").middle
    ((60.0, 0.0, 15.0), (61.5, 0.0, -5.0))
    """
    one_of(show, ("out", "in"), "show of against()", PlacementError)
    axis(up)
    return _Against(faces_of(face), up, finite(lift, "lift of against()"), finite(shift, "shift of against()"), show)


@dataclass(frozen=True)
class _Parallel:
    face: Face
    spacing: float

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        if not isinstance(self.face, Face) or not self.face.is_broad:
            raise PlacementError("parallel() takes a broad face of the other plate, such as rear.show", value=self.face)
        other = self.face.placed
        offset = other.plate.stock.t + self.spacing if self.face.place[0] == "show" else -self.spacing - plate.stock.t
        return plate, other.frame.shifted(scaled(other.frame.z, offset))


def parallel(face: Face, *, spacing: float) -> Placement:
    """Parallel to another plate and turned the same way, with `spacing` mm of free room to the given broad face.

    Raises `SizeError` for a spacing that is no number, and `PlacementError`, when the plate is added, for a face that is not
    broad.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> shelves = Assembly("card shelves", stock=Stock("MDF", 3))
    >>> low = shelves.add("low", rectangle(120, 60))
    >>> shelves.add("high", rectangle(120, 60), parallel(low.show, spacing=50)).back.middle
    (0.0, 0.0, 53.0)
    """
    return _Parallel(face, finite(spacing, "spacing of parallel()"))


@dataclass(frozen=True)
class _Mirrored:
    placed: PlacedPlate
    point: Vector
    normal: Vector

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        frame = self.placed.frame

        def image(v: Vector) -> Vector:
            return minus(v, scaled(self.normal, 2 * dot(v, self.normal)))

        origin = plus(self.point, image(minus(frame.origin, self.point)))
        # a mirror image turns right-handed axes left-handed; turning x back makes it the outline that is mirrored
        turned = Frame(origin, scaled(image(frame.x), -1.0), image(frame.y), image(frame.z))
        return Plate(plate.outline.mirrored(), plate.stock), turned


def mirrored(placed: PlacedPlate, *, about: str | PlacedPlate | cq.Plane) -> Placement:
    """The mirror image of a placed plate: its place is mirrored, and so is the outline that is added there.

    `about` is "XY", "XZ" or "YZ" (through the assembly's origin), a CadQuery `Plane` (its XY), or a placed plate, whose
    mid-plane it then is.  Where both faces of the stock are good, the copy is the same panel, cut twice; `bom.csv` says which
    pieces to turn over.

    Raises `PlacementError` for what is no placed plate or no plane.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> stand = Assembly("card stand", stock=Stock("MDF", 3))
    >>> base = stand.add("base", rectangle(120, 60))
    >>> left = stand.add("left", rectangle(60, 40), against(base.face("<X")))
    >>> right = stand.add("right", left.plate.outline, mirrored(left, about="YZ"))
    >>> left.show.middle, right.show.middle
    ((-63.0, 0.0, 20.0), (63.0, 0.0, 20.0))
    """
    instance(placed, PlacedPlate, "plate given to mirrored()", "give a plate that add() gave", PlacementError)
    if isinstance(about, str):
        name = "".join(sorted(about.upper()))
        planes = {"XY": "+Z", "XZ": "+Y", "YZ": "+X"}
        if name not in planes:
            raise PlacementError(
                f"mirror plane {shown(about)} is not known; give 'XY', 'XZ' or 'YZ', which swap top and bottom, front and "
                "rear, left and right",
                value=about,
            )
        return _Mirrored(placed, (0.0, 0.0, 0.0), axis(planes[name]))
    if isinstance(about, PlacedPlate):
        frame = about.frame
        return _Mirrored(placed, frame.point((0.0, 0.0, about.plate.stock.t / 2)), frame.z)
    if not isinstance(about, Frame) and not hasattr(about, "zDir"):
        raise PlacementError(
            f"mirror plane is {shown(about)}; give 'XY', 'XZ', 'YZ', a placed plate or a cadquery Plane", value=about
        )
    frame = Frame.of(about)
    return _Mirrored(placed, frame.origin, frame.z)
