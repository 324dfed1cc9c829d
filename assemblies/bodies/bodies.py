"""Ready-made bodies: a carcass, a tray, a grid of dividers.  Each is an `Assembly` to build on.

All of them stand at z = 0 upward, centred on x = y = 0, walls with their show faces outward, base and lid with theirs up; sizes
are outside sizes in millimetres unless they say otherwise.  `front` is the wall at negative y, `left` the one at negative x.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from typing import cast

from panelwright.assemblies.product.assembly import Assembly
from panelwright.joints import cross_lap, fingers, join, tabs
from panelwright.joints.meeting.common_ground import ANGLES_DEG
from panelwright.joints.spec.pattern import Joint, require_joint
from panelwright.joints.spec.relief import Relief
from panelwright.plates._validate import MOST_IN_A_ROW, finite, instance, mapping, positive, shown, whole
from panelwright.plates.errors import DesignError, SizeError
from panelwright.plates.geometry.curves import Line, Segment, cos_sin_deg
from panelwright.plates.geometry.frame import Frame, Vector, scaled
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.outline import CutOut, Outline
from panelwright.plates.outlines.shapes import rectangle, regular_polygon, trapezium
from panelwright.plates.placing.plate import Face, PlacedPlate
from panelwright.plates.tolerances import POINT_TOLERANCE

from .lids import Lid, LidKind, lid_of

__all__ = ["carcass", "divider_grid", "tray"]

_ALSO_CALLED = {"back": "rear", "bottom": "base", "floor": "base", "top": "lid"}
"""What plates of bodies are often called, and what they are called here."""

_UP: Vector = (0.0, 0.0, 1.0)
_DOWN: Vector = (0.0, 0.0, -1.0)


class _Walls:
    """Adds plates of a body, with the cut-outs that the caller wants in them."""

    def __init__(self, assembly: Assembly, cut: Mapping[str, CutOut] | None) -> None:
        self.assembly = assembly
        give = "give cut-outs by plate name, such as {'front': hole(9)}"
        self.cut = {} if cut is None else mapping(cut, f"cut= of {assembly.name!r}", give, DesignError)
        self.drawn: dict[str, Outline] = {}

    def add(self, name: str, outline: Outline, frame: Frame, stock: Stock | None = None, *, loose: bool = False) -> PlacedPlate:
        shapes = self.cut.pop(name, None)
        self.drawn[name] = outline
        cut = outline if shapes is None else outline.cut(shapes)
        return self.assembly.add(name, cut, frame, stock=stock, loose=loose)

    def side(self, placed: PlacedPlate, way: Vector) -> tuple[Face, ...]:
        """The edge faces on that side of a plate, as drawn, that looks most to `way`: several where a cut-out parts it.

        Cut-outs reorder a plate's edges and move the middles of its faces, so neither numbers nor selectors would do.  Raises
        `DesignError` if a cut-out takes all of it.
        """
        x, y, _ = placed.frame.local_direction(way)

        def looks(segment: Segment) -> float:
            tx, ty = segment.tangent_at(0.5)
            return ty * x - tx * y

        line = max(self.drawn[placed.name].outer, key=looks)
        assert isinstance(line, Line)
        found = tuple(face for face in placed.border if _lies_on(face.segment, line))
        if not found:
            raise DesignError(
                f"cut= takes away the whole edge of plate {placed.name!r} by which it is joined; make the cut-out smaller",
                plates=(placed.name,),
            )
        return found

    def finish(self) -> Assembly:
        if self.cut:
            known = [placed.name for placed in self.assembly.placed_plates()]
            given = next(iter(self.cut))
            near = [name for name in (_ALSO_CALLED.get(given), *difflib.get_close_matches(given, known, n=1)) if name in known]
            hint = f"did you mean {near[0]!r}? " if near else ""
            raise DesignError(
                f"cut= names {', '.join(map(repr, self.cut))}; {hint}the plates are {', '.join(known)}", value=tuple(self.cut)
            )
        return self.assembly


def _lies_on(segment: Segment, line: Line) -> bool:
    """Whether a straight segment is a stretch of a line that runs the same way."""
    if not isinstance(segment, Line):
        return False
    (x0, y0), (tx, ty) = line.start, line.tangent_at(0.0)
    off = [abs((x - x0) * ty - (y - y0) * tx) for x, y in (segment.start, segment.end)]
    run = [(x - x0) * tx + (y - y0) * ty for x, y in (segment.start, segment.end)]
    return max(off) < POINT_TOLERANCE and -POINT_TOLERANCE < run[0] < run[1] < line.length + POINT_TOLERANCE


def _stocks(name: str, stock: Stock, base_stock: Stock | None) -> tuple[Stock, Stock]:
    """The stock of the walls and that of base and lid.  Raises `DesignError` for what is none."""
    walls = instance(stock, Stock, f"stock of {shown(name)}", "give a Stock", DesignError)
    if base_stock is None:
        return walls, walls
    return walls, instance(base_stock, Stock, f"base_stock of {shown(name)}", "give a Stock", DesignError)


def _joint(given: Joint | None, usual: Joint, what: str) -> Joint:
    return usual if given is None else require_joint(given, what)


def _inner(outer: float, t: float, what: str) -> float:
    """What is left between two walls.  Raises `SizeError` if that is nothing."""
    if outer <= 2 * t:
        raise SizeError(f"{what} is {outer:g} mm; it must be above two thicknesses, {2 * t:g} mm", value=outer, limit=2 * t)
    return outer - 2 * t


def carcass(
    name: str,
    *,
    stock: Stock,
    width: float,
    height: float,
    depth: float | None = None,
    sides: int = 4,
    lean_deg: float = 0.0,
    lid: bool | LidKind = False,
    brim: float | None = None,
    play: float | None = None,
    lid_joint: Joint | None = None,
    base_stock: Stock | None = None,
    joint: Joint | None = None,
    cut: Mapping[str, CutOut] | None = None,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Assembly:
    """A box: a base, upright walls, and a lid if wanted, `height` mm high over all.

    With a `depth` it is a rectangle of `width` × `depth`, every plate full size and all of them joined by `fingers`; the
    plates are `base`, `front`, `rear`, `left`, `right` and `lid`.  Without one it is regular, with 3 to 12 `sides`, `width`
    across flats (twice from middle to side) at its base; its walls `side 1`, `side 2` … are joined to each other by `fingers`
    and to base and lid by a tab each, and square-cut edges leave small wedges open along corners that are not square.

    - `lean_deg`: how far the walls of a regular one lean outward, from -30 to 45°; only without a lid.  Walls that meet at more
      than 150° can't be joined, so 9 sides lean at most 40.8°, 10 sides 33.1° and 11 sides 23.2° to either side, and 12
      stand upright.
    - `lid`: True closes it for good, by the joint that the walls have.  "overhanging" is a lid that lies on the walls, stands
      out by `brim` mm all round (by default two thicknesses of the walls) and is held by `lid_joint`.  "inset", for a
      rectangular body, is a lid flush with the walls' upper border, `play` mm (by default 0.5) smaller than its room; it
      lies on a `left rest` and a `right rest`, plates about a thickness in from these walls, held on them by `lid_joint`.
    - `lid_joint`: by default screws into captive nuts, `t_nut("M3")`, with a tab in each wall if the lid overhangs.
    - `base_stock`: another stock for base and lid.
    - `joint`: used instead of `fingers()`.
    - `cut`: cut-outs by plate name, as for `Outline.cut`, in the plate's own coordinates: from its middle, x to the right and
      y up as seen from the show face: of walls from outside, of base and lid from above.
    - `clearance` and `relief`: for all its joints that give none of their own, as for `Assembly`.

    Raises `SizeError` for sizes, sides and leans that make no box, `DesignError` for plates that it doesn't have and for
    cut-outs that take a whole joined edge away.

    >>> box = carcass("glaze box", stock=Stock("MDF", 3, measured=3, kerf=0.18, clearance=0.1), width=80, depth=60, height=40)
    >>> [plate.name for plate in box.placed_plates()], box.check()
    (['base', 'front', 'rear', 'left', 'right'], ())
    """
    w, h = positive(width, "width of a carcass"), positive(height, "height of a carcass")
    n = whole(sides, "number of sides of a carcass", least=3)
    if n > 12:
        raise SizeError(f"number of sides of a carcass is {n}; 12 is the most", value=n, limit=12)
    top = lid_of(lid, brim, play, lid_joint, rectangular=depth is not None)
    stock, flat = _stocks(name, stock, base_stock)
    corner = _joint(joint, fingers(), "joint of a carcass")
    walls = _Walls(Assembly(name, stock=stock, clearance=clearance, relief=relief), cut)
    lean = finite(lean_deg, "lean of a carcass", unit="°")
    if not -30 <= lean <= 45 or (lean and top):
        raise SizeError(
            f"lean of a carcass is {lean:g}°{' with a lid' if top else ''}; it may be -30 to 45°, and 0 with a lid",
            value=lean,
            limit=(-30, 45),
        )
    if depth is None:
        _require_joinable(n, lean)
        return _prism(walls, stock, flat, n, w, h, lean_deg=lean, lid=top, joint=corner)
    if n != 4 or lean:
        raise SizeError("only an upright carcass of four sides takes a depth; leave out depth=", value=depth)
    return _box(walls, stock, flat, (w, positive(depth, "depth of a carcass"), h), lid=top, joint=corner)


def _require_joinable(n: int, lean_deg: float) -> None:
    """Raise `SizeError` if neighbouring walls meet at an angle that no joint takes.

    The normals of two neighbours enclose acos(1 − cos²λ·(1 − cos(2π/n))) at a lean λ (spherical law of cosines), which is what
    their dihedral angle leaves of 180°.
    """
    flattest = max(ANGLES_DEG)
    least = (1 - math.cos(math.radians(180.0 - flattest))) / (1 - math.cos(math.tau / n))
    share = math.cos(math.radians(lean_deg)) ** 2
    if share > least - 1e-12:
        return
    met = 180.0 - math.degrees(math.acos(1 - share * (1 - math.cos(math.tau / n))))
    most = math.floor(10 * math.degrees(math.acos(math.sqrt(min(1.0, least))))) / 10
    raise SizeError(
        f"the walls of a carcass of {n} sides that lean by {lean_deg:g}° meet at {met:.2f}°, and joints are made up to "
        f"{flattest:g}°; lean them by {most:g}° at most, or take fewer sides",
        value=lean_deg,
        limit=(-most, most),
    )


def _box(
    walls: _Walls, stock: Stock, flat: Stock, size: tuple[float, float, float], *, lid: Lid | None, joint: Joint
) -> Assembly:
    w, d, h = size
    t = stock.t
    inner_w, inner_d = _inner(w, t, "width of a carcass"), _inner(d, t, "depth of a carcass")
    if h <= flat.t * (2 if lid else 1):
        raise SizeError(f"height of a carcass is {h:g} mm; base and lid alone take more", value=h, limit=flat.t)
    top_z = h - flat.t
    if lid is not None and lid.kind == "overhanging":
        h = top_z  # the lid lies on the walls, not between them
    base = walls.add("base", rectangle(w, d), Frame(), flat)
    upright = {
        "front": (rectangle(w, h), (0.0, -d / 2 + t, h / 2), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0)),
        "rear": (rectangle(w, h), (0.0, d / 2 - t, h / 2), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)),
        "left": (rectangle(d, h), (-w / 2 + t, 0.0, h / 2), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
        "right": (rectangle(d, h), (w / 2 - t, 0.0, h / 2), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
    }
    placed = {
        name: walls.add(name, outline, Frame.facing(origin, show=show, right=right))
        for name, (outline, origin, show, right) in upright.items()
    }
    sides: dict[str, Vector] = {"front": (0, -1, 0), "rear": (0, 1, 0), "left": (-1, 0, 0), "right": (1, 0, 0)}
    for wall, side in sides.items():
        join(walls.side(placed[wall], _DOWN), walls.side(base, side), joint)
    if lid is not None:
        above = Frame((0.0, 0.0, top_z))
        if lid.kind == "inset":
            room = (inner_w - lid.play, inner_d - lid.play)
            top = walls.add("lid", rectangle(*room), above, flat, loose=True)
            for wall, way in (("left", -1.0), ("right", 1.0)):
                x, rise = way * (inner_w / 2 - lid.rest_gap(stock, flat)), top_z - flat.t
                inward = Frame.facing((x, 0.0, flat.t + rise / 2), show=(-way, 0.0, 0.0), right=(0.0, -way, 0.0))
                rest = walls.add(f"{wall} rest", rectangle(inner_d, rise), inward)
                join(walls.side(rest, _DOWN), base.show, tabs())
                for end in ("front", "rear"):
                    join(walls.side(rest, sides[end]), placed[end].back, tabs(count=1))
                join(walls.side(rest, _UP), top.back, lid.joint or joint)
        elif lid.kind == "overhanging":
            out = 2 * (2 * t if lid.brim is None else lid.brim)
            top = walls.add("lid", rectangle(w + out, d + out), above, flat)
            for wall in sides:
                join(walls.side(placed[wall], _UP), top.back, lid.joint or joint)
        else:
            top = walls.add("lid", rectangle(w, d), above, flat)
            for wall, side in sides.items():
                join(walls.side(placed[wall], _UP), walls.side(top, side), joint)
    for wall in ("left", "right"):
        for other in ("front", "rear"):
            join(walls.side(placed[wall], sides[other]), walls.side(placed[other], sides[wall]), joint)
    return walls.finish()


def _prism(
    walls: _Walls,
    stock: Stock,
    flat: Stock,
    n: int,
    width: float,
    height: float,
    *,
    lean_deg: float,
    lid: Lid | None,
    joint: Joint,
) -> Assembly:
    t, lean = stock.t, math.radians(lean_deg)
    cosine, sine = math.cos(lean), math.sin(lean)
    # walls that lean out stand on their outer lower corner, so their inner one is that much higher
    lift = max(0.0, t * sine)
    slant = (height - flat.t * (2 if lid else 1) - abs(t * sine)) / cosine
    # neighbours meet along their inner edges, so each is as wide as the inner polygon's side
    low = width / 2 - t * cosine
    high = low + slant * sine
    sides = [2 * radius * math.tan(math.pi / n) for radius in (low, high)]
    if slant <= 0 or min(sides) <= 2 * t:
        raise SizeError(
            f"a carcass of {n} sides, {width:g} mm wide and {height:g} mm high, leaves walls {slant:.2f} mm high and "
            f"{min(sides):.2f} mm wide of a stock of {t:g} mm; make it larger",
            value=min(sides),
            limit=2 * t,
        )
    base = walls.add("base", regular_polygon(n, across_flats=width), Frame(), flat)
    top, hold = None, cast(Joint, tabs(count=1))
    if lid is not None:
        out = 0.0 if lid.kind is None else 2 * (2 * t if lid.brim is None else lid.brim)
        cover = regular_polygon(n, across_flats=width + out)
        top, hold = walls.add("lid", cover, Frame((0.0, 0.0, height - flat.t)), flat), lid.joint or hold
    wall_outline = rectangle(sides[0], slant) if lean_deg == 0 else trapezium(sides[0], sides[1], slant)
    placed: list[PlacedPlate] = []
    for i in range(n):
        # the polygon's first side looks to -y
        x, y = cos_sin_deg(-90.0 + 360.0 * i / n)
        middle = (low + high) / 2
        origin: Vector = (middle * x, middle * y, flat.t + lift + slant * cosine / 2)
        frame = Frame.facing(origin, show=(x * cosine, y * cosine, -sine), right=(-y, x, 0.0))
        wall = walls.add(f"side {i + 1}", wall_outline, frame)
        placed.append(wall)
        join(walls.side(wall, _DOWN), base.show, tabs(count=1))
        if top is not None:
            join(walls.side(wall, _UP), top.back, hold)
    for i, wall in enumerate(placed):
        following = placed[(i + 1) % n]
        join(walls.side(wall, wall.frame.x), walls.side(following, scaled(following.frame.x, -1.0)), joint)
    return walls.finish()


def tray(
    name: str,
    *,
    stock: Stock,
    width: float,
    depth: float,
    height: float,
    lift: float | None = None,
    base_stock: Stock | None = None,
    corner: Joint | None = None,
    floor: Joint | None = None,
    cut: Mapping[str, CutOut] | None = None,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Assembly:
    """An open tray: four walls with finger corners, and a base let into them.

    - `lift`: how far the base's underside stands above the walls' lower border, mm; by default one wall thickness, so that the
      slots keep a web below them.
    - `base_stock`: another stock for the base.
    - `corner` and `floor`: the joints at the corners (`fingers()`) and of the base with the walls (`tabs(count=2)`).
    - `cut`: cut-outs by plate name, as for `carcass`.
    - `clearance` and `relief`: for all its joints that give none of their own, as for `Assembly`.

    `width`, `depth` and `height` are outside sizes in mm.  Raises `SizeError` for sizes that make no tray, `DesignError` as
    `carcass` does.

    >>> [p.name for p in tray("tiles", stock=Stock("MDF", 3), width=90, depth=60, height=30).placed_plates()]
    ['base', 'front', 'rear', 'left', 'right']
    """
    w, d, h = positive(width, "width of a tray"), positive(depth, "depth of a tray"), positive(height, "height of a tray")
    stock, flat = _stocks(name, stock, base_stock)
    t = stock.t
    at_corners = _joint(corner, fingers(), "corner joint of a tray")
    at_floor = _joint(floor, tabs(count=2), "floor joint of a tray")
    up = t if lift is None else positive(lift, "lift of a tray's base", zero_is_fine=True)
    if up + flat.t >= h:
        raise SizeError(
            f"a tray {h:g} mm high has no room above a base of {flat.t:g} mm lifted by {up:g} mm; make it higher",
            value=h,
            limit=up + flat.t,
        )
    inner_w, inner_d = _inner(w, t, "width of a tray"), _inner(d, t, "depth of a tray")
    walls = _Walls(Assembly(name, stock=stock, clearance=clearance, relief=relief), cut)
    base = walls.add("base", rectangle(inner_w, inner_d), Frame((0.0, 0.0, up)), flat)
    front = walls.add("front", rectangle(w, h), Frame.facing((0.0, -d / 2 + t, h / 2), show=(0, -1, 0), right=(1, 0, 0)))
    rear = walls.add("rear", rectangle(w, h), Frame.facing((0.0, d / 2 - t, h / 2), show=(0, 1, 0), right=(-1, 0, 0)))
    left = walls.add("left", rectangle(d, h), Frame.facing((-w / 2 + t, 0.0, h / 2), show=(-1, 0, 0), right=(0, -1, 0)))
    right = walls.add("right", rectangle(d, h), Frame.facing((w / 2 - t, 0.0, h / 2), show=(1, 0, 0), right=(0, 1, 0)))
    for wall in (front, rear, left, right):
        join(walls.side(base, wall.frame.z), wall.back, at_floor)
    for wall in (left, right):
        for other in (front, rear):
            join(walls.side(wall, other.frame.z), walls.side(other, wall.frame.z), at_corners)
    return walls.finish()


def divider_grid(
    name: str,
    *,
    stock: Stock,
    width: float,
    depth: float,
    height: float,
    columns: int,
    rows: int,
    joint: Joint | None = None,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Assembly:
    """Dividers that part `width` × `depth` into `columns` × `rows` equal cells, cross-lapped wherever they cross.

    The plates are `along 1` … (parallel to x, one fewer than rows) and `across 1` … (parallel to y, one fewer than columns).
    Slots of the first kind open upward.  `joint` is used instead of `cross_lap()`, `clearance` and `relief` as for `carcass`.
    Sizes are in mm, all dividers `height` high and of one `stock`; `name` is the assembly's.
    Raises `SizeError` for sizes and numbers that leave no cells.

    >>> grid = divider_grid("cells", stock=Stock("MDF", 3), width=120, depth=80, height=30, columns=3, rows=2)
    >>> [plate.name for plate in grid.placed_plates()], len(grid.resolve().made)
    (['along 1', 'across 1', 'across 2'], 2)
    """
    w, d, h = (positive(v, f"{what} of a divider grid") for v, what in ((width, "width"), (depth, "depth"), (height, "height")))
    m, n = (
        whole(value, f"{what} of a divider grid", most=MOST_IN_A_ROW) for value, what in ((columns, "columns"), (rows, "rows"))
    )
    stock, _ = _stocks(name, stock, None)
    crossing = _joint(joint, cross_lap(), "joint of a divider grid")
    t = stock.t
    cell_w, cell_d = (w - (m - 1) * t) / m, (d - (n - 1) * t) / n
    if min(cell_w, cell_d) <= 0 or m * n == 1:
        raise SizeError(
            f"a grid of {m} × {n} cells on {w:g} × {d:g} mm leaves cells of {cell_w:.2f} × {cell_d:.2f} mm; "
            "use at least two cells, and fewer of them or more room",
            value=(m, n),
        )
    grid = Assembly(name, stock=stock, clearance=clearance, relief=relief)
    along: list[PlacedPlate] = []
    for i in range(1, n):
        y = -d / 2 + i * cell_d + (i - 1) * t
        frame = Frame.facing((0.0, y + t, h / 2), show=(0, -1, 0), right=(1, 0, 0))
        along.append(grid.add(f"along {i}", rectangle(w, h), frame))
    for i in range(1, m):
        x = -w / 2 + i * cell_w + (i - 1) * t
        frame = Frame.facing((x + t, 0.0, h / 2), show=(-1, 0, 0), right=(0, -1, 0))
        across = grid.add(f"across {i}", rectangle(d, h), frame)
        for plate in along:
            join(plate, across, crossing)
    return grid
