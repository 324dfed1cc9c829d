"""The search: several sorted constructions, then ruin and recreate.

Each attempt empties the emptiest sheet and one to three others, or only their far ends, and fills them again in an order
that is sorted by one measure or another, with some noise.  What is no worse is kept.  Everything random comes from the
job's seed and
the attempts are counted, so the same job gives the same layout; only a time limit looks at the clock.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from .engine import Layout, Progress, Report
from .filling import RULES, Item, Laid, Rule, SheetCopy, fill
from .ground import Ground, pinned_placements
from .job import NestJob
from .result import Placement
from .variants import Variant

__all__ = ["RuinAndRecreate"]

Measure = Callable[[Item], float]
MEASURES: Final[tuple[Measure, ...]] = (
    lambda item: item.area,
    lambda item: item.sides[0],
    lambda item: item.sides[1],
    lambda item: item.sides[0] + item.sides[1],
    lambda item: item.sides[0] * item.sides[1],
)
"""By what pieces are sorted, the largest first."""

STARTS: Final = 3
"""Searches from different seeds in a job of few pieces, which share the effort: a search of few pieces is soon stuck."""

FEW: Final = 60
"""Pieces up to which several searches are made: found by trying."""

MOST_WAYS: Final = 8
"""Ways to lay a piece that one search tries at most: with any angle allowed there are dozens, and each pair of them wants a
no-fit region of its own."""

Value = tuple[float, ...]
Ways = Mapping[int, Sequence[Variant]]
"""By piece, how a search may lay it."""


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """A layout: what lies on each sheet, what is left over, and its value, less being better."""

    laid: dict[SheetCopy, tuple[Laid, ...]]
    left: tuple[Item, ...]
    value: Value


@dataclass(frozen=True, slots=True)
class RuinAndRecreate:
    """The built-in engine.

    >>> from panelwright.assemblies.nest import Piece, Sheet
    >>> tile = Piece.from_rings("tile", [[(0, 0), (48, 0), (48, 48), (0, 48)]], 8)
    >>> layout = RuinAndRecreate().lay_out(NestJob((tile,), (Sheet.rectangle("MDF", 208, 108),), effort=0), None)
    >>> [(p.copy, p.x, p.y) for p in layout.placements][:3]
    [(1, 5.0, 5.0), (2, 5.0, 55.0), (3, 55.0, 5.0)]
    """

    def lay_out(self, job: NestJob, report: Report | None) -> Layout:
        """Lay out a job, at most `job.effort` attempts long.

        A KeyboardInterrupt ends the search early; one that comes before there is any layout goes on to the caller.
        """
        run = _Run(job, report)
        interrupted = False
        try:
            run.search()
        except KeyboardInterrupt:
            if run.best is None:
                raise
            interrupted = True
        return Layout(run.placements(), iterations=run.iterations, interrupted=interrupted)


class _Run:
    """One search, and the best that it has found so far."""

    def __init__(self, job: NestJob, report: Report | None) -> None:
        self._ends = None if job.time_limit_s is None else time.monotonic() + job.time_limit_s
        self._report = report
        self._job = job
        self._ground = Ground(job)
        self._ways: Ways = {item.piece: _first_ways(item.variants) for item in self._ground.items}
        self.best: _State | None = None
        self.iterations = 0

    def search(self) -> None:
        """Construct, then improve until the effort is spent or the time is over."""
        first = self._constructed()
        starts = STARTS if len(self._ground.items) <= FEW else 1
        for start in range(starts):
            rng = random.Random(f"{self._job.seed}/{start}")
            ways = self._ways if start == 0 else self._other_ways(rng)
            state = first
            for _ in range(self._job.effort // starts + (start < self._job.effort % starts)):
                if self._is_over():
                    return
                state = self._attempt(state, rng, ways)
                self.iterations += 1
                self._keep(state)

    def placements(self) -> list[Placement]:
        """The best layout.  Copies of a sheet that are alike are numbered anew, the fullest first."""
        assert self.best is not None
        ground, laid = self._ground, self.best.laid
        found = pinned_placements(self._job)
        for index in range(len(self._job.sheets)):
            alike = [sheet for sheet in ground.sheets if sheet.sheet == index]
            pinned = [sheet for sheet in alike if sheet.has_pins]
            numbers = sorted(sheet.copy for sheet in alike if not sheet.has_pins)
            used = sorted((s for s in alike if laid.get(s) and not s.has_pins), key=lambda s: (-_area(laid[s]), s.copy))
            for sheet, copy in [*((s, s.copy) for s in pinned), *zip(used, numbers, strict=False)]:
                found += ground.placements(sheet, laid.get(sheet, ()), copy=copy)
        return found

    def _other_ways(self, rng: random.Random) -> Ways:
        return {item.piece: _some_ways(item.variants, rng) for item in self._ground.items if item.copy == 1}

    def _is_over(self) -> bool:
        return self._ends is not None and time.monotonic() >= self._ends

    def _constructed(self) -> _State:
        """The best of some layouts, each in the order of one measure."""
        ground = self._ground
        for sheets in _orders(ground.sheets):
            for measure in MEASURES:
                order = sorted(ground.items, key=lambda item: (-measure(item), item.piece, item.copy))
                laid, left = fill(ground.table, order, {}, sheets, "long", self._ways)
                self._keep(_state(laid, left), is_checked=False)
                if self._is_over() and self.best is not None:
                    return self.best
        if self.best is None:  # nothing that was constructed is clear: begin with nothing laid
            self.best = _state({}, ground.items)
        return self.best

    def _keep(self, state: _State, *, is_checked: bool = True) -> None:
        if self.best is not None and state.value >= self.best.value:
            return
        if is_checked or all(self._ground.is_clear(sheet, laid) for sheet, laid in state.laid.items() if laid):
            self.best = state
            if self._report is not None:
                self._report(self._progress(state))

    def _progress(self, state: _State) -> Progress:
        used = [sheet for sheet in self._ground.sheets if state.laid.get(sheet) or sheet.has_pins]
        emptiest = min(used, key=lambda sheet: _area(state.laid.get(sheet, ())), default=None)
        taken = 0.0 if emptiest is None else len(used) - 1 + emptiest.extent(state.laid.get(emptiest, ()))
        return Progress(self.iterations, self._job.effort, len(state.left), len(used), taken)

    def _attempt(self, state: _State, rng: random.Random, ways: Ways) -> _State:
        """The state after one attempt: a new one if it is no worse, else the same."""
        ground = self._ground
        used = [sheet for sheet in ground.sheets if state.laid.get(sheet)]
        if not used and not state.left:
            return state
        kept, ruined = _ruined(state, used, rng)
        loose = [*state.left, *ruined]
        measure = rng.choice(MEASURES)
        noise = rng.choice((0.0, 0.0, 0.1, 0.25, 0.5))
        keyed = [(-measure(item) * (1 + rng.uniform(-noise, noise)), item.piece, item.copy, item) for item in loose]
        order = [item for *_, item in sorted(keyed, key=lambda entry: entry[:3])]
        rule: Rule = rng.choice((*RULES, RULES[0]))
        sheets = _in_order([*kept, *_spares(ground.sheets, used, rng)], rng)
        laid, left = fill(ground.table, order, kept, sheets, rule, ways)
        fresh = _state({**state.laid, **laid}, left)
        if fresh.value <= state.value and all(ground.is_clear(sheet, laid[sheet]) for sheet in sheets if laid[sheet]):
            return fresh
        return state


def _area(laid: Iterable[Laid]) -> float:
    return sum(one.variant.area for one in laid)


def _state(laid: dict[SheetCopy, tuple[Laid, ...]], left: Sequence[Item]) -> _State:
    return _State(laid, tuple(left), _value(laid, left))


def _value(laid: dict[SheetCopy, tuple[Laid, ...]], left: Sequence[Item]) -> Value:
    """First all pieces, then least area of full sheets (of offcuts if there are no full ones), then an empty emptiest sheet."""
    used = [sheet for sheet, on in laid.items() if on]
    counted = [sheet for sheet in used if not sheet.is_offcut] or used
    areas = {sheet: _area(laid[sheet]) for sheet in counted}
    emptiest = min(counted, key=lambda sheet: (areas[sheet], sheet.sheet, sheet.copy), default=None)
    compact = 0.0 if emptiest is None else 6.0 * areas[emptiest] / emptiest.area + emptiest.extent(laid[emptiest])
    return (
        round(sum(item.area for item in left), 6),
        round(sum(sheet.area for sheet in counted if not sheet.has_pins), 6),
        len(counted),
        round(compact, 9),
        -round(sum(area**2 for area in areas.values()), 3),
    )


def _ruined(
    state: _State, used: Sequence[SheetCopy], rng: random.Random
) -> tuple[dict[SheetCopy, tuple[Laid, ...]], list[Item]]:
    """Sheets to be filled again with what stays on them, and what is taken off: all of the emptiest, all or ends of others."""
    if not used:
        return {}, []
    full = [sheet for sheet in used if not sheet.is_offcut] or used
    emptiest = min(full, key=lambda sheet: (_area(state.laid[sheet]), sheet.sheet, sheet.copy))
    others = [sheet for sheet in used if sheet is not emptiest]
    chosen = rng.sample(others, min(len(others), rng.choice((1, 1, 1, 2, 2, 3)))) if others else []
    is_partial = rng.random() < 0.5
    kept: dict[SheetCopy, tuple[Laid, ...]] = {}
    loose: list[Item] = []
    for sheet in (*chosen, emptiest):
        on = state.laid[sheet]
        stays: tuple[Laid, ...] = ()
        if is_partial and (sheet is not emptiest or not others):
            limit = rng.random() * sheet.extent(on)
            stays = tuple(one for one in on if sheet.extent_of(one) <= limit)
        kept[sheet] = stays
        loose += [one.item for one in on if one not in stays and one.item is not None]
    return kept, loose


def _spares(sheets: Sequence[SheetCopy], used: Sequence[SheetCopy], rng: random.Random) -> list[SheetCopy]:
    """Sheets not in use that are worth trying: some offcut, and a full one of some kind."""
    unused = [sheet for sheet in sheets if sheet not in used]
    found: list[SheetCopy] = []
    for is_offcut in (True, False):
        kinds = sorted({sheet.sheet for sheet in unused if sheet.is_offcut == is_offcut})
        if kinds:
            kind = rng.choice(kinds)
            found.append(next(sheet for sheet in unused if sheet.sheet == kind))
    return found


def _in_order(sheets: Sequence[SheetCopy], rng: random.Random) -> list[SheetCopy]:
    """Offcuts first, then full sheets as they come; now and then the last of them, a spare, goes before the one ahead of it."""
    offcuts = [sheet for sheet in sheets if sheet.is_offcut]
    full = [sheet for sheet in sheets if not sheet.is_offcut]
    if len(full) > 1 and full[-1].area != full[-2].area and rng.random() < 0.5:
        full[-2:] = [full[-1], full[-2]]
    return [*offcuts, *full]


def _orders(sheets: Sequence[SheetCopy]) -> list[list[SheetCopy]]:
    """Orders in which to construct: larger full sheets first, and smaller ones first if they differ."""
    offcuts = [sheet for sheet in sheets if sheet.is_offcut]
    full = [sheet for sheet in sheets if not sheet.is_offcut]
    orders = [[*offcuts, *full]]
    if len({sheet.area for sheet in full}) > 1:
        orders.append([*offcuts, *sorted(full, key=lambda sheet: (sheet.area, sheet.sheet, sheet.copy))])
    return orders


def _tight(variants: Sequence[Variant]) -> list[Variant]:
    """The ways to lay a piece, those with the smallest box first."""
    return sorted(variants, key=lambda v: ((v.box[2] - v.box[0]) * (v.box[3] - v.box[1]), v.key))


def _first_ways(variants: Sequence[Variant]) -> tuple[Variant, ...]:
    """All ways, or half of MOST_WAYS with small boxes and as many spread evenly over the rest."""
    if len(variants) <= MOST_WAYS:
        return tuple(variants)
    half = MOST_WAYS // 2
    tight = _tight(variants)
    rest = sorted(tight[half:], key=lambda variant: variant.key)
    return (*tight[:half], *(rest[index * len(rest) // half] for index in range(half)))


def _some_ways(variants: Sequence[Variant], rng: random.Random) -> tuple[Variant, ...]:
    """All ways, or half of MOST_WAYS with small boxes and as many by chance."""
    if len(variants) <= MOST_WAYS:
        return tuple(variants)
    half = MOST_WAYS // 2
    tight = _tight(variants)
    return (*tight[:half], *rng.sample(tight[half:], half))
