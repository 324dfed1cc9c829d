"""Sheets, runs and products by chance, all at once: arrays with a column for each draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plates.tolerances import ROUNDING

from .fit_chains import Bounds, chains_of, least_play
from .openings import Alike, Counted
from .spreads import Spread

if TYPE_CHECKING:
    import numpy as np

__all__ = ["Plays", "drawn_sheets", "plays_of"]

AT_ONCE = 1000
"""Draws worked on at once where every opening scatters by itself: enough for arrays to pay, few enough for the memory."""


@dataclass(frozen=True, slots=True)
class Plays:
    """What the draws came to, in mm.

    `tightest` holds for each sort of opening (`Counted.alike`) the play of the tightest row of it; `margin` by how much the
    tightest chain of a product is looser than what jams, `slack` by how much its loosest row is looser than what rattles.
    """

    tightest: Mapping[Alike, np.ndarray]
    margin: np.ndarray
    slack: np.ndarray

    def jams(self, added: float = 0.0) -> float:
        """Share of products in which something jams, with so many mm added to every clearance."""
        return float((self.margin + added < -ROUNDING).mean())

    def rattles(self, added: float = 0.0) -> float:
        """Share of products in which something rattles, with so many mm added to every clearance."""
        return float((self.slack + added >= -ROUNDING).mean())

    def clearance_to_add(self, share: float) -> float:
        """What to add to every clearance, mm, for no more than this share to jam."""
        return -_quantile(self.margin, share)

    def clearance_to_take(self, share: float) -> float:
        """What to add to every clearance, mm and below 0, for no more than this share to rattle."""
        return -_quantile(self.slack, 1.0 - share)


def drawn_sheets(spreads: Sequence[Spread], draws: int, seed: int) -> np.ndarray:
    """A row for each spread and a column for each draw: by how much the number is off, in mm, by Latin hypercube.

    Each row holds one value of each of as many equally likely ranges as there are draws, in an order of its own.

    >>> from panelwright.plates import Stock
    >>> even = Spread("thickness", Stock("birch plywood", 4), -0.4, 0.4, True, False, "as sold")
    >>> sorted(drawn_sheets([even], 4, 1)[0].round(6).tolist())
    [-0.3, -0.1, 0.1, 0.3]
    """
    import numpy as np

    rows = [np.zeros(draws)]
    middles = [(i + 0.5) / draws for i in range(draws)]
    for number, spread in enumerate(spreads):
        chance = np.random.Generator(np.random.PCG64([seed, number]))
        rows.append(chance.permutation(np.array(spread.quantiles(middles))))
    return np.stack(rows)[1:]


def plays_of(openings: Sequence[Counted], sheets: np.ndarray, seed: int) -> Plays:
    """What becomes of every opening, row and chain over the sheets drawn."""
    import numpy as np

    draws = sheets.shape[1]
    if not any(opening.own or opening.off_place for opening in openings):
        # nothing scatters by itself: what is alike comes out alike, and the tightest opening is the tightest chain
        firsts = {opening.alike: opening for opening in reversed(openings)}
        tightest = {alike: _gaps([opening], sheets)[0] for alike, opening in firsts.items()}
        margin = np.min([tightest[alike] - opening.limits.press for alike, opening in firsts.items()], axis=0)
        return Plays(tightest, margin, _slack(tightest, firsts))
    rows = _rows_of(openings)
    chains = _chains(openings, range(len(openings)))
    press = np.array([opening.limits.press for opening in openings])[:, None]
    own = np.array([opening.own for opening in openings])[:, None]
    off = np.array([opening.off_place for opening in openings])[:, None]
    parts: dict[Alike, list[np.ndarray]] = {}
    margins: list[np.ndarray] = []
    for number, start in enumerate(range(0, draws, AT_ONCE)):
        some = sheets[:, start : start + AT_ONCE]
        chance = np.random.Generator(np.random.PCG64([seed, number, 1]))
        size = (len(openings), some.shape[1])
        gaps = _gaps(openings, some) + own * chance.standard_normal(size)
        shifts = off * chance.standard_normal(size)
        for alike, bounds in rows.items():
            plays = [least_play(row, gaps[list(row.openings)], shifts[list(row.openings)]) for row in bounds]
            parts.setdefault(alike, []).append(np.min(plays, axis=0))
        spare = gaps - press
        margins.append(np.min([least_play(c, spare[list(c.openings)], shifts[list(c.openings)]) for c in chains], axis=0))
    tightest = {alike: np.concatenate(found) for alike, found in parts.items()}
    return Plays(tightest, np.concatenate(margins), _slack(tightest, {o.alike: o for o in openings}))


def _gaps(openings: Sequence[Counted], sheets: np.ndarray) -> np.ndarray:
    import numpy as np

    planned = np.array([opening.gap.clearance_mm for opening in openings])[:, None]
    growth = np.array([opening.growth for opening in openings])
    gaps: np.ndarray = planned + growth @ sheets
    return gaps


def _slack(tightest: Mapping[Alike, np.ndarray], firsts: Mapping[Alike, Counted]) -> np.ndarray:
    import numpy as np

    slack: np.ndarray = np.max([plays - firsts[alike].limits.loose for alike, plays in tightest.items()], axis=0)
    return slack


def _rows_of(openings: Sequence[Counted]) -> dict[Alike, list[Bounds]]:
    """For each sort of opening its rows: those of one joint that are measured along one line."""
    rows: dict[Alike, list[Bounds]] = {}
    members: dict[tuple[int, Alike], list[int]] = {}
    for number, opening in enumerate(openings):
        members.setdefault((opening.joint, opening.alike), []).append(number)
    for (_, alike), numbers in members.items():
        for row in _chains(openings, numbers):
            named = Bounds(tuple(numbers[i] for i in row.openings), row.pairs, row.turned, row.plates)
            rows.setdefault(alike, []).append(named)
    return rows


def _chains(openings: Sequence[Counted], numbers: Sequence[int]) -> list[Bounds]:
    """The chains of some openings; each bought part is one of its own."""
    some = [(number, openings[number].gap) for number in numbers]
    return chains_of([(gap.opening, gap.insert or f"bought {number}", gap.way) for number, gap in some])


def _quantile(values: np.ndarray, share: float) -> float:
    import numpy as np

    return float(np.quantile(values, share, method="lower"))
