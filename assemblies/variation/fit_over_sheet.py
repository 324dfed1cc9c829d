"""Every opening of a product over the sheets and cuts that may come: the worst case, and shares of a seeded Monte Carlo.

Thickness and kerf of a stock are drawn once for a product: one sheet has one thickness, one run one kerf.  They are drawn
by Latin hypercube (McKay, Beckman and Conover 1979), so that 10,000 draws tell a share to well within a part in a hundred.
What the kerf differs by from place to place and where the machine puts each feature is drawn for each opening by itself, and
then rows of openings, and rings of plates, are tighter than any one of them: see `fit_chains`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.assemblies.data.name_lists import listed
from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.plates._validate import whole
from panelwright.plates.tolerances import COUNT_TIE, ROUNDING

from .fit_draws import Plays, drawn_sheets, plays_of
from .openings import Alike, Counted, HangsOn, counted_openings
from .spreads import STATED, WITHIN, Spread, Unknown, measured_instead, spreads_of

if TYPE_CHECKING:
    import numpy as np
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["DRAWS", "SELDOM", "FitOverSheet", "FitRow", "Remedy", "Scatter", "fit_over_sheet"]

DRAWS = 10_000
"""How many sheets and runs are drawn."""

FEWEST, MOST_DRAWS = 100, 100_000
"""Fewer draws tell no share, more only fill the memory."""

SELDOM = 0.01
"""Share of products that may jam, or rattle, before it is told: one in a hundred."""

_HOW = {"thickness": "measure the", "kerf": "cut a coupon for the"}

MOST_NAMED = 6
"""So many loose things are told by name."""

STEP = 0.01
"""Steps in mm of a clearance that is proposed."""


@dataclass(frozen=True, slots=True)
class FitRow:
    """Openings alike: of one kind of joint, in sheets of the same stocks, planned with one clearance.

    `hangs_on` is what goes in: a sheet's "thickness", a "cut" piece or a "bought" part.  `plates` names the pair of the first
    of them.  `tightest_mm` and `loosest_mm` are what the spreads' limits make together, of rows too; `shares` how often the
    tightest of them jams, presses, holds snugly, slides or rattles.
    """

    kind: str
    stocks: tuple[str, ...]
    hangs_on: HangsOn
    plates: tuple[str, str]
    openings: int
    clearance_mm: float
    tightest_mm: float
    loosest_mm: float
    shares: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something that helps, and the shares of products that then still jam and rattle."""

    what: str
    jams: float
    rattles: float


@dataclass(frozen=True, slots=True)
class Scatter:
    """What each opening has by itself: in words, and its share of what an opening of the tightest row varies by."""

    what: str
    weight: float


@dataclass(frozen=True, slots=True)
class FitOverSheet:
    """What becomes of a product's fits: the spreads that were drawn, rows of openings, and whole products.

    `jams` is the share of products in which something jams, `rattles` of those in which something rattles; None where nothing
    could be drawn.  `weights` tell for each spread which share it makes of what an opening of the tightest row varies by,
    `scatter` what each opening has by itself, with its share.  `remedies` are sorted, what helps most first.  `not_counted`
    says in words what the shares leave out.
    """

    draws: int
    seed: int
    spreads: tuple[Spread, ...]
    weights: tuple[float, ...]
    scatter: tuple[Scatter, ...]
    rows: tuple[FitRow, ...]
    jams: float | None
    rattles: float | None
    remedies: tuple[Remedy, ...]
    not_counted: tuple[str, ...]


def fit_over_sheet(product: Product, shop: Shop | None = None, *, draws: int = DRAWS, seed: int = 1) -> FitOverSheet:
    """The fits of a proven product over the spreads of its stocks; the same numbers for the same seed.

    - `shop`: whose readings tell how well thickness and kerf are known, and whose machine may state `position_error_mm`.
    - `draws`: how many products are drawn, 100 to 100,000.

    Raises `SizeError` for other numbers of draws and for a seed below 0.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import join, tabs
    >>> from panelwright.plates import Stock, rectangle, standing
    >>> a = Assembly("stand", stock=Stock("birch plywood", 4, kerf=0.2, clearance=0.05, tolerance=(-0.5, 0.3)))
    >>> base = a.add("base", rectangle(100, 60))
    >>> wall = a.add("wall", rectangle(80, 40), standing(base.show, facing="-Y", inset=20))
    >>> join(wall.face("<Z"), base.show, tabs(count=2))
    >>> found = fit_over_sheet(a.product())
    >>> [(row.hangs_on, round(row.tightest_mm, 3), round(row.loosest_mm, 3)) for row in found.rows]
    [('thickness', -0.3, 0.6), ('cut', -0.05, 0.15)]
    >>> 0.2 < found.jams < 0.3  # by hand: over 0.1 mm too thick, less what the kerf gives
    True
    >>> found.remedies[0].what, found.remedies[0].jams < 0.05
    ("measure the thickness of 'birch plywood' (±0.05 mm)", True)
    """
    draws = whole(draws, "number of draws", least=FEWEST, most=MOST_DRAWS)
    seed = whole(seed, "seed", least=0)
    known = spreads_of((part.stock for part in product.parts), shop)
    spreads = tuple(spread for spread in known if isinstance(spread, Spread))
    openings, left_out = counted_openings(product, known, shop)
    said = _not_counted(known, left_out, shop, product.loose_things)
    if not openings:
        return FitOverSheet(draws, seed, spreads, (0.0,) * len(spreads), (), (), None, None, (), said)
    sheets = drawn_sheets(spreads, draws, seed)
    plays = plays_of(openings, sheets, seed)
    tightest = min(openings, key=lambda opening: float(plays.tightest[opening.alike].min()) - opening.limits.press)
    weights, scatter = _weights(tightest, spreads, shop)
    return FitOverSheet(
        draws,
        seed,
        spreads,
        weights,
        scatter,
        _rows(openings, spreads, plays),
        plays.jams(),
        plays.rattles(),
        _remedies(product.joints, openings, spreads, sheets, plays, seed),
        said,
    )


def _rows(openings: Sequence[Counted], spreads: Sequence[Spread], plays: Plays) -> tuple[FitRow, ...]:
    groups: dict[Alike, list[Counted]] = {}
    for opening in openings:
        groups.setdefault(opening.alike, []).append(opening)
    found: list[FitRow] = []
    for alike, members in groups.items():
        first = members[0]
        low = high = first.gap.clearance_mm
        for growth, spread in zip(first.growth, spreads, strict=True):
            ends = (growth * spread.low, growth * spread.high)
            low, high = low + min(ends), high + max(ends)
        own = WITHIN * first.own
        in_rows = max(Counter(member.joint for member in members).values()) > 1
        pushed = 2 * WITHIN * first.off_place if in_rows else 0.0  # two of a row off their places, away from each other
        stocks = tuple(dict.fromkeys(stock.name or stock.material for stock in first.stocks))
        pair = (first.gap.insert or first.gap.opening, first.gap.opening)
        shares = first.limits.shares(plays.tightest[alike])
        planned = first.gap.clearance_mm
        worst = (low - own - pushed, high + own)
        found.append(FitRow(first.kind, stocks, first.hangs_on, pair, len(members), planned, *worst, shares))
    return tuple(sorted(found, key=lambda row: (-row.shares["jams"], -row.shares["rattles"], row.kind, row.plates)))


def _weights(opening: Counted, spreads: Sequence[Spread], shop: Shop | None) -> tuple[tuple[float, ...], tuple[Scatter, ...]]:
    """Which share of the variance of an opening's size and place each spread makes, and what it scatters by itself."""
    parts = [growth * growth * spread.variance for growth, spread in zip(opening.growth, spreads, strict=True)]
    total = math.fsum([*parts, opening.own**2, opening.off_place**2]) or 1.0
    found: list[Scatter] = []
    if opening.own:
        found.append(
            Scatter(f"kerf from place to place: ±{WITHIN * opening.own:.3f} mm of an opening's size", opening.own**2 / total)
        )
    if opening.off_place and shop is not None:
        off = f"where the machine puts each cut: ±{shop.machine.position_error_mm:.3f} mm"
        found.append(Scatter(off, opening.off_place**2 / total))
    return tuple(part / total for part in parts), tuple(found)


def _remedies(
    joints: Sequence[JointRecord],
    openings: Sequence[Counted],
    spreads: Sequence[Spread],
    sheets: np.ndarray,
    plays: Plays,
    seed: int,
) -> tuple[Remedy, ...]:
    """What makes jams, or where nothing jams, rattling seldom: first what helps most."""
    jams, rattles = plays.jams(), plays.rattles()
    if jams <= SELDOM and rattles <= SELDOM:
        return ()
    found: list[Remedy] = []
    unsure = [spread for spread in spreads if not spread.is_measured or spread.high - spread.low > 2 * STATED + ROUNDING]
    tries = [([spread], f"{_HOW[spread.of]} {spread.name} (±{STATED:g} mm)") for spread in unsure]
    if len(unsure) > 1:
        tries.append((unsure, f"measure all of {', '.join(spread.name for spread in unsure)} (±{STATED:g} mm each)"))
    for measured, what in tries:
        known = [measured_instead(spread) if spread in measured else spread for spread in spreads]
        then = plays_of(openings, drawn_sheets(known, sheets.shape[1], seed), seed)
        found.append(Remedy(what, then.jams(), then.rattles()))
    more = plays.clearance_to_add(SELDOM) if jams > SELDOM else plays.clearance_to_take(SELDOM)
    steps = math.ceil(abs(more) / STEP - COUNT_TIE)
    if steps:
        added = math.copysign(steps * STEP, more)
        word = "more" if added > 0 else "less"
        what = f"{abs(added):.2f} mm {word} clearance in every joint ({_where_said(joints, openings, added)})"
        found.append(Remedy(what, plays.jams(added), plays.rattles(added)))
    helping = [remedy for remedy in found if remedy.jams + remedy.rattles < jams + rattles - ROUNDING]
    return tuple(sorted(helping, key=lambda remedy: (remedy.jams + remedy.rattles, remedy.what)))


def _where_said(joints: Sequence[JointRecord], openings: Sequence[Counted], added: float) -> str:
    """Which parameter to write, with its value: an assembly's clearance stands over a stock's, a joint's over both."""
    said: list[str] = []
    for number in sorted({opening.joint for opening in openings}):
        joint = joints[number]
        mm = f"{joint.clearance_mm + added:.2f}"
        value = f"clearance={mm}"
        named = next((stock.name for one in openings if one.joint == number for stock in one.stocks if stock.name), "")
        if joint.clearance_of == "joint":
            said.append(f"{joint.kind}(…, {value})")
        elif joint.clearance_of == "stock" and named:
            said.append(f'Assembly(…, {value}), or snug_mm = {mm} of "{named}" in the shop file')
        else:
            said.append(f"Assembly(…, {value})")
    return "; ".join(dict.fromkeys(said))


def _not_counted(known: Sequence[Spread | Unknown], left_out: int, shop: Shop | None, loose: Sequence[str]) -> tuple[str, ...]:
    """In words, what the shares leave out."""
    said = [f"{unknown.name}: {unknown.why}" for unknown in known if isinstance(unknown, Unknown)]
    if left_out:
        said.append(f"{left_out} opening{'' if left_out == 1 else 's'} that hang on that")
    if shop is None or shop.machine.position_error_mm is None:
        said.append("where the machine puts each cut: the shop file states no position_error_mm under [machine]")
    if loose:
        said.append(f"how what is loose fits into its room: {listed(loose, limit=MOST_NAMED, is_quoted=True)}")
    return (*said, "how edges seat on faces, plates that are warped, and what moisture does")
