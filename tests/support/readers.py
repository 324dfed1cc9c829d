"""What the tests read from finished solids, without the toolkit's own readers: kernel topology, then shapely.

Fits are measured here on their own: the region of each panel is drawn from the edges of its solid's show face, the joint line
is taken from where the plates stand, and shapely says what is material on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations, pairwise
from typing import Any

import shapely
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.joints.spec.fasteners import NutBody
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.frame import Vector, cross, dot, minus, plus, scaled, unit

Stretch = tuple[float, float]


def volume(solid: Any) -> float:
    """Volume in mm³ by the kernel's own integration."""
    import cadquery as cq

    return float(cq.Shape.cast(solid).Volume())


def is_valid(solid: Any) -> bool:
    """Whether the kernel's checker has no complaint."""
    import cadquery as cq

    return bool(cq.Shape.cast(solid).isValid())


def solids_in(solid: Any) -> int:
    """How many separate solids the shape holds."""
    import cadquery as cq

    return len(cq.Shape.cast(solid).Solids())


def shared_volume(a: Part | Bought, b: Part | Bought) -> float:
    """Volume in mm³ that two parts share where they stand, by the kernel's 3D boolean."""
    from panelwright.plates._kernel.solids.booleans import common_of

    return common_of((a.solid, a.frame), (b.solid, b.frame))[0]


def union_volume(parts: Iterable[Part]) -> float:
    """Volume in mm³ of all parts fused into one, by the kernel's 3D boolean."""
    import cadquery as cq
    from panelwright.plates._kernel.solids.booleans import placed_solid

    shapes = [cq.Shape.cast(placed_solid((part.solid, part.frame))) for part in parts]
    return float(shapes[0].fuse(*shapes[1:]).Volume())


def region(part: Part, chords: int = 32) -> Any:
    """The show face of a part's solid as a shapely polygon, drawn from its edges, each curve by so many chords."""
    import cadquery as cq
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType

    found = []
    for face in cq.Shape.cast(part.solid).Faces():
        if not _is_level(face.wrapped, part.stock.t):
            continue
        rings = []
        for wire in (face.outerWire(), *face.innerWires()):
            lines = []
            for edge in wire.Edges():
                curve = BRepAdaptor_Curve(edge.wrapped)
                low, high = curve.FirstParameter(), curve.LastParameter()
                count = 1 if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line else chords
                spots = [curve.Value(low + (high - low) * i / count) for i in range(count + 1)]
                lines.append(shapely.LineString([(round(p.X(), 9) + 0.0, round(p.Y(), 9) + 0.0) for p in spots]))
            (ring,) = shapely.get_parts(shapely.polygonize(lines))
            rings.append(ring)
        found.append(rings[0].difference(shapely.union_all(rings[1:])) if len(rings) > 1 else rings[0])
    return shapely.union_all(found)


def _is_level(face: Any, z: float) -> bool:
    """Whether all corners of a face lie at one height; a flank is told by the first that does not."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    corners = TopExp_Explorer(face, TopAbs_ShapeEnum.TopAbs_VERTEX)
    while corners.More():
        if abs(BRep_Tool.Pnt_s(TopoDS.Vertex_s(corners.Current())).Z() - z) > 1e-6:
            return False
        corners.Next()
    return True


def polygon_of_loops(loops: Iterable[Loop], tolerance: float = 1e-3) -> Any:
    """Loops as a shapely region: outer loops less holes."""
    outers = [shapely.Polygon(loop.points(tolerance)) for loop in loops if loop.area > 0]
    holes = [shapely.Polygon(loop.points(tolerance)) for loop in loops if loop.area < 0]
    return shapely.union_all(outers).difference(shapely.union_all(holes))


def is_closed(loop: Loop) -> bool:
    """Whether each segment starts exactly where the one before it ends, and the last meets the first."""
    chain = [*loop.segments, loop.segments[0]]
    return all(math.dist(before.end, after.start) < 1e-9 for before, after in pairwise(chain))


def stretches(flat: Any, part: Part, point: Vector, direction: Vector) -> list[Stretch]:
    """Material of a part on a line in the assembly's space that lies in the part's plane, mm from `point`."""
    (x, y, _), (dx, dy, _) = part.frame.local(point), part.frame.local_direction(direction)
    far = 1e4
    line = shapely.LineString([(x - far * dx, y - far * dy), (x + far * dx, y + far * dy)])
    met = flat.intersection(line)
    found = []
    for piece in getattr(met, "geoms", [met]):
        if piece.length > 1e-9:
            along = [(px - x) * dx + (py - y) * dy for px, py in piece.coords]
            found.append((min(along), max(along)))
    return sorted(found)


def gaps(material: list[Stretch]) -> list[Stretch]:
    """What lies free between stretches of material."""
    return [(high, low) for (_, high), (low, _) in pairwise(material)]


def plays(nut: Bought, plates: Iterable[Part]) -> tuple[float, float]:
    """How much wider and how much deeper than a nut the opening is that it lies in, mm.

    Measured in the one plate that goes on to both sides of the nut in the plane of its axis: the width through the middle of
    the nut, the depth halfway between its bore and its side.
    """
    body, frame = nut.fastener.body, nut.frame
    assert isinstance(body, NutBody)
    middle = frame.point((0.0, 0.0, body.m / 2))
    beside = plus(middle, scaled(frame.x, (body.bore + body.s) / 4))
    found = []
    for part in plates:
        in_plane = max(abs(dot(part.frame.z, frame.x)), abs(dot(part.frame.z, frame.z))) < 1e-9
        if not in_plane or abs(part.frame.local(middle)[2] - part.stock.t / 2) > 1e-6:
            continue
        flat = region(part)
        wide = [high - low for low, high in gaps(stretches(flat, part, middle, frame.x)) if low < 0 < high]
        deep = [high - low for low, high in gaps(stretches(flat, part, beside, frame.z)) if low < 0 < high]
        found += zip(wide, deep, strict=True)
    ((width, depth),) = found
    return width - body.s, depth - body.m


class Meeting:
    """Two finished parts at right angles, and the line in which they meet.

    The line lies in the middle of the thickness of `a` and at `share` of that of `b`, counted from the side on which `a` has
    most of its material.
    """

    def __init__(self, a: Part, b: Part, share: float = 0.5, flats: tuple[Any, Any] | None = None) -> None:
        self.a, self.b = a, b
        self.flat_a, self.flat_b = flats or (region(a), region(b))
        za, zb = a.frame.z, b.frame.z
        self.run = unit(cross(za, zb))
        center = self.flat_a.centroid
        toward = dot(minus(a.frame.point((center.x, center.y, a.stock.t / 2)), b.frame.origin), zb) > b.stock.t / 2
        height_b = dot(b.frame.origin, zb) + b.stock.t * (1 - share if toward else share)
        self.point = plus(scaled(za, dot(a.frame.origin, za) + a.stock.t / 2), scaled(zb, height_b))
        self.on_a = stretches(self.flat_a, a, self.point, self.run)
        self.on_b = stretches(self.flat_b, b, self.point, self.run)

    def along(self) -> list[float]:
        """Opening less what goes into it, for each stretch of one plate that lies in a gap of the other."""
        found = []
        for host, guest in ((self.on_b, self.on_a), (self.on_a, self.on_b)):
            for low, high in gaps(host):
                middle = (low + high) / 2
                inside = [stop - start for start, stop in guest if start < middle < stop]
                found.extend(high - low - size for size in inside)
        return found

    def across(self) -> list[float]:
        """Width less the other's thickness, for each opening that closes on both sides of that thickness."""
        found = []
        for flat, host, own, guest, other in (
            (self.flat_b, self.b, self.on_b, self.on_a, self.a),
            (self.flat_a, self.a, self.on_a, self.on_b, self.b),
        ):
            for low, high in guest:
                middle = (low + high) / 2
                if any(start < middle < stop for start, stop in own):
                    continue
                spot = plus(self.point, scaled(self.run, middle))
                material = stretches(flat, host, spot, other.frame.z)
                below = [stop for start, stop in material if stop <= 0]
                above = [start for start, stop in material if start >= 0]
                if below and above:
                    found.append(min(above) - max(below) - other.stock.t)
        return found

    def left_free(self) -> float:
        """Length of line between the outermost ends that neither plate fills; below zero where they press."""
        ends = [end for stretch in (*self.on_a, *self.on_b) for end in stretch]
        filled = sum(high - low for low, high in (*self.on_a, *self.on_b))
        return max(ends) - min(ends) - filled


def pairs(parts: Iterable[Part]) -> list[tuple[Part, Part]]:
    """All pairs of parts."""
    return list(combinations(parts, 2))
