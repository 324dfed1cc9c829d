"""Material that is too narrow: webs between cuts, and slivers."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import Any, Literal

from panelwright.plates.curves import Loop, Point

from .product import Finding
from .resolve import Made, Resolved

__all__ = ["thin_findings", "thin_places"]

SLACK = 0.95
"""A web counts as thin below this share of the thickness: what a caliper can't tell from one thickness is no fault."""

LEAST_SLACK = 0.75
"""The same where clearance takes from a web of one thickness: the proof warns of clearances of a fourth of the sheet."""

SLIVER = 0.1
"""Share of the thickness below which a web is a sliver that burns or breaks off."""


NEAR = 2.0
"""A thin place belongs to a joint whose cuts are nearer to it than this many thicknesses."""


def thin_findings(names: tuple[str, ...], resolved: Resolved) -> list[Finding]:
    """The thin places of one panel: an error for each sliver, and one warning for all webs that one joint leaves.

    Webs that no joint has to do with are gathered where they are equally wide, as those of a row of holes are.  `names` are the
    plates that the panel serves; places are those on the first of them.
    """
    part = next(part for part in resolved.parts if part.name == names[0])
    number = next((body.number for body in resolved.bodies if body.name == part.name), None)
    joints = [
        (made, claim.loop.bounds)
        for made in resolved.made
        for claim in made.layout.claims
        if claim.action == "cut" and claim.side.body.number == number
    ]
    # joints keep a web of one thickness between what goes in, and openings are larger by half a clearance on either side
    clearance = max([0.0, *(made.clearance for made, _ in joints)])
    limit = min(SLACK, max(LEAST_SLACK, 1.0 - clearance / part.stock.t - 1e-6))
    webs: dict[Hashable, list[tuple[float, Point, Made | None]]] = {}
    findings: list[Finding] = []
    also = f" (and {len(names) - 1} more like it)" if len(names) > 1 else ""
    # a hinge's links are narrow on purpose, so what counts is the panel without its slits; a bent panel has no one frame, so
    # its first plate's, in which it lies flat, has to do
    for kind, spot, width in thin_places(
        part.loops if part.unrolled is None else part.unrolled.whole, part.stock.t, limit
    ):
        if kind == "web":
            made = _nearest(joints, spot, NEAR * part.stock.t)
            webs.setdefault(round(width, 1) if made is None else id(made), []).append((width, spot, made))
            continue
        place = part.frame.point((*spot, part.stock.t / 2))
        findings.append(
            Finding(
                "error",
                "SLIVER",
                names,
                f"plate {part.name!r}{also} has a sliver about {width:.2f} mm wide around {_point(place)}, thinner than its "
                f"stock of {part.stock.t:g} mm; leave more between the cuts there",
                place,
                {"width_mm": width, "limit_mm": part.stock.t},
            )
        )
    for places in webs.values():
        width, spot, made = min(places, key=lambda found: (round(found[0], 2), found[1]))
        place = part.frame.point((*spot, part.stock.t / 2))
        many = f"{len(places)} webs, the thinnest" if len(places) > 1 else "a web"
        mate = "" if made is None else next((name for name in made.contact.names if name != part.name), "")
        where = f" at its {made.joint.kind} with {mate!r}" if made is not None else ""
        findings.append(
            Finding(
                "warning",
                "WEB",
                names,
                f"plate {part.name!r}{also} has {many} about {width:.2f} mm wide around {_point(place)}{where}, thinner than "
                f"its stock of {part.stock.t:g} mm; leave more between the cuts there",
                place,
                {"width_mm": width, "limit_mm": part.stock.t, "webs": float(len(places))},
            )
        )
    return findings


def _nearest(joints: Sequence[tuple[Made, tuple[float, float, float, float]]], spot: Point, reach: float) -> Made | None:
    """The joint whose cut is nearest to a point, if it is within reach."""
    best: tuple[float, Made | None] = (reach, None)
    for made, (x0, y0, x1, y1) in joints:
        far = math.hypot(max(x0 - spot[0], 0.0, spot[0] - x1), max(y0 - spot[1], 0.0, spot[1] - y1))
        if far < best[0] - 1e-6:
            best = (far, made)
    return best[1]


def _point(place: tuple[float, float, float]) -> str:
    return f"({place[0]:.1f}, {place[1]:.1f}, {place[2]:.1f})"


def thin_places(
    loops: Sequence[Loop], thickness: float, slack: float = SLACK
) -> list[tuple[Literal["web", "sliver"], Point, float]]:
    """Places where material is narrower than the sheet is thick: kind, a point in it, and about how wide it is in mm.

    What is narrower than the share `slack` of the thickness counts.

    What a square brush of almost one thickness cannot paint from inside is thin: the region is shrunk by half of it and
    grown again, with mitred corners so that sharp corners come back, and what is missing then is too narrow.

    >>> from panelwright.plates import circle, rectangle
    >>> [(kind, round(width, 1)) for kind, _, width in thin_places(rectangle(40, 20).cut(circle(10).at(0, 4)).loops, 3)]
    [('web', 1.0)]
    """
    import shapely

    outers = [shapely.Polygon(loop.points()) for loop in loops if loop.area > 0]
    holes = [shapely.Polygon(loop.points()) for loop in loops if loop.area < 0]
    region = shapely.union_all(outers).difference(shapely.union_all(holes)) if holes else shapely.union_all(outers)
    missed = region.difference(_painted(region, slack * thickness))
    found: list[tuple[Literal["web", "sliver"], Point, float]] = []
    for piece in getattr(missed, "geoms", [missed]):
        if piece.area < 0.02 * thickness**2:
            continue
        spot = shapely.maximum_inscribed_circle(piece, tolerance=thickness / 50).coords[0]
        width = _width_of(piece, region, thickness)
        found.append(("sliver" if width < SLIVER * thickness else "web", (spot[0], spot[1]), width))
    for loop in loops:
        for segment in loop:
            if segment.length < 0.01:
                found.append(("sliver", segment.start, segment.length))
    return sorted(found, key=lambda item: (item[0], round(item[1][0], 3), round(item[1][1], 3)))


def _painted(region: Any, width: float) -> Any:
    """What a brush of a width reaches without leaving the region."""
    mitred = {"join_style": "mitre", "mitre_limit": 10.0}
    return region.buffer(-width / 2, **mitred).buffer(width / 2 + 1e-6, **mitred)


def _width_of(piece: Any, region: Any, thickness: float) -> float:
    """The widest brush that still reaches a missed piece, by halving, to 1 % of the thickness.

    Measuring the piece itself would say less: of a nub on a wide body it is the tip only.  Half a percent of its area may stay
    unpainted, since no brush reaches into a cusp.
    """
    around = region.intersection(piece.buffer(2 * thickness, quad_segs=4))
    low, high = 0.0, SLACK * thickness
    while high - low > 0.01 * thickness:
        middle = (low + high) / 2
        if piece.difference(_painted(around, middle)).area < 0.005 * piece.area:
            low = middle
        else:
            high = middle
    return (low + high) / 2
