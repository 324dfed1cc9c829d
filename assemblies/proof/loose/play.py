"""Play of what is loose: a warning where something stands between faces on both sides with less than sheet and cut take."""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.name_lists import called, listed
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import COSINE_ROUNDING, MEETING_COSINE, SAME_PLACE

from .facing import FlatFace, Meeting, facing_pairs, flat_faces

__all__ = ["LEAST_PLAY", "play_findings"]

LEAST_PLAY = 0.1
"""Play in mm below which what is loose sticks: cut pieces come out by some hundredths larger or smaller, and paint, dust and
damp add theirs (common practice, no source).  Thickness that is not as drawn comes on top, and is not counted here."""

_Unit = frozenset[str]
"""What moves as one, by the names of its plates."""

REST: _Unit = frozenset()
"""What is not loose."""

_SMALLER: tuple[tuple[Vector, str, str], ...] = (
    ((1.0, 0.0, 0.0), "narrower", "wider"),
    ((0.0, 1.0, 0.0), "less deep", "deeper"),
    ((0.0, 0.0, 1.0), "lower", "higher"),
)


@dataclass(frozen=True, eq=False)
class _Chain:
    """Units one above the other along a direction, from one back to itself, and where each meets the next."""

    units: tuple[_Unit, ...]
    meetings: tuple[Meeting, ...]

    @property
    def play(self) -> float:
        """How far in mm all of them together can move."""
        return sum(meeting.gap for meeting in self.meetings)


def play_findings(resolved: Resolved, loose: Sequence[frozenset[str]]) -> list[Finding]:
    """A warning for each loose thing that has too little play along a direction, or for several that stand in one row.

    Looked at are flat faces that look at each other: below and above a thing along a line there is what is not loose, or
    something else loose that meets what is not loose in its turn.  Of all such rows the one with the least play counts.
    What lies on something, with nothing against it on the other side, has all the play there is.  `loose` are the plates and
    sub-assemblies, by the names of their plates, that may lie apart; two that have a joint are measured as that, and not
    here: a lid that screws hold still needs its play between the walls.
    """
    groups = list(dict.fromkeys(loose))
    if not groups:
        return []
    part_of = {name: part.plates[0] for part in resolved.parts for name in part.plates}
    joined = [made.contact.names for made in resolved.made] + [error.plates[:2] for error in resolved.failures]
    tied = {frozenset(part_of.get(name, name) for name in pair) for pair in joined}
    stocks = {part.plates[0]: part.stock for part in resolved.parts}
    unit_of = {name: min((group for group in groups if name in group), key=len, default=REST) for name in stocks}
    faces = [face for part in resolved.parts for face in flat_faces(part)]
    within = _limit(stocks.values())
    found: dict[tuple[frozenset[_Unit], Vector], tuple[_Chain, float]] = {}

    def is_apart(one: str, other: str) -> bool:
        return unit_of[one] != unit_of[other] and frozenset({one, other}) not in tied

    ways = _directions([face for face in faces if unit_of[face.plate]])
    for way, meetings in facing_pairs(faces, ways, within, is_apart):
        for group in groups:
            chain = _tightest(group, meetings, unit_of)
            if chain is None:
                continue
            limit = _limit(stocks[name] for name in _plates(chain))
            if chain.play < limit - SAME_PLACE:
                found.setdefault((frozenset(chain.units), way), (chain, limit))
    return [_finding(chain, limit, way) for (_, way), (chain, limit) in found.items()]


def _limit(stocks: Iterable[Stock]) -> float:
    """The least play in mm: more than usual where the shop states a wider sliding fit for a stock."""
    return max([LEAST_PLAY, *(stock.sliding for stock in stocks if stock.sliding is not None)])


def _directions(faces: Sequence[FlatFace]) -> list[Vector]:
    """Lines along which something loose has faces that look both ways, each once, in the order of the faces."""
    found: list[Vector] = []
    for face in faces:
        if all(abs(dot(face.normal, way)) < 1 - MEETING_COSINE for way in found):
            found.append(_upwards(face.normal))
    return found


def _upwards(way: Vector) -> Vector:
    """A line's direction of the two whose last coordinate that is not zero is positive."""
    sign = next((math.copysign(1.0, value) for value in reversed(way) if abs(value) > COSINE_ROUNDING), 1.0)
    return (way[0] * sign + 0.0, way[1] * sign + 0.0, way[2] * sign + 0.0)


def _tightest(group: _Unit, meetings: Sequence[Meeting], unit_of: Mapping[str, _Unit]) -> _Chain | None:
    """The row with the least play through a loose thing: from it up to the next, and so on, until the last lies below it.

    What is loose within it is taken as a part of it: whether that has room is asked for itself.
    """
    links: dict[_Unit, dict[_Unit, Meeting]] = {}
    for meeting in meetings:
        below, above = (group if name in group else unit_of[name] for name in (meeting.below, meeting.above))
        known = links.setdefault(below, {}).get(above)
        if below != above and (known is None or _rank(meeting) < _rank(known)):
            links[below][above] = meeting
    count = itertools.count()
    queue: list[tuple[float, int, tuple[_Unit, ...], tuple[Meeting, ...]]] = [(0.0, next(count), (group,), ())]
    done: set[_Unit] = set()
    while queue:
        play, _, units, row = heapq.heappop(queue)
        if row and units[-1] == group:
            return _Chain(units[:-1], row)
        if row and units[-1] in done:
            continue
        done.add(units[-1])
        for above, meeting in links.get(units[-1], {}).items():
            heapq.heappush(queue, (play + meeting.gap, next(count), (*units, above), (*row, meeting)))
    return None


def _rank(meeting: Meeting) -> tuple[float, float, str, str]:
    """The narrowest first; of those alike that over the largest area, as its plates tell best where it is."""
    return (meeting.gap, -meeting.area, meeting.below, meeting.above)


def _plates(chain: _Chain) -> list[str]:
    return list(dict.fromkeys(name for meeting in chain.meetings for name in (meeting.below, meeting.above)))


def _finding(chain: _Chain, limit: float, way: Vector) -> Finding:
    # the row begins behind what is not loose; where all is loose, behind what has the most plates
    frame = REST if REST in chain.units else max(chain.units, key=lambda unit: (len(unit), sorted(unit)))
    turn = chain.units.index(frame)
    moving = (chain.units[turn:] + chain.units[:turn])[1:]
    row = chain.meetings[turn:] + chain.meetings[:turn]
    sides = list(dict.fromkeys([row[0].below, row[-1].above]))
    where = f"between {listed(sides, is_quoted=True)}" if len(sides) > 1 else f"between two faces of {sides[0]!r}"
    names = [called(unit) or listed(sorted(unit)) for unit in moving]
    one = len(names) == 1
    smaller, larger = _words(way)
    # twice the limit, in whole tenths: what is made just at the limit is told again with the next rounding
    by = math.ceil(round((2 * limit - chain.play) * 10, 3)) / 10
    return Finding(
        "warning",
        "NO-PLAY",
        tuple(_plates(chain)),
        f"{listed(names, is_quoted=True)} {'is loose and stands' if one else 'are loose and stand in one row'} {where} with "
        f"{chain.play:.2f} mm of play in all, less than the {limit:.2f} mm that what slides takes: "
        f"make {' or '.join(map(repr, names))} {by:.1f} mm {smaller}, or the room as much {larger}",
        row[0].place,
        {"play_mm": chain.play, "limit_mm": limit},
    )


def _words(way: Vector) -> tuple[str, str]:
    """Smaller and larger along a direction, of the product as the design stands it."""
    for plain, smaller, larger in _SMALLER:
        if abs(dot(way, plain)) > 1 - MEETING_COSINE:
            return smaller, larger
    along = f"along ({', '.join(f'{value:.2f}' for value in way)})"
    return f"smaller {along}", f"larger {along}"
