"""Outlines that touch, as with shared cuts: what keeps a part in its sheet may then be the uncut outline of another part.

A part falls out when everything around it has been cut, and a whole group of parts, with the waste between them, when the
line around the group has.  So the places that cuts divide the material into are looked at: a cut that is not made yet still
joins the places on its two sides.  From the surroundings of the group every place is reached over the fewest cuts, and whatever
is cut in a place comes before the cut over which that place was reached.  Cuts made in such an order find their place joined
to the surroundings, whatever else has been cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from .path import CutPath

__all__ = ["joined_by"]

REACH: Final = 0.03
"""Half the distance in mm at which two outlines count as touching; a cut takes more than that away on both sides."""

LEAST_SIDE: Final = 0.3
"""A cut joins two places if it runs between them for this many mm; less holds nothing (common practice, no source)."""


def joined_by(paths: Sequence[CutPath], lines: Sequence[Any], spots: Sequence[Any]) -> list[list[int]]:
    """For each path the outlines, as places in `paths`, that may only come after it because they join its place to the sheet.

    `lines` follows each path, and each of `spots` lies in what the path cuts, or on the path if it is open.
    """
    import shapely

    found: list[list[int]] = [[] for _ in paths]
    outlines = [i for i, path in enumerate(paths) if path.kind == "outside"]
    shapes = [lines[i] for i in outlines]
    if len(shapes) < 2:
        return found
    first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=2 * REACH)
    touching = [outlines[k] for k in sorted(set(first[first != second].tolist()))]
    if not touching:
        return found
    band = shapely.union_all(shapely.buffer([lines[i] for i in touching], REACH))
    groups = list(getattr(band, "geoms", [band]))
    member_of: dict[int, list[int]] = {}
    middles = shapely.line_interpolate_point([lines[i] for i in touching], 0.5, normalized=True)
    for k, group in shapely.STRtree(groups).query(middles, predicate="within").T.tolist():
        member_of.setdefault(group, []).append(touching[k])
    for group, members in sorted(member_of.items()):
        members.sort()
        places = [shapely.Polygon(ring) for ring in groups[group].interiors]
        over = _reached_over(members, lines, places, groups[group].exterior, found)
        own = set(members)
        others = [i for i, path in enumerate(paths) if path.kind != "mark" and i not in own]
        if not over or not others:
            continue
        for k, place in shapely.STRtree(places).query([spots[i] for i in others], predicate="within").T.tolist():
            # a window around the whole group encloses such a point too, but it is larger
            ring = lines[others[k]]
            is_larger = ring.is_closed and shapely.Polygon(ring.coords).area >= places[place].area
            if place in over and not is_larger:
                found[others[k]].append(over[place])
    return found


def _reached_over(
    members: Sequence[int], lines: Sequence[Any], places: Sequence[Any], border: Any, found: list[list[int]]
) -> dict[int, int]:
    """The cut over which each place of a group is reached from outside; for the group's own cuts, that goes into `found`."""
    import shapely

    # sides[i][place]: how far path i runs along the place; −1 is what surrounds the group
    sides: dict[int, dict[int, float]] = {i: {} for i in members}
    shapes = [lines[i] for i in members]
    zones = [*places, border]
    near, far = shapely.STRtree(zones).query(shapes, predicate="dwithin", distance=1.5 * REACH)
    wide = shapely.buffer(zones, 1.5 * REACH)
    lengths = [shapes[k].intersection(wide[zone]).length for k, zone in zip(near, far, strict=True)]
    for k, zone, length in sorted(zip(near.tolist(), far.tolist(), lengths, strict=True)):
        if length >= LEAST_SIDE:
            sides[members[k]][zone if zone < len(places) else -1] = length
    over: dict[int, int] = {}
    reached, waiting = [-1], list(members)
    while reached:
        level = [i for i in waiting if any(place in sides[i] for place in reached)]
        waiting = [i for i in waiting if not any(place in sides[i] for place in reached)]
        for i in level:
            place = next(place for place in reached if place in sides[i])
            if place in over:
                found[i].append(over[place])
        fresh = sorted({place for i in level for place in sides[i] if place >= 0 and place not in over})
        for place in fresh:
            # the one that runs along it the furthest: mostly its own outline
            over[place] = max(level, key=lambda i: (sides[i].get(place, 0.0), -i))
        reached = fresh
    return over
