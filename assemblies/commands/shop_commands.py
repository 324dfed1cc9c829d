"""The shop's part of the command line: `panelwright stocks`, `coupon` and `calibrate`.

Nothing heavy is imported before a command runs: `--help` must answer at once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shared_options import (
    Chosen,
    Several,
    command,
    help_option,
    json_option,
    out_option,
    shop_option,
    traceback_option,
)
from panelwright.assemblies.console.shown import Table
from panelwright.assemblies.console.terminal import stdout_to_stderr
from panelwright.assemblies.product.cautions import caution_for, cautions_for
from panelwright.assemblies.product.json_documents import document

if TYPE_CHECKING:
    from panelwright.assemblies.measuring.calibrate import Calibration
    from panelwright.assemblies.measuring.coupon import Coupon
    from panelwright.assemblies.shop.shelf import Shelf
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["calibrate", "coupon", "stocks"]

C = TypeVar("C", bound=Callable[..., Any])
Told = tuple[dict[str, Any], list[str | Table]]


def _shop_options(command: C) -> C:
    """What all commands of the shop take."""
    for option in (help_option, traceback_option, json_option, shop_option("shop.toml in this folder")):
        command = option(command)
    return command


def _stock_options(command: C) -> C:
    """What the commands for one stock take: its name, and what a caliper says of the sheet."""
    readings = click.option(
        "--thickness",
        cls=Several,
        metavar="T ...",
        type=float,
        multiple=True,
        help="Thickness of the sheet by caliper in mm, over 0, in several places (default: what the shop file says).",
    )
    return click.argument("stock", metavar="STOCK")(readings(command))


def _outcome(kind: str, run: Callable[[Chosen], Told], given: dict[str, Any]) -> Outcome:
    chosen = Chosen(**given)
    with stdout_to_stderr():
        found, told = run(chosen)
    return Outcome.of(document(kind, {"ok": True, **found}), told, as_json=chosen.json)


@command("List the stocks that designs can name.")
@_shop_options
def stocks(**given: Any) -> Outcome:
    """List the shop's own stocks and the shipped ones: sizes, kerf, fits, and what a sheet's tolerance does."""
    return _outcome("panelwright.stocks", _stocks, given)


@command("Draw a test piece for one stock: slots, tabs, strips for the kerf, marks.")
@_stock_options
@out_option("Folder", required=True)
@click.option(
    "--mark-speeds",
    cls=Several,
    metavar="V ...",
    type=float,
    multiple=True,
    help="Up to 8 speeds of the marks to try, in mm/s, over 0 (default: five round the stock's own, or 50 to 300).",
)
@_shop_options
def coupon(**given: Any) -> Outcome:
    """Draw a test piece for one STOCK, such as "birch 4", as DXF, SVG and PDF.  Cut it, measure it, then run calibrate."""
    return _outcome("panelwright.coupon", _coupon, given)


def _marks(command: C) -> C:
    """The marks that were found on a cut test piece, for each fit."""
    feels = {"press": "goes in with a mallet", "snug": "goes in by hand and holds", "sliding": "moves freely"}
    for fit, feel in reversed(feels.items()):
        for option, what in (
            (f"--tab-{fit}", f"Mark in mm of the tab that {feel} in the gauge (default: not tried)."),
            (f"--{fit}", f"Mark in mm of the slot in which a strip {feel} (default: not tried)."),
        ):
            command = click.option(option, metavar="M", type=float, help=what)(command)
    return command


@command("Turn what caliper and hand say of a cut test piece into kerf and fits.")
@_stock_options
@click.option(
    "--strips",
    cls=Several,
    metavar="W ...",
    type=float,
    multiple=True,
    help="Width of all strips side by side in mm, over 0, once or several times (default: not measured).",
)
@_marks
@click.option(
    "--cut-speed", metavar="V", type=float, help="Speed at which this stock is cut well, in mm/s (default: not said)."
)
@click.option("--mark-speed", metavar="V", type=float, help="Speed at which marks look right, in mm/s (default: not said).")
@click.option("--caliper", metavar="E", type=float, help="Limit of error of the caliper in mm, over 0 (default: 0.02).")
@click.option("--dry-run", is_flag=True, help="Work everything out, write nothing.")
@_shop_options
def calibrate(**given: Any) -> Outcome:
    """Work out thickness, kerf and fits of one STOCK from a cut test piece and write them to the shop file, which is
    created if it is missing.  Several readings make the result surer.
    """
    return _outcome("panelwright.calibration", _calibrate, given)


def _shop(chosen: Chosen, *, may_be_missing: bool = False) -> Shop:
    from panelwright.assemblies.shop.shop_file import FILE_NAME, Shop

    path = Path(FILE_NAME if chosen.shop is None else chosen.shop)
    if not path.exists() and (chosen.shop is None or may_be_missing):
        return Shop.of_shipped()
    return Shop.read(path)


def _stocks(chosen: Chosen) -> Told:
    shop = _shop(chosen)
    shelves = {name: shop.shelf(name) for name in shop.names}
    lines: list[str | Table] = [
        f"stocks of {shop.file}, then those shipped" if shop.file else "stocks shipped; no shop.toml here",
        "",
    ]
    rows: list[tuple[str, ...]] = [("stock", "material", "thickness", "kerf", "press", "snug", "sliding", "")]
    for name, shelf in shelves.items():
        stock = shelf.stock
        is_kerf_known = stock.kerf > 0 or "kerf_mm" in dict(stock.sources)
        rows.append(
            (
                name,
                stock.material,
                f"{stock.measured:g} of {stock.thickness:g}" if stock.measured is not None else f"{stock.thickness:g}",
                f"{stock.kerf:g}" if is_kerf_known else "?",
                *("?" if value is None else f"{value:g}" for value in (stock.press, stock.clearance, stock.sliding)),
                ("" if stock.is_calibrated else "uncalibrated") + (", shipped" if shelf.is_shipped else ""),
            )
        )
    lines.append(Table(rows, has_head=True))
    ranges = [f"  {name}: {_range_of(shelf)}" for name, shelf in shelves.items() if _range_of(shelf)]
    if ranges:
        lines += ["", "what a sheet's tolerance does to the snug fit of those that are not measured:", *ranges]
    lines += [
        "",
        'next: name one in a design, stock("birch 4"), or measure one: panelwright coupon NAME --thickness T T T --out test',
    ]
    return {"file": shop.file, "stocks": [_stock_entry(name, shelf) for name, shelf in shelves.items()]}, lines


def _range_of(shelf: Shelf) -> str:
    from panelwright.assemblies.shop.sheet_tolerance import fit_range

    found = fit_range(shelf.stock)
    return "" if found is None else str(found)


def _stock_entry(name: str, shelf: Shelf) -> dict[str, Any]:
    from panelwright.assemblies.product.json_entries import stock_entry, stock_key

    return {
        **stock_entry(shelf.stock),
        "stock": name,
        "is_shipped": shelf.is_shipped,
        "cut_mm_s": shelf.cut_mm_s,
        "mark_mm_s": shelf.mark_mm_s,
        "passes": shelf.passes,
        "uncertainty": {stock_key(key): value for key, value in shelf.uncertainty.items()},
    }


def _coupon(chosen: Chosen) -> Told:
    from panelwright.assemblies.measuring.coupon import coupon_of
    from panelwright.assemblies.writing.replace_file import write_file
    from panelwright.plates.errors import OutputError

    shop = _shop(chosen)
    shelf = shop.shelf(chosen.stock)
    thickness = sum(chosen.thickness) / len(chosen.thickness) if chosen.thickness else None
    speeds = chosen.mark_speeds or None
    if speeds is None and shelf.mark_mm_s is not None:
        speeds = [shelf.mark_mm_s * share for share in (0.5, 0.7, 1.0, 1.4, 2.0)]
    coupon = coupon_of(shelf.stock, thickness=thickness, speeds=speeds, bed=shop.machine.bed_mm)
    out = Path(chosen.out)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"folder {str(out)!r} cannot be made: {error.strerror or error}", value=str(out)) from error
    name = re.sub(r"[^\w.]+", "-", f"coupon {chosen.stock}").strip("-")
    written: list[str] = []
    for file, data in coupon.files(name).items():
        write_file(out / file, data)
        written.append(str(out / file))
    caution = caution_for([shelf.stock])
    found = {
        "files": written,
        "slots_mm": coupon.slots,
        "tabs_mm": coupon.tabs,
        "size_mm": [round(side, 3) for side in coupon.size],
        "speeds_mm_s": coupon.speeds,
        "cautions": cautions_for([shelf.stock]),
    }
    return found, [*_how_to(chosen.stock, coupon), "", *(f"written to {path}" for path in written), caution]


def _how_to(name: str, coupon: Coupon) -> Iterable[str | Table]:
    from panelwright.assemblies.measuring.coupon import GAUGE, STRIP_WIDTH, STRIPS

    width, height = coupon.size
    slots, tabs = (f"{marks[0]:.2f} to {marks[-1]:.2f}" for marks in (coupon.slots, coupon.tabs))
    rows = [
        ("strips", f"push all {STRIPS} together, side by side: what they measure of {STRIPS * STRIP_WIDTH:g} mm", "--strips W"),
        ("slots", f"put a strip's end through, {slots}: the mark where it goes in with a mallet", "--press M"),
        ("", "where it goes in by hand and holds", "--snug M"),
        ("", "where it moves freely", "--sliding M"),
        ("tabs", f"put the loose gauge of {GAUGE:g} mm over them, {tabs}: the same three", "--tab-press M …"),
        ("patches", "each on a layer named for its speed: the one that looks right", "--mark-speed V"),
    ]
    return [
        f"test piece for {name}, {coupon.thickness:.2f} mm thick, on {width:.0f} × {height:.0f} mm of sheet",
        "drawn without kerf: cut right on the lines, with no kerf compensation, and do not scale it",
        "",
        Table(rows),
        "",
        f'next: cut it, measure it, then panelwright calibrate "{name}" --thickness T T T --strips W W --snug M …',
    ]


def _calibrate(chosen: Chosen) -> Told:
    from panelwright.assemblies.measuring.calibrate import CALIPER, Readings, calibrate, record
    from panelwright.assemblies.product.json_entries import stock_key
    from panelwright.assemblies.shop.shop_file import FILE_NAME
    from panelwright.plates.materials.stock import FITS

    path = Path(FILE_NAME if chosen.shop is None else chosen.shop)
    shelf = _shop(chosen, may_be_missing=True).shelf(chosen.stock)
    given = vars(chosen)
    readings = Readings(
        tuple(chosen.thickness),
        tuple(chosen.strips),
        {fit: given[fit] for fit in FITS if given[fit] is not None},
        {fit: given[f"tab_{fit}"] for fit in FITS if given[f"tab_{fit}"] is not None},
        chosen.cut_speed,
        chosen.mark_speed,
        CALIPER if chosen.caliper is None else chosen.caliper,
    )
    calibration = calibrate(shelf, readings)
    lines: list[str | Table] = [f"{chosen.stock}:", Table(_results(calibration))]
    lines += [f"note: {remark}" for remark in calibration.remarks]
    is_calibrated = shelf.stock.is_calibrated
    if chosen.dry_run:
        lines.append("nothing written, as asked")
    else:
        stock = record(path, chosen.stock, calibration)[chosen.stock]
        is_calibrated = stock.is_calibrated
        lines.append(f"written to {path}")
        if not is_calibrated:
            options = {"measured_mm": "--thickness", "kerf_mm": "--strips"}
            missing = [option for key, option in options.items() if key not in calibration.values]
            lines.append(f"still uncalibrated: give {' and '.join(missing)} too")
        else:
            lines.append(f'next: designs beside {path} that say stock("{chosen.stock}") take these numbers from now on')
    found = {
        "stock": chosen.stock,
        "values": {
            stock_key(key): {"value_mm": measured.value, "plus_minus_mm": measured.plus_minus, "how": measured.how}
            for key, measured in calibration.values.items()
        },
        "speeds": dict(calibration.speeds),
        "remarks": list(calibration.remarks),
        "is_calibrated": is_calibrated,
        "file": None if chosen.dry_run else str(path),
    }
    return found, lines


def _results(calibration: Calibration) -> list[tuple[str, ...]]:
    words = {
        "measured_mm": "thickness",
        "kerf_mm": "kerf",
        "press_mm": "press fit",
        "snug_mm": "snug fit",
        "sliding_mm": "sliding fit",
        "cut_mm_s": "cut speed",
        "mark_mm_s": "mark speed",
    }
    rows = [(words[key], str(measured)) for key, measured in calibration.values.items()]
    return [*rows, *((words[key], f"{speed:g} mm/s") for key, speed in calibration.speeds.items())]
