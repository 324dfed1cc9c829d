"""Fits over real sheet in words, as a table and as plain data."""

from __future__ import annotations

from operator import attrgetter
from typing import Any, Literal

from panelwright.assemblies.data.findings import Finding

from .fit_over_sheet import SELDOM, FitOverSheet, FitRow
from .limits import FEELS

__all__ = ["fit_findings", "fit_table", "fit_words", "fits_entry"]


def fit_words(found: FitOverSheet) -> tuple[list[str], list[str]]:
    """What is told before the table of rows, and after it."""
    before = [f"fits over {found.draws:,} sheets and runs by chance (seed {found.seed}):"]
    causes = [(scatter.weight, f"  {scatter.what}") for scatter in found.scatter]
    for spread, weight in zip(found.spreads, found.weights, strict=True):
        how = "evenly from" if spread.is_even else "95 in 100 from"
        causes.append((weight, f"  {spread.name}: {how} {spread.low:+.3f} to {spread.high:+.3f} mm ({spread.why})"))
    for weight, cause in sorted(causes, key=lambda cause: -cause[0]):
        before.append(cause + (f"; makes {weight:.0%} of what the tightest fit varies by" if weight >= SELDOM else ""))
    after: list[str] = []
    if found.jams is not None and found.rattles is not None:
        after.append(f"of 100 products {_of_hundred(found.jams)} jam somewhere, {_of_hundred(found.rattles)} rattle somewhere")
    else:
        after.append("nothing can be said of jams: see what is not counted")
    if found.remedies:
        after.append("what helps, most first:")
        for remedy in found.remedies:
            after.append(f"  {remedy.what}: {_of_hundred(remedy.jams)} jam, {_of_hundred(remedy.rattles)} rattle")
    return before, [*after, "not counted: " + "; ".join(found.not_counted)]


def fit_table(found: FitOverSheet) -> list[tuple[str, ...]]:
    """The rows of openings as a table with a head: what the limits make in mm, and how many of 100 come out how."""
    rows = [("joint", "of", "hangs on", "clearance", "at the limits", *(f"{feel} %" for feel in FEELS))]
    for row in found.rows:
        worst = f"{row.tightest_mm:+.2f} to {row.loosest_mm:+.2f}"
        shares = (_of_hundred(row.shares[feel]) for feel in FEELS)
        rows.append((_named(row), " + ".join(row.stocks), row.hangs_on, f"{row.clearance_mm:.2f}", worst, *shares))
    return rows


def fit_findings(found: FitOverSheet) -> list[Finding]:
    """Warnings `MAY-JAM` and `MAY-RATTLE` where more than one product in a hundred does.

    The message names the worst row and what helps most.
    """
    findings: list[Finding] = []
    if found.jams is not None and found.jams > SELDOM:
        text, plates, numbers = _worst(found, "jams", "jam", found.jams)
        findings.append(Finding("warning", "MAY-JAM", plates, text, numbers=numbers))
    if found.rattles is not None and found.rattles > SELDOM:
        text, plates, numbers = _worst(found, "rattles", "rattle", found.rattles)
        findings.append(Finding("warning", "MAY-RATTLE", plates, text, numbers=numbers))
    return findings


def _worst(
    found: FitOverSheet, feel: Literal["jams", "rattles"], word: str, share: float
) -> tuple[str, tuple[str, ...], dict[str, float]]:
    """The message, plates and numbers of a finding: the row in which it happens most often, and what helps most."""
    row = max(found.rows, key=lambda row: row.shares[feel])
    helps = min(found.remedies, key=attrgetter(feel), default=None)
    advice = "" if helps is None else f"; {helps.what}: then {_of_hundred(getattr(helps, feel))}"
    worst = f"{row.tightest_mm:+.2f} to {row.loosest_mm:+.2f} mm at the limits, where {row.clearance_mm:.2f} mm is planned"
    text = f"of 100 products {_of_hundred(share)} {word}, most of all {_named(row)}: {worst}{advice}"
    numbers = {"share": share, "tightest_mm": row.tightest_mm, "loosest_mm": row.loosest_mm}
    return text, tuple(dict.fromkeys(row.plates)), numbers


def fits_entry(found: FitOverSheet) -> dict[str, Any]:
    """The same as plain data, for JSON."""
    return {
        "draws": found.draws,
        "jams": found.jams,
        "not_counted": list(found.not_counted),
        "rattles": found.rattles,
        "remedies": [{"jams": remedy.jams, "rattles": remedy.rattles, "what": remedy.what} for remedy in found.remedies],
        "rows": [
            {
                "clearance_mm": round(row.clearance_mm, 6),
                "hangs_on": row.hangs_on,
                "kind": row.kind,
                "loosest_mm": round(row.loosest_mm, 6),
                "openings": row.openings,
                "plates": list(row.plates),
                "shares": dict(row.shares),
                "stocks": list(row.stocks),
                "tightest_mm": round(row.tightest_mm, 6),
            }
            for row in found.rows
        ],
        "scatter": [{"weight": round(scatter.weight, 6), "what": scatter.what} for scatter in found.scatter],
        "seed": found.seed,
        "spreads": [
            {
                "high_mm": round(spread.high, 6),
                "is_even": spread.is_even,
                "is_measured": spread.is_measured,
                "low_mm": round(spread.low, 6),
                "of": spread.of,
                "stock": spread.stock.name or spread.stock.material,
                "weight": round(weight, 6),
                "why": spread.why,
            }
            for spread, weight in zip(found.spreads, found.weights, strict=True)
        ],
    }


def _named(row: FitRow) -> str:
    into, opening = row.plates
    pair = f"{into!r} in {opening!r}" if into != opening else f"in {opening!r}"
    return f"{row.kind} {pair}" + (f" and {row.openings - 1} more" if row.openings > 1 else "")


def _of_hundred(share: float) -> str:
    """How many of a hundred; what is seen, but seldom, is not told as none.

    >>> _of_hundred(0.314), _of_hundred(0.004), _of_hundred(0.0), _of_hundred(0.9996)
    ('31', '<1', '0', '>99')
    """
    if 0 < share < SELDOM:
        return "<1"
    return ">99" if 1 - SELDOM < share < 1 else f"{100 * share:.0f}"
