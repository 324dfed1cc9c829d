"""The coupon: a test piece from which a stock's kerf and fits are read.

All paths are drawn at the sizes that they are marked with, without kerf: what the beam takes away is what is to be found out.

- *Strips*: `STRIPS` windows of `STRIP_WIDTH` mm.  What falls out of each is one kerf narrower than drawn, so that all side by
  side are `STRIPS` kerfs short: the error of the caliper is shared between them.
- *Slots*: a comb of windows, `STEP` mm apart round the measured thickness, each marked with its drawn width.  The end of a
  strip is put through them.  The opening is drawn width plus kerf, so the clearance tried is drawn width + kerf − thickness.
- *Tabs*: a row of tabs, `STEP` mm apart, and a loose *gauge* with one window `GAUGE` mm long that is put over them.
  Clearance along the joint: `GAUGE` − drawn width + 2 kerfs.
- *Ladder*: patches on layers of their own, one for each speed, to find the speed at which marks look right.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from panelwright.plates._validate import positive
from panelwright.plates.errors import ShopError
from panelwright.plates.geometry.curves import Line, Loop, Motion, Point
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.shapes import rectangle, rounded_rectangle
from panelwright.plates.outlines.stroke_font import lettering, lettering_width

__all__ = ["GAUGE", "LOOK_FOR", "STEP", "STRIPS", "STRIP_WIDTH", "UNKNOWN_KERF", "Chain", "Coupon", "coupon_of"]

STRIPS = 10
STRIP_WIDTH = 8.0
"""How many strips, and how wide each is drawn, mm: together they lie well within a caliper's jaws."""

STEP = 0.05
"""From one slot or tab of the comb to the next, mm: about what two neighbouring fits differ by in the hand."""

GAUGE = 6.0
"""Drawn length of the gauge's window, mm."""

LOOK_FOR = (-0.25, 0.40)
"""Clearances in mm that the comb of slots covers if the kerf is as expected: press to sliding, and what the kerf may be off."""

LOOK_FOR_ALONG = (-0.15, 0.30)
"""The same for the row of tabs."""

UNKNOWN_KERF = 0.2
"""Kerf in mm to draw round where nobody knows it: the middle of the published ones, 0.15 to 0.25 (kerf_co2.csv)."""

SPEEDS = (50.0, 100.0, 150.0, 200.0, 300.0)
"""Marking speeds in mm/s to try where nobody knows one: common practice, no source."""

SMALL, LARGE = 2.4, 3.0
"""Height of labels and of headings, mm."""

MOST_SPEEDS = 8
WIDTH = 200.0
"""How wide the comb's plate may be, mm, where the bed takes it."""

APART = 4.0
"""Distance of the gauge from the comb's plate, mm."""

GAUGE_WALL = 5.0
BORDER = 6.0
SLOT_LENGTH = 10.0
STRIP_LENGTH = 30.0
TAB_REACH = 8.0
PATCH = (14.0, 5.0)
HATCH = 0.5

Chain = tuple[Line, ...]


@dataclass(frozen=True)
class Coupon:
    """A coupon as drawn: what is on it, and its paths.

    `slots` and `tabs` are drawn widths in mm, `speeds` in mm/s; `loops` are the beam's paths, `marks` the lettering, and
    `ladder` the patches by the name of their layer.
    """

    stock: Stock
    thickness: float
    slots: tuple[float, ...]
    tabs: tuple[float, ...]
    speeds: tuple[float, ...]
    loops: tuple[Loop, ...]
    marks: tuple[Chain, ...]
    ladder: Mapping[str, tuple[Chain, ...]]
    size: tuple[float, float] = field(default=(0.0, 0.0))

    def files(self, name: str) -> dict[str, bytes]:
        """The coupon's files by name: DXF, SVG and PDF."""
        from panelwright.assemblies.files.dxf import flat_dxf
        from panelwright.assemblies.files.pdf import flat_pdf
        from panelwright.assemblies.files.svg import flat_svg

        title = f"coupon for {self.stock.name or self.stock.material}"
        return {
            f"{name}.dxf": flat_dxf(self.loops, self.marks, more_marks=self.ladder),
            f"{name}.svg": flat_svg(title, self.loops, self.marks, more_marks=self.ladder),
            f"{name}.pdf": flat_pdf(title, self.loops, self.marks, more_marks=self.ladder),
        }


def coupon_of(
    stock: Stock,
    *,
    thickness: float | None = None,
    speeds: Sequence[float] | None = None,
    bed: tuple[float, float] | None = None,
) -> Coupon:
    """The coupon for a stock.

    `thickness` in mm is what the caliper says, by default the stock's measured one; `speeds` in mm/s are those of the ladder
    (by default `SPEEDS`); `bed` in mm is what the coupon has to lie on.

    Raises `ShopError` without a measured thickness, for a stock that a router cuts, and if the coupon is too large for the bed.

    >>> coupon = coupon_of(Stock("birch plywood", 4, measured=3.9, kerf=0.2))
    >>> coupon.slots[0], coupon.slots[-1], len(coupon.slots)
    (3.45, 4.1, 14)
    """
    of = repr(stock.name or stock.material)
    t = stock.measured if thickness is None else thickness
    if t is None:
        raise ShopError(
            f"stock {of} is not measured, and a comb round its nominal {stock.thickness:g} mm may miss the sheet; measure it "
            "with a caliper at several places first, and give the readings: --thickness 3.92 3.95 …",
            value=None,
        )
    if stock.cutter == "router":
        raise ShopError(
            f"stock {of} is cut by a router, whose tool is wider than the coupon's webs; measure the tool's cut instead and "
            "state it as kerf_mm",
            value=stock.cutter,
        )
    kerf = stock.kerf if stock.kerf > 0 or stock.cutter == "knife" else UNKNOWN_KERF
    slots = _steps(t - kerf + LOOK_FOR[0], t - kerf + LOOK_FOR[1])
    tabs = _steps(GAUGE + 2 * kerf - LOOK_FOR_ALONG[1], GAUGE + 2 * kerf - LOOK_FOR_ALONG[0])
    if slots[0] < 2 * STEP:
        raise ShopError(
            f"stock {of} is {t:g} mm thick and its kerf {kerf:g} mm: slots of {slots[0]:.2f} mm cannot be drawn; "
            "state the kerf, or use a finer beam",
            value=slots[0],
            limit=2 * STEP,
        )
    chosen = _ladder_speeds(SPEEDS if speeds is None else speeds)
    drawing = _Drawing(t, WIDTH if bed is None else min(WIDTH, max(bed) - _gauge_size(t)[0] - APART))
    drawing.add_tabs(tabs)
    drawing.add_slots(slots)
    drawing.add_strips()
    drawing.add_ladder(chosen)
    loops, motion = drawing.loops()
    boxes = [loop.bounds for loop in loops]
    size = (max(box[2] for box in boxes), max(box[3] for box in boxes))
    if bed is not None and (max(size) > max(bed) or min(size) > min(bed)):
        raise ShopError(
            f"the coupon for {of} takes {size[0]:.0f} × {size[1]:.0f} mm, more than the bed of {bed[0]:g} × {bed[1]:g} mm; "
            "cut it on a larger machine",
            value=size,
            limit=bed,
        )
    ladder = {layer: (_moved(chain, motion),) for layer, chain in drawing.ladder.items()}
    marks = tuple(_moved(chain, motion) for chain in drawing.marks)
    return Coupon(stock, t, slots, tabs, chosen, loops, marks, ladder, size)


def _steps(low: float, high: float) -> tuple[float, ...]:
    """Multiples of `STEP` that span low to high.

    >>> _steps(3.47, 3.58)
    (3.45, 3.5, 3.55, 3.6)
    """
    first, last = math.floor(low / STEP + 1e-6), math.ceil(high / STEP - 1e-6)
    return tuple(round(index * STEP, 2) for index in range(first, last + 1))


def _ladder_speeds(speeds: Sequence[float]) -> tuple[float, ...]:
    chosen = tuple(sorted({positive(speed, "mark speed", unit="mm/s") for speed in speeds}))
    if not 1 <= len(chosen) <= MOST_SPEEDS:
        raise ShopError(
            f"{len(chosen)} mark speeds are given; give 1 to {MOST_SPEEDS} different ones", value=chosen, limit=MOST_SPEEDS
        )
    return chosen


def _gauge_size(thickness: float) -> tuple[float, float]:
    return (GAUGE + 2 * GAUGE_WALL, thickness + 1.0 + 2 * GAUGE_WALL)


def _moved(chain: Chain, motion: Motion) -> Chain:
    return tuple(line.moved(motion) for line in chain)


class _Drawing:
    """The coupon while it is being drawn: y = 0 is the upper border of the comb's plate, `floor` its lower end so far."""

    def __init__(self, thickness: float, width: float) -> None:
        self.thickness = thickness
        self.width = width
        self.floor = 0.0
        self.right = 0.0
        self.teeth: list[Outline] = []
        self.windows: list[Outline] = []
        self.marks: list[Chain] = []
        self.ladder: dict[str, Chain] = {}

    def heading(self, text: str) -> None:
        self.floor -= 3.0 + LARGE
        self.marks += lettering(text, LARGE, (BORDER, self.floor))
        self.right = max(self.right, BORDER + lettering_width(text, LARGE))

    def label(self, text: str, x: float, y: float) -> None:
        self.marks += lettering(text, SMALL, (x, y), centred=True)

    def add_tabs(self, widths: Sequence[float]) -> None:
        pitch = max(widths) + GAUGE_WALL + 2.0
        label_y = -1.5 - SMALL
        for index, width in enumerate(widths):
            x = BORDER + pitch * (index + 0.5)
            self.teeth.append(rectangle(width, TAB_REACH).at(x, TAB_REACH / 2))
            self.label(f"{width:.2f}", x, label_y)
            self.right = x + pitch / 2
        self.floor = label_y
        self.heading(f"above: tabs into the gauge of {GAUGE:.2f}")

    def add_slots(self, widths: Sequence[float]) -> None:
        self.heading("slots: put a strip through")
        web = max(6.0, self.thickness)
        pitch = max(lettering_width("00.00", SMALL) + 2.0, max(widths) + web)
        for place, width, x in self._rows(widths, pitch, 2.5 + SLOT_LENGTH + 1.5 + SMALL):
            self.windows.append(rectangle(width, SLOT_LENGTH).at(x, place - 2.5 - SLOT_LENGTH / 2))
            self.label(f"{width:.2f}", x, place - 2.5 - SLOT_LENGTH - 1.5 - SMALL)

    def add_strips(self) -> None:
        self.heading(f"strips: {STRIPS} × {STRIP_WIDTH:g} = {STRIPS * STRIP_WIDTH:.2f}")
        pitch = STRIP_WIDTH + max(4.0, 0.5 * self.thickness)
        for place, width, x in self._rows([STRIP_WIDTH] * STRIPS, pitch, 2.5 + STRIP_LENGTH):
            self.windows.append(rectangle(width, STRIP_LENGTH).at(x, place - 2.5 - STRIP_LENGTH / 2))

    def add_ladder(self, speeds: Sequence[float]) -> None:
        self.heading("marks at mm/s")
        width, height = PATCH
        for place, speed, x in self._rows(speeds, width + 4.0, 2.0 + height + 1.5 + SMALL):
            self.ladder[f"MARK-{speed:g}-MM-S"] = _hatched(x - width / 2, place - 2.0 - height, width, height)
            self.label(f"{speed:g}", x, place - 2.0 - height - 1.5 - SMALL)

    def _rows(self, values: Sequence[float], pitch: float, depth: float) -> Iterator[tuple[float, float, float]]:
        """Upper end of its row, value, and middle along x, for each value; as many to a row as the width takes."""
        columns = max(1, int((self.width - 2 * BORDER) / pitch + 1e-9))
        for first in range(0, len(values), columns):
            top = self.floor
            for column, value in enumerate(values[first : first + columns]):
                x = BORDER + pitch * (column + 0.5)
                self.right = max(self.right, x + pitch / 2)
                yield top, value, x
            self.floor -= depth

    def loops(self) -> tuple[tuple[Loop, ...], Motion]:
        """The paths with their lower left corner at the origin, and the motion that took them there."""
        width, height = self.right + BORDER, BORDER - self.floor
        comb = rounded_rectangle(width, height, 3.0).at(width / 2, -height / 2).joined(*self.teeth).cut(*self.windows)
        across, up = _gauge_size(self.thickness)
        gauge = rounded_rectangle(across, up, 2.0).cut(rectangle(GAUGE, self.thickness + 1.0))
        motion = Motion.shift(0.0, height)
        placed = gauge.at(width + APART + across / 2, -up / 2)
        return (*comb.moved(motion).loops, *placed.moved(motion).loops), motion


def _hatched(x: float, y: float, width: float, height: float) -> Chain:
    """A patch filled with lines `HATCH` mm apart, in one stroke to and fro."""
    points: list[Point] = []
    for index in range(round(height / HATCH) + 1):
        ends = [(x, y + index * HATCH), (x + width, y + index * HATCH)]
        points += ends if index % 2 == 0 else reversed(ends)
    return tuple(Line(start, end) for start, end in pairwise(points))
