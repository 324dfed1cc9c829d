"""The unit of work: one variant of a design, proven and written, as a function of the variant and of what the run asks for.

It knows nothing of pools, so whatever runs it, here or on another machine, gets the same row and the same bytes.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.processes.files_read import FilesRead, changed_at
from panelwright.assemblies.processes.within_worker import Printed
from panelwright.assemblies.product.json_entries import plain
from panelwright.plates.errors import PanelwrightError

from .rows import Row, Verdict, shape_of

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.loading.design_file import Design
    from panelwright.assemblies.paper.press import Paper
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.request import SheetRules

__all__ = ["PICTURES", "VARIANTS", "Asked", "Maker", "Work"]

VARIANTS, PICTURES = "variants", "pictures"
"""Folders in the family's: of output folders, and of the pictures that its page shows."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a run asks of every variant.

    `out` is the family's folder; `is_check` proves only.  `rules` say how sheets are laid out, None for no sheets.  `run` is a
    digest of all that the bytes depend on beside the variant and its files: options, versions, the toolkit itself.
    """

    design: str
    shop: str | None
    out: str
    is_check: bool = False
    anyway: bool = False
    shows_hardware: bool = True
    has_pictures: bool = True
    rules: SheetRules | None = None
    paper: Paper | None = None
    run: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """One variant to be made: its name, what is set, and all values that come of it, as JSON has them."""

    name: str
    settings: tuple[str, ...]
    parameters: dict[str, Any]


class Maker:
    """Makes variants one after the other in this process; made once in it, since it listens to what is read."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._heard = FilesRead()
        self._known = set(sys.modules)
        self._digests: dict[tuple[str, int], str] = {}

    def made(self, work: Work) -> Row:
        """The row of a variant, once its folder and picture are written; never raises but for what ends the process."""
        plain_row = Row(work.name, work.settings, work.parameters, run=self._asked.run)
        read = {os.path.realpath(self._asked.design): changed_at(self._asked.design)}
        printed = Printed()
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
            try:
                row = self._proven(plain_row, read)
            except MemoryError:
                row = replace(plain_row, error="there was not enough memory", is_lasting=False)
            except Exception as problem:  # whatever a design raises is told in its row
                # a full disk is no fault of the variant
                row = replace(plain_row, error=self._in_words(problem), is_lasting=not isinstance(problem, OSError))
        return replace(row, inputs=self._inputs(read))

    def _proven(self, row: Row, read: dict[str, int]) -> Row:
        from panelwright.assemblies.booking.identity import job_of
        from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
        from panelwright.assemblies.proof.room_on_sheets import with_room
        from panelwright.assemblies.sheets.request import Batch

        asked = self._asked
        with self._heard.noted(read):  # what is read later, to write, is no input
            design = load_design(asked.design, shop=asked.shop)
            settings = parse_settings(design, row.settings)
            assembly = run(design, settings)
            with design.surroundings():
                product = assembly.product()
        if asked.rules is None and not asked.is_check:
            product = with_room(product, design.shop, lays_out=False)
        elif asked.rules is not None and asked.rules.margin is not None:
            product = with_room(product, design.shop, margin=asked.rules.margin)
        row = _row_of(row, product)
        row = replace(row, parts=job_of([Batch(product)]).id)
        if not asked.is_check and (asked.anyway or not product.errors):
            sheets = None
            if asked.rules is not None and not product.errors:
                sheets = self._laid(product, design.shop)
                row = _with_sheets(row, sheets)
            shown = product if asked.shows_hardware else replace(product, show_hardware=False)
            row = replace(row, manifest=self._written(row.name, shown, design, design.values(settings), sheets))
        if asked.has_pictures:
            row = replace(row, picture=self._pictured(row.name, product))
        return row

    def _laid(self, product: Product, shop: Any) -> LaidSheets:
        from panelwright.assemblies.sheets.costs import cost_of
        from panelwright.assemblies.sheets.laid import LaidSheets
        from panelwright.assemblies.sheets.laying import lay_sheets
        from panelwright.assemblies.sheets.request import Batch

        assert self._asked.rules is not None
        batches = [Batch(product)]
        plan = lay_sheets(batches, shop, self._asked.rules)
        return LaidSheets(plan, cost_of(plan, batches, shop), self._asked.paper)

    def _written(self, name: str, product: Product, design: Design, values: dict[str, Any], sheets: LaidSheets | None) -> str:
        """The folder, as `panelwright build` writes it; gives the SHA-256 of its manifest."""
        from panelwright.assemblies.output.folder import MANIFEST, write_product

        folder = Path(self._asked.out, VARIANTS, name)
        write_product(product, folder, file=design.path.name, parameters=values, sources=design.sources, sheets=sheets)
        return hashlib.sha256((folder / MANIFEST).read_bytes()).hexdigest()

    def _pictured(self, name: str, product: Product) -> str:
        from panelwright.assemblies.writing.replace_file import write_file

        from .thumbnail import thumbnail

        data = thumbnail(product)
        if data is None:
            return ""
        write_file(Path(self._asked.out, PICTURES, f"{name}.png"), data)
        return hashlib.sha256(data).hexdigest()

    def _inputs(self, read: dict[str, int]) -> tuple[tuple[str, str], ...]:
        """The files that were read, with their SHA-256; "" for one that was saved meanwhile, which no later look can match.

        What was imported from outside the design's folder is read once in a process, but belongs to every variant.
        """
        files = dict(read)
        for name in set(sys.modules) - self._known:
            path = getattr(sys.modules.get(name), "__file__", None)
            if isinstance(path, str) and not self._heard.is_ours(real := os.path.realpath(path)):
                files.setdefault(real, changed_at(real))
        found = []
        for path, stamp in sorted(files.items()):
            if not os.path.isfile(path):
                continue
            if (path, stamp) not in self._digests:
                with contextlib.suppress(OSError):
                    digest = hashlib.sha256(Path(path).read_bytes()).hexdigest()
                    self._digests[(path, stamp)] = digest if changed_at(path) == stamp else ""
            found.append((path, self._digests.get((path, stamp), "")))
        return tuple(found)

    def _in_words(self, problem: Exception) -> str:
        from panelwright.assemblies.loading.design_file import design_lines

        if isinstance(problem, PanelwrightError):
            words = "\n".join([str(problem), *getattr(problem, "__notes__", ())])
        else:
            lines = "".join(f"\n  {line}" for line in design_lines(problem, Path(self._asked.design)))
            words = f"{type(problem).__name__}: {problem}{lines}"
        # where the design lies on this machine is no result
        return words.replace(os.path.dirname(self._asked.design) + os.sep, "").replace(self._asked.out + os.sep, "")


def _row_of(row: Row, product: Product) -> Row:
    levels = Counter(finding.level for finding in product.findings)
    verdict: Verdict = "errors" if levels["error"] else "warnings" if levels["warning"] else "fine"
    masses = [part.mass_kg for part in product.parts]
    masses += [None if item.mass_kg is None else item.mass_kg * item.quantity for item in product.hardware]
    known = [mass for mass in masses if mass is not None]
    return replace(
        row,
        verdict=verdict,
        product=product.name,
        levels=dict(sorted(levels.items())),
        codes=dict(sorted(Counter(finding.code for finding in product.findings).items())),
        plates=sum(len(part.plates) for part in product.parts),
        panels=tuple(map(shape_of, product.panels)),
        mass_kg=plain(sum(known)) if len(known) == len(masses) else None,
        hardware=sum(item.quantity for item in product.hardware),
    )


def _with_sheets(row: Row, laid: LaidSheets) -> Row:
    sheets, total = laid.plan.sheets, laid.cost.total
    times = [None if sheet.time is None else sheet.time.total_s for sheet in sheets]
    seconds = [time for time in times if time is not None]
    area = sum(sheet.area_mm2 for sheet in sheets)
    return replace(
        row,
        sheets=len(sheets),
        use=plain(sum(sheet.parts_mm2 for sheet in sheets) / area) if area else None,
        cut_s=plain(sum(seconds), 3) if sheets and len(seconds) == len(times) else None,
        cost=plain(total, 4),
        currency=laid.cost.currency,
    )
