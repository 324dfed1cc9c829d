"""The work of `panelwright build`, `check` and `booklet`: load, resolve, prove, write; words for a design's parameters."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.console.outcome import FINE, FOUND_ERRORS, Outcome, next_step
from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.console.shown import Progress
from panelwright.assemblies.console.terminal import stdout_to_stderr, tell

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.loading.design_file import Design
    from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet

__all__ = ["make", "parameter_help"]


def parameter_help(path: str, shop: str | None) -> str:
    """The docstring and the parameters of a design in words; raises what loading it raises."""
    from panelwright.assemblies.loading.design_file import load_design

    with stdout_to_stderr():
        design = load_design(path, shop=shop)
    lines = [textwrap.indent(design.doc, "  ") + "\n"] if design.doc else []
    for parameter in design.parameters:
        default = getattr(parameter.default, "name", parameter.default)
        shown = {True: "true", False: "false"}[default] if isinstance(default, bool) else default
        shown = "none" if shown is None else f"{shown:.12g}" if isinstance(shown, float) else shown
        lines.append(f"  {parameter.name}={shown}  ({parameter.reader.kind})")
        lines += textwrap.wrap(parameter.help, 78, initial_indent=" " * 6, subsequent_indent=" " * 6)
    if not design.parameters:
        lines.append("  takes no parameters")
    return f"design {design.path.name}:\n" + "\n".join(lines) + "\n"


def make(chosen: Chosen) -> Outcome:
    """Load, resolve, prove and write; the outcome of `build`, `check` and `booklet`."""
    from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
    from panelwright.assemblies.proof.room_on_sheets import with_room
    from panelwright.assemblies.sheets.request import Batch
    from panelwright.assemblies.shop.in_force import find_shop_file

    from .lay_sheets import booking_asked, laid_for, settle_asked

    out = getattr(chosen, "out", None)
    lays_out = chosen.command == "build" and not chosen.no_sheets
    stages = ["load", "resolve and prove", *["lay out sheets"] * lays_out, *["write"] * (out is not None)]
    with Progress(stages) as progress, stdout_to_stderr():
        progress.next()
        if lays_out:
            settle_asked(Path(chosen.design), chosen)
        design = load_design(chosen.design, shop=chosen.shop)
        settings = parse_settings(design, chosen.settings)
        if out is not None:
            _check_target(chosen, design)
        elif chosen.command == "check":
            _check_asked_of_check(chosen)
        assembly = run(design, settings)
        progress.next()
        with design.surroundings():
            product = assembly.product()
        if not lays_out and chosen.command != "check":
            product = with_room(product, design.shop, lays_out=False)
        elif lays_out and chosen.margin is not None:
            product = with_room(product, design.shop, margin=chosen.margin)
        fits = _fits(product, chosen, design) if chosen.command != "booklet" else None
        if fits is not None:
            from panelwright.assemblies.variation.fit_words import fit_findings

            product = product.with_findings(fit_findings(fits))
        code = FOUND_ERRORS if product.errors else FINE
        if chosen.command == "check":
            code = _of_check(product, chosen, design)
        if out is None or (product.errors and not chosen.anyway):
            then, lists = next_step(chosen, product), getattr(chosen, "joints", False)
            return Outcome(code, product=product, builds=out is not None, fits=fits, then=then, lists_joints=lists)
        sheets, booked = None, ""
        if lays_out:
            progress.next()
            if not product.errors:
                sheets = laid_for([Batch(product)], design.shop, chosen, progress.tell)
        progress.next()
        if chosen.command == "booklet":
            _write_booklet(product, chosen, design.values(settings), design.doc)
        else:
            from panelwright.assemblies.output.folder import write_product

            if chosen.no_hardware:
                product = replace(product, show_hardware=False)
            along = None
            if sheets is not None:
                booking = booking_asked([Batch(product)], sheets, find_shop_file(design.path, chosen.shop), chosen)
                along, booked = booking.along, booking.words
            write_product(
                product,
                out,
                file=design.path.name,
                parameters=design.values(settings),
                sources=design.sources,
                sheets=sheets,
                fits=fits,
                along=along,
            )
    then = next_step(chosen, product, has_sheets=sheets is not None and bool(sheets.plan.sheets))
    return Outcome(code, out=out, product=product, sheets=sheets, booked=booked, then=then, fits=fits)


def _fits(product: Product, chosen: Chosen, design: Design) -> FitOverSheet | None:
    """How the fits come out over real sheet, where it is asked for."""
    if not chosen.tolerance:
        if chosen.draws is not None or chosen.draw_seed is not None:
            from panelwright.plates.errors import ArgumentError

            raise ArgumentError("--draws and --draw-seed go with --tolerance; add it, or leave them out")
        return None
    from panelwright.assemblies.variation.fit_over_sheet import DRAWS, fit_over_sheet

    draws = DRAWS if chosen.draws is None else chosen.draws
    return fit_over_sheet(product, design.shop, draws=draws, seed=1 if chosen.draw_seed is None else chosen.draw_seed)


def _check_asked_of_check(chosen: Chosen) -> None:
    """Refuse a level that there is not and a file that cannot be written, before the long work begins."""
    from panelwright.assemblies.data.verdict import LEVELS
    from panelwright.assemblies.writing.single_files import check_file
    from panelwright.plates._validate import one_of
    from panelwright.plates.errors import ArgumentError

    one_of(chosen.level, LEVELS, "--level", ArgumentError)
    if chosen.junit is not None:
        check_file(chosen.junit, (".xml",))


def _of_check(product: Product, chosen: Chosen, design: Design) -> int:
    """The exit code of `check`, whose JUnit file is written where one is asked for."""
    from panelwright.assemblies.data.verdict import at_least

    if chosen.junit is not None:
        from panelwright.assemblies.testing.junit_file import junit_file
        from panelwright.assemblies.writing.single_files import check_file, write_files

        data = junit_file(design.path.stem, product.findings, level=chosen.level, asked=chosen.tolerance)
        write_files([(check_file(chosen.junit, (".xml",)), data)])
    return FOUND_ERRORS if at_least(product.findings, chosen.level) else FINE


def _check_target(chosen: Chosen, design: Design) -> None:
    """Refuse what cannot be written, and options that make no sense, before the long work begins."""
    if chosen.command == "booklet":
        from panelwright.assemblies.paper.press import paper_of
        from panelwright.assemblies.writing.single_files import check_file

        paper_of(chosen.paper)
        check_file(chosen.out, (".pdf",))
    else:
        from panelwright.assemblies.output.folder import check_out

        from .lay_sheets import check_asked

        tell(check_out(chosen.out))
        check_asked(chosen, design.shop)


def _write_booklet(product: Product, chosen: Chosen, parameters: Mapping[str, Any], summary: str) -> None:
    """Make the booklet and put it in place, whole or not at all."""
    from panelwright.assemblies.booklet.booklet import booklet_pdf
    from panelwright.assemblies.paper.press import paper_of
    from panelwright.assemblies.writing.single_files import check_file, write_files

    data = booklet_pdf(
        product,
        paper_of(chosen.paper),
        summary=summary,
        parameters=parameters,
        templates=not chosen.no_templates,
    )
    write_files([(check_file(chosen.out, (".pdf",)), data)])
