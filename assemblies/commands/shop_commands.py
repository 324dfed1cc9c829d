"""The shop's part of the command line: `panelwright stocks`, `coupon` and `calibrate`.

Nothing heavy is imported before a command runs: `--help` must answer at once.
"""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.product.cautions import caution_for

if TYPE_CHECKING:
    from panelwright.assemblies.measuring.calibrate import Calibration
    from panelwright.assemblies.measuring.coupon import Coupon
    from panelwright.assemblies.shop.shelf import Shelf
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["COMMANDS", "add_commands", "run_command"]

COMMANDS = ("stocks", "coupon", "calibrate")

_SHOP_HELP = "shop file (default: shop.toml in this folder)"


def add_commands(commands: Any) -> dict[str, argparse.ArgumentParser]:
    """Add the parsers of these commands to a set of subparsers; gives them by name."""
    made: dict[str, argparse.ArgumentParser] = {}
    stocks = commands.add_parser(
        "stocks",
        usage="panelwright stocks [--shop FILE] [--json]",
        help="list the stocks that designs can name, and what is known of them",
        description="List the shop's own stocks and the shipped ones: sizes, kerf, fits, and what a sheet's tolerance does.",
        allow_abbrev=False,
    )
    coupon = commands.add_parser(
        "coupon",
        usage="panelwright coupon STOCK --out DIR [--thickness T ...] [--mark-speeds V ...] [--shop FILE] [--json]",
        help="draw a test piece for one stock: slots, tabs, strips for the kerf, marks",
        description="Draw a test piece for one stock as DXF, SVG and PDF.  Cut it, measure it, then run calibrate.",
        allow_abbrev=False,
    )
    calibrate = commands.add_parser(
        "calibrate",
        usage="panelwright calibrate STOCK [--thickness T ...] [--strips W ...] [--press M] [--snug M] [--sliding M] "
        "[--tab-press M] [--tab-snug M] [--tab-sliding M] [--cut-speed V] [--mark-speed V] [--caliper E] [--shop FILE] "
        "[--dry-run] [--json]",
        help="turn what caliper and hand say of a cut test piece into kerf and fits, in the shop file",
        description="Work out thickness, kerf and fits from a cut test piece and write them to the shop file, which is created "
        "if it is missing.  Lengths in mm, speeds in mm/s; several readings make the result surer.",
        allow_abbrev=False,
    )
    for command in (coupon, calibrate):
        command.add_argument("stock", metavar="STOCK", help='name of the stock, such as "birch 4"')
        command.add_argument(
            "--thickness",
            metavar="T",
            nargs="+",
            type=float,
            default=[],
            help="thickness of the sheet by caliper, in several places",
        )
    coupon.add_argument("--out", metavar="DIR", required=True, help="folder to write the files to")
    coupon.add_argument("--mark-speeds", metavar="V", nargs="+", type=float, help="speeds of the marks to try")
    calibrate.add_argument(
        "--strips",
        metavar="W",
        nargs="+",
        type=float,
        default=[],
        help="width of all strips side by side, once or several times",
    )
    for fit, feel in (("press", "goes in with a mallet"), ("snug", "goes in by hand and holds"), ("sliding", "moves freely")):
        calibrate.add_argument(f"--{fit}", metavar="M", type=float, help=f"mark of the slot in which a strip {feel}")
        calibrate.add_argument(f"--tab-{fit}", metavar="M", type=float, help=f"mark of the tab that {feel} in the gauge")
    calibrate.add_argument("--cut-speed", metavar="V", type=float, help="speed at which this stock is cut well")
    calibrate.add_argument("--mark-speed", metavar="V", type=float, help="speed at which marks look right")
    calibrate.add_argument("--caliper", metavar="E", type=float, help="limit of error of the caliper (default: 0.02)")
    calibrate.add_argument("--dry-run", action="store_true", help="work everything out, write nothing")
    for name, command in (("stocks", stocks), ("coupon", coupon), ("calibrate", calibrate)):
        command.add_argument("--shop", metavar="FILE", help=_SHOP_HELP)
        command.add_argument("--json", action="store_true", help="print one JSON object instead of text")
        command.add_argument("--traceback", action="store_true", help="show where a failure came from, in full")
        made[name] = command
    return made


def run_command(chosen: argparse.Namespace) -> str:
    """Run one of `COMMANDS` and return what it says."""
    run = {"stocks": _stocks, "coupon": _coupon, "calibrate": _calibrate}[chosen.command]
    found, text = run(chosen)
    if chosen.json:
        return json.dumps({"ok": True, **found}, ensure_ascii=False, indent=2) + "\n"
    return text


def _shop(chosen: argparse.Namespace, *, may_be_missing: bool = False) -> Shop:
    from panelwright.assemblies.shop.shop_file import FILE_NAME, Shop

    path = Path(FILE_NAME if chosen.shop is None else chosen.shop)
    if not path.exists() and (chosen.shop is None or may_be_missing):
        return Shop.of_shipped()
    return Shop.read(path)


def _stocks(chosen: argparse.Namespace) -> tuple[dict[str, Any], str]:
    shop = _shop(chosen)
    shelves = {name: shop.shelf(name) for name in shop.names}
    lines = [f"stocks of {shop.file}, then those shipped" if shop.file else "stocks shipped; no shop.toml here", ""]
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
    lines += _columns(rows)
    ranges = [f"  {name}: {_range_of(shelf)}" for name, shelf in shelves.items() if _range_of(shelf)]
    if ranges:
        lines += ["", "what a sheet's tolerance does to the snug fit of those that are not measured:", *ranges]
    return {"file": shop.file, "stocks": [_stock_entry(name, shelf) for name, shelf in shelves.items()]}, _text(lines)


def _range_of(shelf: Shelf) -> str:
    from panelwright.assemblies.shop.sheet_tolerance import fit_range

    found = fit_range(shelf.stock)
    return "" if found is None else str(found)


def _stock_entry(name: str, shelf: Shelf) -> dict[str, Any]:
    from panelwright.assemblies.product.json_entries import stock_entry

    return {
        **stock_entry(shelf.stock),
        "name": name,
        "is_shipped": shelf.is_shipped,
        "cut_mm_s": shelf.cut_mm_s,
        "mark_mm_s": shelf.mark_mm_s,
        "passes": shelf.passes,
        "uncertainty": dict(shelf.uncertainty),
    }


def _coupon(chosen: argparse.Namespace) -> tuple[dict[str, Any], str]:
    from panelwright.assemblies.measuring.coupon import coupon_of
    from panelwright.assemblies.writing.replace_file import write_file
    from panelwright.plates.errors import OutputError

    shop = _shop(chosen)
    shelf = shop.shelf(chosen.stock)
    thickness = sum(chosen.thickness) / len(chosen.thickness) if chosen.thickness else None
    speeds = chosen.mark_speeds
    if speeds is None and shelf.mark_mm_s is not None:
        speeds = [shelf.mark_mm_s * share for share in (0.5, 0.7, 1.0, 1.4, 2.0)]
    coupon = coupon_of(shelf.stock, thickness=thickness, speeds=speeds, bed=shop.machine.bed_mm)
    out = Path(chosen.out)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"folder {str(out)!r} cannot be made: {error.strerror or error}", value=str(out)) from error
    name = re.sub(r"[^\w.]+", "-", f"coupon {chosen.stock}").strip("-")
    written = []
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
        "caution": caution,
    }
    return found, _text([*_how_to(chosen.stock, coupon), "", *(f"written to {path}" for path in written), caution])


def _how_to(name: str, coupon: Coupon) -> Iterable[str]:
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
        *_columns(rows),
        "",
        f'then: panelwright calibrate "{name}" --thickness T T T --strips W W --snug M …',
    ]


def _calibrate(chosen: argparse.Namespace) -> tuple[dict[str, Any], str]:
    from panelwright.assemblies.measuring.calibrate import CALIPER, Readings, calibrate, record
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
    lines = [f"{chosen.stock}:", *_columns(_results(calibration))]
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
    found = {
        "stock": chosen.stock,
        "values": {
            key: {"value": measured.value, "plus_minus": measured.plus_minus, "how": measured.how}
            for key, measured in calibration.values.items()
        },
        "speeds": dict(calibration.speeds),
        "remarks": list(calibration.remarks),
        "is_calibrated": is_calibrated,
        "file": None if chosen.dry_run else str(path),
    }
    return found, _text(lines)


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


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return ["  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _text(lines: Iterable[str]) -> str:
    return "\n".join(lines) + "\n"
