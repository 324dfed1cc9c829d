"""The command `panelwright picture`: a shaded PNG or a line drawing as SVG, from one side or all round.

A picture is no cutting file, so it is drawn of a design that fails its proof too: whoever has to mend it wants to see it.
Only joints that could not be made at all are told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.assemblies.console.outcome import FINE, FOUND_ERRORS, Outcome, after_picture
from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.console.shown import Progress
from panelwright.assemblies.console.terminal import stdout_to_stderr
from panelwright.assemblies.data.assembly_plan import Plan
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.pictures.picture import VIEWS, View, line_drawing, shaded_png
from panelwright.assemblies.product.json_documents import document
from panelwright.assemblies.product.json_entries import finding_entry
from panelwright.assemblies.writing.single_files import check_file, write_files
from panelwright.plates._validate import finite, whole
from panelwright.plates.errors import OutputError, SelectionError, SizeError

if TYPE_CHECKING:
    from panelwright.assemblies.data.findings import Finding
    from panelwright.assemblies.data.parts import Bought
    from panelwright.assemblies.product.assembly import Assembly
    from panelwright.plates._kernel.files.step import PlacedSolid

__all__ = ["Wanted", "draw", "wanted_of"]

MOST_TURNS = 360
"""Pictures of one turntable: one for each degree."""

MOST_APART = 20.0
"""Beyond this the plates are specks."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to draw, checked: where to, from which sides, and how."""

    out: Path
    views: tuple[View, ...]
    apart: float = 0.0
    highlight: str | None = None
    width: int | None = None
    height: int | None = None

    @property
    def is_drawing(self) -> bool:
        """Whether it is a line drawing."""
        return self.out.suffix.lower() == ".svg"

    @property
    def files(self) -> tuple[Path, ...]:
        """One file for each view; numbered, with leading zeros, if there are several."""
        if len(self.views) == 1:
            return (self.out,)
        digits = len(str(len(self.views)))
        return tuple(
            self.out.with_name(f"{self.out.stem}-{number:0{digits}d}{self.out.suffix}")
            for number in range(1, len(self.views) + 1)
        )

    def drawn(self, parts: Sequence[PlacedSolid]) -> Iterator[tuple[Path, bytes]]:
        """The files with what goes into them."""
        for path, view in zip(self.files, self.views, strict=True):
            if self.is_drawing:
                yield path, line_drawing(parts, view=view, highlight=self.highlight, width=self.width or 800)
            else:
                yield (
                    path,
                    shaded_png(
                        parts,
                        view=view,
                        highlight=self.highlight,
                        width=self.width or 1200,
                        height=self.height or 900,
                    ),
                )


def wanted_of(chosen: Chosen) -> Wanted:
    """What the command line asks for.

    Raises `SelectionError` for an unknown view, `SizeError` for angles, sizes and numbers that no picture has, and
    `OutputError` for a file that cannot be written.
    """
    out = check_file(chosen.out, (".png", ".svg"))
    if chosen.view not in VIEWS:
        raise SelectionError(
            f"view {chosen.view!r} is not known; give one of {', '.join(VIEWS)}", value=chosen.view, limit=tuple(VIEWS)
        )
    named = VIEWS[chosen.view]
    azimuth = named.azimuth_deg if chosen.azimuth is None else chosen.azimuth
    first = View(azimuth, named.elevation_deg if chosen.elevation is None else chosen.elevation)
    turns = 1 if chosen.turntable is None else whole(chosen.turntable, "number of pictures of a turntable", least=2)
    if turns > MOST_TURNS:
        raise SizeError(f"a turntable of {turns} pictures; give {MOST_TURNS} at most", value=turns, limit=MOST_TURNS)
    apart = finite(chosen.apart, "--apart")
    if not 0 <= apart <= MOST_APART:
        raise SizeError(f"--apart is {apart:g}; give 0 (together) to {MOST_APART:g}", value=apart, limit=MOST_APART)
    for side in (chosen.width, chosen.height):
        if side is not None:
            whole(side, "side of a picture in pixels", least=16)
    views = tuple(View(first.azimuth_deg + 360 * turn / turns, first.elevation_deg) for turn in range(turns))
    wanted = Wanted(out, views, apart, chosen.highlight, chosen.width, chosen.height)
    if wanted.is_drawing and chosen.height is not None:
        raise OutputError("the height of an SVG follows its width; leave out --height", value=chosen.height)
    for path in wanted.files:
        check_file(path, (".png", ".svg"))
    return wanted


def draw(chosen: Chosen) -> Outcome:
    """Load, resolve and draw; exit code 1 if some joint could not be made."""
    wanted = wanted_of(chosen)
    with Progress(("load", "resolve", "draw")) as progress, stdout_to_stderr():
        progress.next()
        from panelwright.assemblies.loading.design_file import load_design, parse_settings, run

        design = load_design(chosen.design, shop=chosen.shop)
        assembly = run(design, parse_settings(design, chosen.settings))
        progress.next()
        with design.surroundings():
            parts, failures, plan = _built(assembly, is_apart=wanted.apart > 0)
        if chosen.no_hardware or not assembly.show_hardware:
            parts = tuple(part for part in parts if isinstance(part, Part))
        progress.next()
        from panelwright.assemblies.pictures.apart import stay_words, taken_apart

        files = write_files(list(wanted.drawn(taken_apart(parts, plan, wanted.apart))))
    found = {
        "findings": [finding_entry(finding) for finding in failures],
        "ok": not failures,
        "product": assembly.name,
        "files": [
            {"path": path, "azimuth_deg": round(view.azimuth_deg % 360, 6), "elevation_deg": view.elevation_deg}
            for path, view in zip(files, wanted.views, strict=True)
        ],
    }
    if stays := stay_words(plan):
        found["stays"] = stays
    lines = [f"drawn without this joint: {failure.message}" for failure in failures]
    lines += [stays] if stays else []
    lines += [f"written to {path}" for path in files]
    lines.append(after_picture(chosen, failures))
    return Outcome.of(
        document("panelwright.picture", found), lines, as_json=chosen.json, code=FOUND_ERRORS if failures else FINE
    )


def _built(assembly: Assembly, *, is_apart: bool) -> tuple[tuple[Part | Bought, ...], list[Finding], Plan]:
    """What there is to draw, the joints that could not be made, and, if it is drawn apart, the plan that says how."""
    from panelwright.assemblies.data.findings import joint_findings
    from panelwright.assemblies.resolve.bought_parts import bought_parts
    from panelwright.assemblies.resolve.resolve import resolve

    if is_apart:
        product = assembly.product()
        failed = [finding for finding in product.findings if finding.code == "JOINT"]
        return (*product.parts, *product.bought), failed, product.plan
    resolved = resolve(assembly)
    return (*resolved.parts, *bought_parts(resolved.made)), joint_findings(resolved.failures), Plan()
