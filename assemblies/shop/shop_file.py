"""The shop file: a small TOML file beside the designs that holds stocks and the machine, as measured.

Every value that the file states is the shop's own.  A stock may be `based_on` a shipped one, whose published values then
stand in for what the file leaves out.  A stock counts as calibrated once the file states both its measured thickness
and its kerf, and the kerf is above 0 unless a knife cuts it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, cast

from panelwright.plates._validate import file_path, instance, mapping, positive
from panelwright.plates.errors import PanelwrightError, ShopError
from panelwright.plates.materials.stock import CUTTERS, Cutter, Stock

from .checked_tables import Table, nearest, unquoted_name
from .sheet_tolerance import STANDARDS, thickness_tolerance
from .shelf import Booked, Machine, Offcut, Sheet, Shelf, largest_panel

__all__ = ["FILE_NAME", "MEASURED_KEYS", "Shop"]

FILE_NAME = "shop.toml"
"""What the file beside the designs is called."""

MEASURED_KEYS = ("measured_mm", "kerf_mm", "press_mm", "snug_mm", "sliding_mm")
"""Keys of a stock that have an uncertainty."""

_NUMBER_KEYS = (
    "thickness_mm",
    *MEASURED_KEYS,
    "tolerance_standard",
    "tolerance_mm",
    "density_kg_m3",
    "shear_modulus_mpa",
    "shear_strength_mpa",
    "youngs_modulus_mpa",
    "poisson",
    "cut_mm_s",
    "mark_mm_s",
    "passes",
    "kerf_spread_mm",
)
_STOCK_KEYS = (
    "based_on",
    "material",
    *_NUMBER_KEYS,
    "grain",
    "both_faces_good",
    "color",
    "sheets",
    "offcuts",
    "uncertainty",
    "sources",
)
_MACHINE_KEYS = (
    "name",
    "cutter",
    "bed_mm",
    "travel_mm_s",
    "acceleration_mm_s2",
    "edge_margin_mm",
    "part_spacing_mm",
    "cost_per_hour",
    "position_error_mm",
)


@dataclass(frozen=True)
class Shop:
    """A shop: the stocks on its shelves by name, and its machine.

    `shop["birch 4"]` is the `Stock` of that name, the shop's own or else a shipped one; `shelf` gives all that is known of it.
    `file` is the name of the file that it was read from, "" for the shipped stocks alone; `prices` are those of one screw or
    nut in the shop's `currency`, by designation, and `booked` the jobs whose sheets were taken off, by identity.  `shelves` are
    the shop's own, `shipped` those of the toolkit, and `machine` what cuts, in mm and mm/s.  `Shop.read` makes one of a file.
    Raises `ShopError` for what is none of these, and for a stock that there is not.

    >>> shop = Shop.from_text('''
    ... [stocks."studio birch"]
    ... based_on = "birch 4"
    ... measured_mm = 3.87
    ... kerf_mm = 0.19
    ... ''')
    >>> shop["studio birch"].t, shop["studio birch"].density, shop["studio birch"].is_calibrated
    (3.87, 660.0, True)
    >>> shop["birch 4"].is_calibrated
    False
    >>> shop["birch four"]
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.ShopError: shop.toml has no stock 'birch four', nor is one shipped; did you mean 'birch 4'?
    A sheet of your own is stated in the design: Stock("birch plywood", 4, measured=…, kerf=…, clearance=0.05)
    or in shop.toml: [stocks."birch four"] with material = "birch plywood", thickness_mm = 4, measured_mm, kerf_mm, snug_mm
    """

    shelves: Mapping[str, Shelf]
    shipped: Mapping[str, Shelf]
    machine: Machine = field(default_factory=Machine)
    currency: str = ""
    file: str = ""
    prices: Mapping[str, float] = field(default_factory=dict)
    booked: Mapping[str, Booked] = field(default_factory=dict)

    def __repr__(self) -> str:
        return f"<Shop {self.file or 'as shipped'!r}, {len(self.shelves)} stocks>"

    def __post_init__(self) -> None:
        for shelves, name in ((self.shelves, "shelves"), (self.shipped, "shipped stocks")):
            for shelf in mapping(shelves, f"{name} of a shop", "give shelves by name", ShopError).values():
                instance(shelf, Shelf, f"one of the {name} of a shop", "give a Shelf", ShopError)
        instance(self.machine, Machine, "machine of a shop", "give a Machine", ShopError)
        instance(self.currency, str, "currency of a shop", "give text such as 'EUR'", ShopError)
        instance(self.file, str, "file of a shop", "give its name", ShopError)
        for price in mapping(self.prices, "prices of a shop", "give numbers by designation", ShopError).values():
            positive(price, "price of a shop", unit="", zero_is_fine=True)

    @classmethod
    def read(cls, path: str | Path) -> Shop:
        """The shop that a file describes.  Raises `ShopError` naming the file, the table and the key that is wrong."""
        where = file_path(path, "path of a shop file", ShopError)
        return cls.from_text(read_text(where), where.name)

    @classmethod
    def from_text(cls, text: str, file: str = FILE_NAME) -> Shop:
        """The shop that a TOML text describes; `file` is the name that errors and sources call it by."""
        instance(text, str, "text of a shop file", "give text, or read a file by Shop.read()", ShopError)
        instance(file, str, "name of a shop file", "give text", ShopError)
        top = Table(file, "", parsed(text, file))
        top.only(("booked", "currency", "machine", "prices", "stocks"))
        machine = _machine(top.table("machine"))
        bases = _shipped_tables()
        stocks = top.table("stocks")
        shelves: dict[str, Shelf] = {}
        for name in stocks.data:
            if not name.strip():
                raise top.error("a stock's name is empty; name it as the shop calls it", value=name)
            shelves[name] = _shelf(name, stocks.table(name), bases, machine.cutter)
        prices = top.table("prices")
        priced = {_same_sign(name): prices.number(name, zero_is_fine=True) or 0.0 for name in prices.data}
        jobs = top.table("booked")
        booked = {name: _booked(jobs.table(name)) for name in jobs.data}
        return cls(shelves, _shipped(bases, machine.cutter), machine, top.text("currency") or "", file, priced, booked)

    @classmethod
    def of_shipped(cls) -> Shop:
        """The shipped stocks alone, for a laser of which nothing is known."""
        return cls({}, _shipped(_shipped_tables(), "laser"))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all stocks: the shop's own, then shipped ones that it does not replace."""
        return (*self.shelves, *(name for name in self.shipped if name not in self.shelves))

    def shelf(self, name: str) -> Shelf:
        """All that is known of a stock.  Raises `ShopError`, with the nearest name, if there is none of that name."""
        instance(name, str, "name of a stock", "give text such as 'birch 4'", ShopError)
        found = self.shelves.get(name) or self.shipped.get(name)
        if found is not None:
            return found
        near = nearest(name, self.names)
        hint = f"did you mean {near!r}?" if near else f"there are {', '.join(self.names)}"
        if self.file:
            text = f"{self.file} has no stock {name!r}, nor is one shipped; {hint}"
        else:
            text = f"no stock {name!r} is shipped, and no {FILE_NAME} is in force; {hint}"
        like = self[near] if near else None
        raise ShopError(f"{text}\n{_how_to_state(name, like, self.file or FILE_NAME)}", value=name, limit=self.names)

    def price_of(self, designation: str) -> float | None:
        """Price of one bought part, None if the file has none; a letter x does for the sign × in its designation.

        >>> Shop.from_text('[prices]\\n"ISO 4762 M3 x 16" = 0.06').price_of("ISO 4762 M3 × 16")
        0.06
        """
        instance(designation, str, "designation of a bought part", "give text such as 'ISO 4032 M3'", ShopError)
        return self.prices.get(_same_sign(designation))

    def __getitem__(self, name: str) -> Stock:
        return self.shelf(name).stock

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and (name in self.shelves or name in self.shipped)


def _same_sign(designation: str) -> str:
    return " ".join(designation.casefold().replace("×", " x ").split())


def read_text(path: Path) -> str:
    """The text of a shop file, line ends as they are.  Raises `ShopError` if it cannot be read."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise ShopError(f"there is no shop file {str(path)!r}", value=str(path)) from None
    except UnicodeDecodeError as error:
        raise ShopError(f"shop file {str(path)!r} is not UTF-8; save it as UTF-8", value=str(path)) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ShopError(f"shop file {str(path)!r} cannot be read: {reason}", value=str(path)) from error


def parsed(text: str, file: str) -> dict[str, Any]:
    """A TOML text as plain data.  Raises `ShopError` with the place where it does not parse."""
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ShopError(f"{file}: this is not TOML: {error}{unquoted_name(text, error)}", value=file) from error


def _shipped_tables() -> Mapping[str, Any]:
    from importlib.resources import files

    text = files(__name__.rpartition(".")[0]).joinpath("shipped.toml").read_text(encoding="utf-8")
    return cast(Mapping[str, Any], parsed(text, "shipped.toml")["stocks"])


def _shipped(tables: Mapping[str, Any], cutter: Cutter) -> dict[str, Shelf]:
    shelves: dict[str, Shelf] = {}
    for name, data in tables.items():
        shelf = _shelf(name, Table("as sold", name, data), {}, cutter)
        stock = replace(shelf.stock, is_calibrated=False)
        shelves[name] = replace(shelf, stock=stock, is_shipped=True)
    return shelves


def _how_to_state(name: str, like: Stock | None, file: str) -> str:
    """The two ways of stating a stock that is not known yet, with what its name tells of it."""
    said = re.search(r"\d+(?:\.\d+)?", name)
    thickness = said.group() if said else "THICKNESS" if like is None else f"{like.thickness:g}"
    material = "MATERIAL" if like is None else like.material
    return (
        f'A sheet of your own is stated in the design: Stock("{material}", {thickness}, measured=…, kerf=…, clearance=0.05)\n'
        f'or in {file}: [stocks."{name}"] with material = "{material}", thickness_mm = {thickness}, measured_mm, kerf_mm, '
        "snug_mm"
    )


def _machine(table: Table) -> Machine:
    table.only(_MACHINE_KEYS)
    margin, spacing = (table.number(key, zero_is_fine=True) for key in ("edge_margin_mm", "part_spacing_mm"))
    return Machine(
        table.text("name") or "",
        cast(Cutter, table.text("cutter", CUTTERS) or "laser"),
        table.pair("bed_mm"),
        table.number("travel_mm_s"),
        table.number("acceleration_mm_s2"),
        Machine().edge_margin_mm if margin is None else margin,
        Machine().part_spacing_mm if spacing is None else spacing,
        table.number("cost_per_hour", zero_is_fine=True),
        table.number("position_error_mm", zero_is_fine=True),
    )


def _booked(table: Table) -> Booked:
    table.only(("what", "times"))
    return Booked(table.text("what") or "", table.count("times") or 1)


def _shelf(name: str, own: Table, bases: Mapping[str, Any], cutter: Cutter) -> Shelf:
    own.only(_STOCK_KEYS)
    base = _base(own, bases)
    uncertainty = _uncertainty(own)
    table = Table(own.file, own.where, {**base, **own.data})
    sheets = tuple(_sheet(entry) for entry in table.tables("sheets"))
    offcuts = tuple(_offcut(entry) for entry in table.tables("offcuts"))
    has_kerf = cutter == "knife" or bool(table.number("kerf_mm", zero_is_fine=True))
    is_calibrated = has_kerf and {"measured_mm", "kerf_mm"} <= own.data.keys()
    stock = _stock(name, table, sheets, offcuts, cutter, _sources(own, base, uncertainty), is_calibrated)
    return Shelf(
        stock,
        sheets,
        offcuts,
        table.number("cut_mm_s"),
        table.number("mark_mm_s"),
        table.count("passes") or 1,
        uncertainty,
        kerf_spread_mm=table.number("kerf_spread_mm", zero_is_fine=True),
    )


def _base(own: Table, bases: Mapping[str, Any]) -> dict[str, Any]:
    """The shipped values that a stock falls back to, less what contradicts the shop's own."""
    based_on = own.text("based_on")
    if based_on is None:
        return {}
    if based_on not in bases:
        near = nearest(based_on, bases)
        hint = f"did you mean {near!r}?" if near else f"shipped are {', '.join(bases)}"
        raise own.error(f"{own.what('based_on')} is {based_on!r}, which is not shipped; {hint}", value=based_on)
    base = dict(bases[based_on])
    if "tolerance_mm" in own.data or "tolerance_standard" in own.data:
        base = {key: value for key, value in base.items() if not key.startswith("tolerance_")}
    fits = ("press_mm", "snug_mm", "sliding_mm")
    for i, key in enumerate(fits):
        # a shipped fit keeps its order with the fits that the shop has tried
        tighter = [own.number(other, may_be_negative=True) for other in fits[:i]]
        looser = [own.number(other, may_be_negative=True) for other in fits[i + 1 :]]
        base[key] = max([base[key], *(value for value in tighter if value is not None)])
        base[key] = min([base[key], *(value for value in looser if value is not None)])
    return base


def _uncertainty(own: Table) -> dict[str, float]:
    table = own.table("uncertainty")
    table.only(MEASURED_KEYS)
    for key in table.data:
        if key not in own.data:
            raise own.error(f"{table.what(key)} is given, but not {own.what(key)} itself; give both", value=key)
    return {key: table.number(key, zero_is_fine=True) or 0.0 for key in table.data}


def _sources(own: Table, base: Mapping[str, Any], uncertainty: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    """Where each number comes from: what the file says of it, else the file itself, else what the base says."""
    said = own.table("sources")
    said.only(_NUMBER_KEYS)
    based = base.get("sources", {})
    found: list[tuple[str, str]] = []
    for key in _NUMBER_KEYS:
        if key in own.data:
            plus_minus = f", ±{uncertainty[key]:g} mm" if key in uncertainty else ""
            found.append((key, (said.text(key) or own.file) + plus_minus))
        elif key in base:
            found.append((key, based.get(key, "as sold")))
    return tuple(found)


def _stock(
    name: str,
    table: Table,
    sheets: tuple[Sheet, ...],
    offcuts: tuple[Offcut, ...],
    cutter: Cutter,
    sources: tuple[tuple[str, str], ...],
    is_calibrated: bool,
) -> Stock:
    material, thickness = table.text("material"), table.number("thickness_mm")
    missing = [key for key, value in (("material", material), ("thickness_mm", thickness)) if value is None]
    if missing:
        raise table.error(
            f"{table.where} has no {' and no '.join(missing)}; give it, or base the stock on a shipped one: based_on = …",
            value=name,
        )
    assert material is not None  # what is missing was told above
    assert thickness is not None
    standard = table.text("tolerance_standard", tuple(STANDARDS))
    tolerance = table.pair("tolerance_mm", may_be_negative=True)
    if standard is not None and tolerance is not None:
        raise table.error(f"{table.where} gives tolerance_standard and tolerance_mm; give one of them", value=standard)
    grain = table.text("grain", ("x", "y"))
    both = table.flag("both_faces_good")
    try:
        if standard is not None:
            tolerance = thickness_tolerance(standard, thickness)
        return Stock(
            material,
            thickness,
            measured=table.number("measured_mm"),
            kerf=table.number("kerf_mm", zero_is_fine=True) or 0.0,
            clearance=table.number("snug_mm", may_be_negative=True) or 0.0,
            press=table.number("press_mm", may_be_negative=True),
            sliding=table.number("sliding_mm", may_be_negative=True),
            tolerance=tolerance,
            sheet=largest_panel(sheets, offcuts, has_grain=grain is not None),
            density=table.number("density_kg_m3"),
            grain="x" if grain == "x" else "y" if grain == "y" else None,
            both_faces_good=True if both is None else both,
            color=table.text("color") or "orange",
            shear_modulus=table.number("shear_modulus_mpa"),
            shear_strength=table.number("shear_strength_mpa"),
            youngs_modulus=table.number("youngs_modulus_mpa"),
            poisson=table.number("poisson", may_be_negative=True),
            name=name,
            cutter=cutter,
            is_calibrated=is_calibrated,
            sources=sources,
        )
    except ShopError:
        raise
    except PanelwrightError as error:
        told = table.error(f"{table.where}: {error}", value=error.value, limit=error.limit)
        raise told from error


def _sheet(table: Table) -> Sheet:
    table.only(("width_mm", "height_mm", "count", "price"))
    width, height = table.number("width_mm"), table.number("height_mm")
    if width is None or height is None:
        raise table.error(f"{table.where} needs width_mm and height_mm", value=dict(table.data))
    return Sheet(width, height, table.count("count", least=0), table.number("price", zero_is_fine=True))


def _offcut(table: Table) -> Offcut:
    from panelwright.plates.outlines.shapes import polygon

    table.only(("outline_mm", "count"))
    points = table.points("outline_mm")
    if points is None:
        raise table.error(f"{table.where} needs outline_mm = [[x, y], …]", value=dict(table.data))
    try:
        outline = polygon(points)
    except PanelwrightError as error:
        raise table.error(f"{table.what('outline_mm')}: {error}", value=points) from error
    count = table.count("count", least=0)
    return Offcut(outline, 1 if count is None else count)
