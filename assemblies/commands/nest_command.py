"""The command `panelwright nest`: one or more products, in several copies, on the sheets of the shop."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.console.outcome import FOUND_ERRORS, Outcome
from panelwright.assemblies.console.result_document import result_document
from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.console.shown import Progress
from panelwright.assemblies.console.terminal import stdout_to_stderr, tell
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.product.cautions import caution_for
from panelwright.assemblies.sheets.job_file import JobFile, Wanted, pin_named, read_job, wanted_on_line
from panelwright.plates.errors import DesignError, ShopError

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.nest import Pin
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.request import Batch
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["run_nest"]


def run_nest(chosen: Chosen) -> Outcome:
    """Run it; writes nothing if a product has errors."""
    from panelwright.assemblies.output.batch_folder import write_nest
    from panelwright.assemblies.output.folder import check_out
    from panelwright.assemblies.sheets.request import Batch, batches_of
    from panelwright.assemblies.shop.in_force import find_shop, find_shop_file

    from .lay_sheets import booking_asked, check_asked, laid_for, settle_asked

    with Progress(("load and prove", "lay out sheets", "write")) as progress, stdout_to_stderr():
        progress.next()
        job = _job(chosen)
        first = job.wanted[0].design if len(chosen.wanted) > 1 or not _is_job(chosen) else Path(chosen.wanted[0])
        settle_asked(first, chosen)
        shop = find_shop(first, chosen.shop)
        tell(check_out(chosen.out))
        check_asked(chosen, shop)
        made = [_made(wanted, find_shop_file(first, chosen.shop), chosen.margin) for wanted in job.wanted]
        if all(wanted.label for wanted in job.wanted):  # an order: parts are marked with the variant that they are for
            batches = tuple(Batch(made[0], w.copies, w.label) for made, w in zip(made, job.wanted, strict=True))
        else:
            batches = batches_of([(product, wanted.copies) for (product, _), wanted in zip(made, job.wanted, strict=True)])
        failed = [product for product, _ in made if product.errors]
        if failed:
            return _failed(failed, batches, chosen.json)
        progress.next()
        sheets = laid_for(batches, shop, chosen, progress.tell, pins=_pins(job, batches, shop))
        if not sheets.plan.sheets:
            raise ShopError(f"nothing could be laid out: {'; '.join(sheets.plan.notes)}")
        progress.next()
        parameters = [values for _, values in made]
        files = [wanted.design.name for wanted in job.wanted]
        booking = booking_asked(batches, sheets, find_shop_file(first, chosen.shop), chosen)
        write_nest(batches, sheets, chosen.out, files=files, parameters=parameters, along=booking.along)
    return _said(batches, sheets, booking.words, chosen)


def _is_job(chosen: Chosen) -> bool:
    return any(Path(name).suffix.lower() == ".toml" for name in chosen.wanted)


def _job(chosen: Chosen) -> JobFile:
    if not _is_job(chosen):
        return JobFile(wanted_on_line(chosen.wanted, chosen.copies, chosen.settings))
    if len(chosen.wanted) > 1 or chosen.copies or chosen.settings:
        raise DesignError(
            "a job file says which designs, copies and parameters are wanted; give it alone, without --copies and --set",
            value=list(chosen.wanted),
        )
    path = Path(chosen.wanted[0])
    from panelwright.assemblies.family.tables.order_file import is_order, read_order

    return read_order(path, None if chosen.shop is None else Path(chosen.shop)) if is_order(path) else read_job(path)


def _made(wanted: Wanted, shop_file: Path | None, margin: float | None) -> tuple[Product, dict[str, Any]]:
    """The product, and the values that its design ran with."""
    from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
    from panelwright.assemblies.proof.room_on_sheets import with_room

    design = load_design(wanted.design, shop=shop_file)
    settings = parse_settings(design, wanted.settings)
    assembly = run(design, settings)
    with design.surroundings():
        product = assembly.product()
    if margin is not None:
        product = with_room(product, design.shop, margin=margin)
    return product, design.values(settings)


def _pins(job: JobFile, batches: Sequence[Batch], shop: Shop | None) -> dict[str, Pin]:
    """Pins by panel, with the names that sheets have in the nest."""
    if not job.pins:
        return {}
    from panelwright.assemblies.shop.supply import supply_of

    names: list[str] = []
    for batch in batches:
        for stock in dict.fromkeys(panel.stock for panel in batch.product.panels):
            supply = supply_of(stock, shop, 1)
            names += [kind.sheet.id for kind in supply.kinds] if supply is not None else []
    return {panel: pin_named(pin, names) for panel, pin in job.pins}


def _failed(failed: Sequence[Product], batches: Sequence[Batch], as_json: bool) -> Outcome:
    """The findings of products that failed their proof."""
    from panelwright.assemblies.output.batch_folder import combined

    lines = [f"{product.name}: {finding}" for product in failed for finding in product.errors]
    lines.append("nothing written: mend the errors first")
    lines.append(f"next: panelwright explain {failed[0].errors[0].code} tells what mends it")
    return Outcome.of(result_document(combined(batches), is_fine=False), lines, as_json=as_json, code=FOUND_ERRORS)


def _said(batches: Sequence[Batch], sheets: LaidSheets, booked: str, chosen: Chosen) -> Outcome:
    from panelwright.assemblies.output.batch_folder import combined

    caution = caution_for(panel.stock for batch in batches for panel in batch.product.panels)
    found = result_document(combined(batches), is_fine=True, out=chosen.out, sheets=sheets, booked=booked)
    lines = [
        f"{batch.product.name}{f' × {batch.copies}' if batch.copies > 1 else ''}: "
        f"{counted(sum(panel.quantity for panel in batch.product.panels) * batch.copies, 'part')}"
        for batch in batches
    ]
    lines += ["", *sheets.words(), "", f"written to {chosen.out}", *[booked] * bool(booked), caution]
    out = shlex.quote(chosen.out)
    lines.append(f"next: look at the sheets in {out}/sheets, the .svg in any browser, then cut them")
    return Outcome.of(found, lines, as_json=chosen.json)
