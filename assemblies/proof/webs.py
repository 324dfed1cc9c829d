"""Findings about material that is too narrow: webs between cuts, and slivers."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.curves import Point
from panelwright.plates.geometry.polygons import region_of, ring_of
from panelwright.plates.geometry.thin import SLACK, thin_places
from panelwright.plates.tolerances import SAME_AREA, SAME_PLACE

__all__ = ["thin_findings"]

LEAST_SLACK = 0.75
"""The same where clearance takes from a web of one thickness: the proof warns of clearances of a fourth of the sheet."""

NEAR = 2.0
"""A thin place belongs to a joint whose cuts are nearer to it than this many thicknesses."""


def thin_findings(names: tuple[str, ...], resolved: Resolved) -> list[Finding]:
    """The thin places of one panel: an error for each sliver, and one warning for all webs that one joint leaves.

    Webs that no joint has to do with are gathered where they are equally wide, as those of a row of holes are.  `names` are the
    plates that the panel serves; places are those on the first of them.
    """
    from shapely.errors import GEOSException

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
    loops = part.loops if part.unrolled is None else part.unrolled.whole
    try:
        thin = thin_places(loops, part.stock.t, limit)
    except GEOSException as error:  # what only warns must never end a build, so what isn't checked is said instead
        return [_unmeasured(names, f"{part.name!r}{also}", error)]
    for kind, spot, width in thin:
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
    thinnest = [(min(places, key=lambda found: (round(found[0], 2), found[1])), places) for places in webs.values()]
    for (width, spot, made), places in sorted(thinnest, key=lambda found: (round(found[0][0], 2), found[0][1])):
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
    return [*findings, *_webs_to_slits(names, part)]


def _webs_to_slits(names: tuple[str, ...], part: Part) -> list[Finding]:
    """A warning if a slit of a bent panel comes nearer to a cut-out than its sheet is thick, with the thinnest such web.

    Slits are laid so that they keep off cut-outs; here nothing of that is known.  They are what the finished panel lacks
    against the same without them.
    """
    import shapely

    if part.unrolled is None:
        return []
    holes = [ring_of(loop) for loop in part.unrolled.whole if loop.area < 0]
    if not holes:
        return []
    missing = region_of(part.unrolled.whole).difference(region_of(part.loops))
    slits = [piece for piece in shapely.get_parts(missing) if piece.area > SAME_AREA]
    of_slits, of_holes = shapely.STRtree(holes).query(slits, predicate="dwithin", distance=SLACK * part.stock.t)
    webs = [shapely.shortest_line(holes[a], slits[b]) for a, b in zip(of_holes.tolist(), of_slits.tolist(), strict=True)]
    if not webs:
        return []
    web = min(webs, key=lambda found: (round(found.length, 3), found.coords[0]))
    spot = web.interpolate(0.5, normalized=True)
    place = part.frame.point((spot.x, spot.y, part.stock.t / 2))
    many = f"{len(webs)} webs, the thinnest" if len(webs) > 1 else "a web"
    return [
        Finding(
            "warning",
            "WEB",
            names,
            f"plate {part.name!r} has {many} about {web.length:.2f} mm wide around {_point(place)} between a cut-out and "
            f"slits of its hinge, thinner than its stock of {part.stock.t:g} mm; move the cut-out off the bend",
            place,
            {"width_mm": web.length, "limit_mm": part.stock.t, "webs": float(len(webs))},
        )
    ]


def _unmeasured(names: tuple[str, ...], which: str, error: Exception) -> Finding:
    return Finding(
        "warning",
        "WEB",
        names,
        f"plate {which}: its narrow places could not be measured ({error}); look for webs and slivers yourself",
    )


def _nearest(joints: Sequence[tuple[Made, tuple[float, float, float, float]]], spot: Point, reach: float) -> Made | None:
    """The joint whose cut is nearest to a point, if it is within reach."""
    best: tuple[float, Made | None] = (reach, None)
    for made, (x0, y0, x1, y1) in joints:
        far = math.hypot(max(x0 - spot[0], 0.0, spot[0] - x1), max(y0 - spot[1], 0.0, spot[1] - y1))
        if far < best[0] - SAME_PLACE:
            best = (far, made)
    return best[1]


def _point(place: tuple[float, float, float]) -> str:
    return f"({place[0]:.1f}, {place[1]:.1f}, {place[2]:.1f})"
