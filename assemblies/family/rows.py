"""What is known of one variant once it is made: one row of the family, as plain data that a line of JSON can carry."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from dataclasses import dataclass, field
from typing import Any, Literal

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.product.json_entries import plain, stock_name
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Segment, Spline

__all__ = ["PanelShape", "Row", "Verdict", "loops_of", "shape_of"]

Verdict = Literal["fine", "warnings", "errors", "failed"]
"""How a variant came out: nothing found, or notes only; warnings; errors, so that nothing is cut of it; no proof at all."""

DIGITS = 6
"""Decimals of coordinates in mm that are kept: a nanometre, far below what tells two panels apart."""


@dataclass(frozen=True, slots=True)
class PanelShape:
    """One distinct panel of a variant: enough to find the same panel in other variants.

    `stock_id` tells stocks apart by all their numbers.  `exact` is a digest of marks, strokes and bends, "" without any; panels
    that have some are the same only as they lie.  `segments` are the loops, see `loops_of`.
    """

    name: str
    stock: str
    stock_id: str
    thickness_mm: float
    quantity: int
    size_mm: tuple[float, float]
    area_mm2: float
    may_flip: bool
    has_grain: bool
    exact: str
    segments: list[list[list[Any]]]


@dataclass(frozen=True, slots=True)
class Row:
    """One variant as it came out.

    - `settings`: what was set, as `--set` takes it; `parameters`: all values that the design ran with.
    - `error`: why it failed; `is_lasting`: whether the same inputs would fail again, which a limit of time need not.
    - `levels`, `codes`: findings by level and by code; `plates`, `panels`, `mass_kg`, `hardware`: the product.
    - `sheets`, `use`, `cut_s`, `cost`, `currency`: of its sheets, None where they are not laid out or something is not known.
    - `parts`: identity of what is to be cut; `manifest`, `picture`: SHA-256 of these files, "" where there is none.
    - `inputs`: the files that it was made of, each with its SHA-256; `run`: what else it depends on.
    """

    name: str
    settings: tuple[str, ...]
    parameters: dict[str, Any]
    verdict: Verdict = "failed"
    error: str = ""
    is_lasting: bool = True
    product: str = ""
    levels: dict[str, int] = field(default_factory=dict)
    codes: dict[str, int] = field(default_factory=dict)
    plates: int | None = None
    panels: tuple[PanelShape, ...] = ()
    mass_kg: float | None = None
    hardware: int | None = None
    sheets: int | None = None
    use: float | None = None
    cut_s: float | None = None
    cost: float | None = None
    currency: str = ""
    parts: str = ""
    manifest: str = ""
    picture: str = ""
    inputs: tuple[tuple[str, str], ...] = ()
    run: str = ""

    def line(self) -> str:
        """The row as one line of JSON."""
        return json.dumps(dataclasses.asdict(self), ensure_ascii=True, sort_keys=True, separators=(",", ":")) + "\n"

    @classmethod
    def of_line(cls, line: str | bytes) -> Row:
        """The row that `line` gave.  Raises `ValueError` or `TypeError` for anything else."""
        data = json.loads(line)
        for panel in data["panels"]:
            panel["size_mm"] = tuple(panel["size_mm"])
        data["panels"] = tuple(PanelShape(**panel) for panel in data["panels"])
        data["settings"] = tuple(data["settings"])
        data["inputs"] = tuple((path, digest) for path, digest in data["inputs"])
        return cls(**data)


def shape_of(panel: Panel) -> PanelShape:
    """What is kept of a panel."""
    stock = panel.stock
    special = [list(map(_numbers, chain)) for chain in (*panel.marks, *panel.strokes)]
    special += [list(map(_numbers, loop)) for loop in panel.bends]
    return PanelShape(
        name=panel.name,
        stock=stock_name(stock),
        stock_id=_digest(dataclasses.astuple(stock)),
        thickness_mm=plain(float(stock.t)),
        quantity=panel.quantity,
        size_mm=(round(panel.bbox_mm[0], DIGITS), round(panel.bbox_mm[1], DIGITS)),
        area_mm2=round(panel.area_mm2, DIGITS),
        may_flip=stock.both_faces_good,
        has_grain=stock.grain is not None,
        exact=_digest(special) if special else "",
        segments=[list(map(_numbers, loop)) for loop in panel.loops],
    )


def loops_of(segments: list[list[list[Any]]]) -> tuple[Loop, ...]:
    """Loops from what is kept of them: coordinates of a line (4 numbers), of an arc (7), or a kind and its numbers."""
    return tuple(Loop(tuple(map(_segment, ring))) for ring in segments)


def _numbers(segment: Segment) -> list[Any]:
    if isinstance(segment, Line):
        found: list[Any] = [*segment.start, *segment.end]
    elif isinstance(segment, Arc):
        found = [*segment.start, *segment.end, *segment.center, segment.sweep]
    elif isinstance(segment, EllipseArc):
        found = ["ellipse", segment.center, segment.major, segment.ratio, segment.first, segment.last]
    else:
        found = ["spline", segment.degree, segment.poles, segment.knots, segment.weights]
    return list(plain(found, DIGITS))


def _segment(numbers: list[Any]) -> Segment:
    if numbers[0] == "ellipse":
        _, center, major, ratio, first, last = numbers
        return EllipseArc((center[0], center[1]), (major[0], major[1]), ratio, first, last)
    if numbers[0] == "spline":
        _, degree, poles, knots, weights = numbers
        return Spline(degree, tuple((x, y) for x, y in poles), tuple(knots), None if weights is None else tuple(weights))
    start, end = (numbers[0], numbers[1]), (numbers[2], numbers[3])
    return Line(start, end) if len(numbers) == 4 else Arc(start, end, (numbers[4], numbers[5]), numbers[6])


def _digest(value: object) -> str:
    return hashlib.sha256(repr(value).encode("utf-8", "backslashreplace")).hexdigest()[:16]
