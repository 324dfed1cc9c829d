"""What the manifest, the command line and the report tell of sheets: plain data, and the same in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.product.json_entries import plain, stock_name, stock_words
from panelwright.plates.geometry.motion import Motion

from .costs import Cost
from .plan import CutSheet, LaidPart, SheetPlan, StockUse

__all__ = ["cost_entry", "duration", "plan_words", "sheet_entry", "use_entries"]


def sheet_entry(sheet: CutSheet, digests: Mapping[str, str] | None = None) -> dict[str, Any]:
    """What the manifest says of a sheet; lengths in mm, times in s.

    Each part has the `place` of its panel's lower left corner as drawn from the show face, mirrored first if `is_mirrored`,
    then turned about that corner.  `files` has the checksums of those of its files that `digests` knows.
    """
    own = (f"sheets/{sheet.name}.", f"sheets/{sheet.name}-")
    files = {path: digest for path, digest in (digests or {}).items() if path.startswith(own)}
    time = sheet.time
    return {
        "copy": sheet.copy,
        "cut_mm": plain(sheet.cut_mm),
        "face_up": sheet.face_up,
        "files": files,
        "is_offcut": sheet.kind.sheet.is_offcut,
        "is_turned_over": sheet.kind.is_turned_over,
        "leftovers": [
            {"height_mm": plain(left.height), "width_mm": plain(left.width), "x_mm": plain(left.x), "y_mm": plain(left.y)}
            for left in sheet.leftovers
        ],
        "mark_mm": plain(sheet.mark_mm),
        "name": sheet.name,
        "parts": [_part_entry(part) for part in sheet.parts],
        "price": plain(sheet.kind.price),
        "shared_mm": plain(sheet.shared_mm),
        "sheet": sheet.kind.sheet.id,
        "size_mm": plain(sheet.size),
        "stock": stock_name(sheet.stock),
        "thickness_mm": plain(float(sheet.stock.t)),
        "time": None
        if time is None
        else {
            "cut_s": plain(time.cut_s),
            "mark_s": plain(time.mark_s),
            "missing": list(time.missing),
            "total_s": plain(time.total_s),
            "travel_s": plain(time.travel_s),
        },
        "travel_mm": plain(sheet.travel_mm),
        "utilisation": plain(sheet.utilisation),
    }


def _part_entry(part: LaidPart) -> dict[str, Any]:
    x, y, turn_deg = _place(part.motion)
    return {
        "copy": part.copy,
        "is_mirrored": part.motion.flips,
        "label": part.label,
        "panel": part.name,
        "turn_deg": plain(turn_deg),
        "x_mm": plain(x),
        "y_mm": plain(y),
    }


def _place(motion: Motion) -> tuple[float, float, float]:
    """Shift and turn of a motion, its mirror image, if it has one, taken first.

    >>> _place(Motion.turn(90).then(Motion.shift(5, 2)))
    (5.0, 2.0, 90.0)
    """
    sign = -1.0 if motion.flips else 1.0
    return motion.e, motion.f, round(math.degrees(math.atan2(sign * motion.c, sign * motion.a)), 9) % 360.0


def use_entries(plan: SheetPlan) -> list[dict[str, Any]]:
    """What the manifest says of all the sheets of each stock."""
    return [
        {
            "full_utilisation": plain(use.full_utilisation),
            "interrupted": use.interrupted,
            "is_reproducible": use.is_reproducible,
            "iterations": use.iterations,
            "least_sheets": use.least_sheets,
            "sheets": use.sheets,
            "stock": stock_name(use.stock),
            "thickness_mm": plain(float(use.stock.t)),
            "utilisation": plain(use.utilisation),
        }
        for use in plan.uses
    ]


def cost_entry(cost: Cost) -> dict[str, Any]:
    """What the manifest says of the costs; null where a price is not known, and `missing` says which."""
    return {
        "currency": cost.currency,
        "hardware": plain(cost.hardware),
        "machine": plain(cost.machine),
        "material_by_area": plain(cost.material),
        "missing": list(cost.missing),
        "sheets": plain(cost.sheets),
        "total": plain(cost.total),
    }


def duration(seconds: float) -> str:
    """A time in words, to the second.

    >>> duration(59.6), duration(403.2), duration(7384)
    ('1 min 00 s', '6 min 43 s', '2 h 03 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def plan_words(plan: SheetPlan, cost: Cost) -> list[str]:
    """The sheets in a table, what they cost, and what was left out."""
    if not plan.sheets and not plan.notes:
        return []
    rows: list[tuple[str, ...]] = []
    for sheet in plan.sheets:
        keep = ", ".join(f"{left.width:.0f} × {left.height:.0f}" for left in sheet.leftovers)
        rows.append(
            (
                sheet.name,
                stock_words(sheet.stock),
                sheet.kind.sheet.id,
                counted(len(sheet.parts), "part"),
                f"{100 * sheet.utilisation:.0f} % used",
                "" if sheet.time is None else duration(sheet.time.total_s),
                f"worth keeping: {keep}" if keep else "",
            )
        )
    lines = [*_columns(rows), *(_fill_words(use) for use in plan.uses)]
    backs = [sheet.name for sheet in plan.sheets if sheet.face_up == "back"]
    if backs:
        lie = "lie" if len(backs) > 1 else "lies"
        which = "all sheets" if 1 < len(backs) == len(plan.sheets) else ", ".join(backs)
        lines.append(f"{which} {lie} show face down: drawn mirrored, so that part marks are on the backs")
    lines += [
        f"{sheet.name}: turn this offcut over; outline_mm of {sheet.kind.sheet.id} is seen from the show face, which lies "
        "down here"
        for sheet in plan.sheets
        if sheet.kind.is_turned_over
    ]
    lines += [_use_words(plan, index) for index, use in enumerate(plan.uses) if use.interrupted or not use.is_reproducible]
    costs = _cost_words(cost)
    if plan.sheets and costs:
        lines.append(costs)
    if plan.sheets and cost.missing and cost.has_shop:
        lines.append(f"not known: {', '.join(cost.missing)}")
    return [*lines, *(f"note: {note}" for note in plan.notes)]


def _fill_words(use: StockUse) -> str:
    """How well the sheets of a stock are used, beside the least number that areas alone ask for."""
    sheets = counted(use.sheets, "sheet")
    full = f", {100 * use.full_utilisation:.0f} % of all but the emptiest" if use.sheets > 1 else ""
    return (
        f"{stock_words(use.stock)}: {sheets} where areas alone ask for {use.least_sheets}; "
        f"{100 * use.utilisation:.0f} % used{full}"
    )


def _use_words(plan: SheetPlan, index: int) -> str:
    use = plan.uses[index]
    why = "stopped from the keyboard" if use.interrupted else "ended by the clock"
    return f"{stock_name(use.stock)}: {why} after {counted(use.iterations, 'attempt')}; another run may give another layout"


def _cost_words(cost: Cost) -> str:
    unit = f" {cost.currency}" if cost.currency else ""
    amounts = [
        f"{what} {value:.2f}"
        for what, value in (("sheets", cost.sheets), ("machine", cost.machine), ("hardware", cost.hardware))
        if value
    ]
    if not amounts:
        return ""
    total = "" if cost.total is None else f" = {cost.total:.2f}{unit}"
    return f"cost: {' + '.join(amounts)}{total or unit}"


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max((len(row[k]) for row in rows), default=0) for k in range(len(rows[0]))] if rows else []
    return [("  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))).rstrip() for row in rows]
