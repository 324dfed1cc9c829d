"""What is asked of the sheets: which products, how many of each, and how their panels may lie and are to be cut."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from panelwright.assemblies.data.product import Product
from panelwright.assemblies.nest.job import Pin
from panelwright.plates._validate import flag, instance, mapping, numbers, positive, shown, text, whole
from panelwright.plates.errors import NestError, SizeError

__all__ = ["Batch", "Bridges", "FaceUp", "PieceRules", "SheetRules", "batches_of"]

FaceUp = Literal["back", "show"]
"""Which face of the panels lies up, towards the beam, and so gets the marks."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One product to be cut, `copies` times.  `label` tells it from others in the same run; "" if it is the only one.

    `product` is what `Assembly.product` gives.  Raises `NestError` for what is none, `SizeError` for a number of copies below
    1.

    >>> Batch(Product("tray", (), (), (), (), ()), copies=2).copies
    2
    """

    product: Product
    copies: int = 1
    label: str = ""

    def __repr__(self) -> str:
        return f"<Batch {self.label or self.product.name!r}, {self.copies} of {self.product!r}>"

    def __post_init__(self) -> None:
        if not isinstance(self.product, Product):
            raise NestError(f"{shown(self.product)} is no product; give what assembly.product() returns", value=self.product)
        whole(self.copies, f"copies of {self.product.name!r}")
        text(self.label, f"label of {self.product.name!r}")

    def piece_name(self, panel: str) -> str:
        """What a panel is called among all products of the run.

        >>> Batch(Product("tray", (), (), (), (), ()), label="tray").piece_name("base")
        'tray/base'
        """
        text(panel, "panel of a piece's name")
        return f"{self.label}/{panel}" if self.label else panel


@dataclass(frozen=True, slots=True)
class Bridges:
    """Bridges of material that hold every part in its sheet: `count` to a cut, each `width_mm` wide after cutting.

    Besides the outlines of parts, windows in which parts lie are held; with `least_window_mm` so is the waste of all windows
    that are at least that wide and high, in mm.  Raises `SizeError` for numbers that are none.

    >>> Bridges(3).width_mm
    0.8
    """

    count: int = 2
    width_mm: float = 0.8
    least_window_mm: float | None = None

    def __post_init__(self) -> None:
        whole(self.count, "number of holding bridges")
        positive(self.width_mm, "width of holding bridges")
        if self.least_window_mm is not None:
            positive(self.least_window_mm, "least size of windows with holding bridges", zero_is_fine=True)


@dataclass(frozen=True, slots=True)
class PieceRules:
    """What is special about one panel: a place chosen for it, a turn step of its own."""

    pin: Pin | None = None
    turn_step_deg: float | None = None


@dataclass(frozen=True, slots=True)
class SheetRules:
    """How sheets are laid out and cut.

    - `spacing`, `margin`: least distance between finished parts and from the border, in mm; None takes the machine's.
    - `turn_step_deg`: turns allowed without grain; with grain it is 180 whatever is said here.
    - `seed`, `effort`, `time_limit_s`, `least_offcut`: see `NestJob`.
    - `compact_s`: whole seconds for `LastSheetCompaction`, or None to do without.
    - `face_up`: the face that gets the part marks.  "back" lays the sheet show face down and mirrors everything.
    - `is_marked`: whether parts get their number and name.
    - `ticks`: whether faces get marks where others are glued on.
    - `bridges`: holding bridges, or None.
    - `shared_cuts`: lay parts one kerf apart and cut the line between two of them once.
    - `pieces`: what is special about single panels, by the name that `Batch.piece_name` gives.

    Raises `SizeError` for numbers that are none, and for `shared_cuts` together with a spacing or with bridges.

    >>> SheetRules(turn_step_deg=15, bridges=Bridges(2)).effort
    400
    """

    spacing: float | None = field(default=None, kw_only=True)
    margin: float | None = field(default=None, kw_only=True)
    turn_step_deg: float = field(default=90.0, kw_only=True)
    seed: int = field(default=1, kw_only=True)
    effort: int = field(default=400, kw_only=True)
    time_limit_s: float | None = field(default=None, kw_only=True)
    compact_s: int | None = field(default=None, kw_only=True)
    least_offcut: tuple[float, float] = field(default=(100.0, 100.0), kw_only=True)
    face_up: FaceUp = field(default="back", kw_only=True)
    is_marked: bool = field(default=True, kw_only=True)
    ticks: bool = field(default=False, kw_only=True)
    bridges: Bridges | None = field(default=None, kw_only=True)
    shared_cuts: bool = field(default=False, kw_only=True)
    pieces: dict[str, PieceRules] = field(default_factory=dict, kw_only=True)

    def __repr__(self) -> str:
        return f"<SheetRules: spacing {self.spacing}, margin {self.margin}, seed {self.seed}, effort {self.effort}>"

    def __post_init__(self) -> None:
        if self.spacing is not None:
            positive(self.spacing, "spacing of the sheets", zero_is_fine=True)
        if self.margin is not None:
            positive(self.margin, "margin of the sheets", zero_is_fine=True)
        positive(self.turn_step_deg, "turn step of the sheets", unit="°")
        whole(self.seed, "seed of the sheets", least=0, most=2**63)
        whole(self.effort, "effort of the sheets", least=0, most=10**9)
        if self.time_limit_s is not None:
            positive(self.time_limit_s, "time limit of the sheets", unit="s")
        if self.compact_s is not None:
            whole(self.compact_s, "compact_s of the sheets")
        numbers(self.least_offcut, "least offcut of the sheets", 2, "(width, height) in mm")
        for value, name in ((self.is_marked, "is_marked"), (self.ticks, "ticks"), (self.shared_cuts, "shared_cuts")):
            flag(value, f"{name} of the sheets")
        if self.bridges is not None:
            instance(self.bridges, Bridges, "bridges of the sheets", "give Bridges(…) or None")
        give = "give PieceRules by the names of pieces"
        for rules in mapping(self.pieces, "pieces of the sheets", give).values():
            instance(rules, PieceRules, "rules of a piece", give)
        if not isinstance(self.face_up, str) or self.face_up not in ("back", "show"):
            raise SizeError(f"the face that lies up is {shown(self.face_up)}; give 'back' or 'show'", value=self.face_up)
        if self.shared_cuts and self.spacing is not None:
            raise SizeError(
                f"shared cuts lay parts one kerf apart, but a spacing of {self.spacing:g} mm is asked for; give one of the two",
                value=self.spacing,
            )
        if self.shared_cuts and self.bridges is not None:
            raise SizeError("shared cuts and holding bridges exclude each other; give one of the two")


def batches_of(products: list[tuple[Product, int]]) -> tuple[Batch, ...]:
    """Batches with labels that tell them apart: none for a single product, a number behind names that come twice.

    >>> tray = Product("tray", (), (), (), (), ())
    >>> [batch.label for batch in batches_of([(tray, 1), (tray, 2)])]
    ['tray', 'tray 2']
    """
    if not products:
        raise NestError("there are no products to lay out; give at least one")
    if len(products) == 1:
        return (Batch(*products[0]),)
    seen: dict[str, int] = {}
    found: list[Batch] = []
    for product, copies in products:
        seen[product.name] = number = seen.get(product.name, 0) + 1
        found.append(Batch(product, copies, product.name if number == 1 else f"{product.name} {number}"))
    return tuple(found)
