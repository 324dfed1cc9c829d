"""The process that builds one product for the preview: it loads the design anew, proves it, and sends the page's content.

A process is used for one build.  It is forked from a server that has imported everything and built nothing, or started afresh
where the system has none, so a design starts with a clean slate, and whatever it does to the process ends with it.  What
the design prints is kept up to a size; what compiled code prints goes nowhere.
"""

from __future__ import annotations

import contextlib
import os
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from panelwright.assemblies.processes.files_read import FilesRead, changed_at
from panelwright.assemblies.processes.within_worker import Printed, settle_in

__all__ = ["Job", "Outcome", "run_worker"]


@dataclass(frozen=True, slots=True)
class Job:
    """What to build: a design file, its parameters as texts, and the shop file, if one was given."""

    design: str
    settings: tuple[str, ...] = ()
    shop: str | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a build came to: what the page needs as plain data, or an error in words with its lines.

    `model` is a JSON object of `scene` and `content`; `parameters` describe the design's controls; `files` are those it read
    and that may change, each with what `changed_at` told when it was read; `printed` is what it printed, and `seconds` how
    long it took.
    """

    model: str | None = None
    error: str = ""
    parameters: list[dict[str, Any]] = field(default_factory=list)
    files: tuple[tuple[str, int], ...] = ()
    printed: str = ""
    seconds: float = 0.0


def run_worker(pipe: Any) -> None:
    """Wait for a `Job` on a connection, build it, and send back an `Outcome`; ends when the connection does."""
    settle_in()
    warm_up()
    pipe.send("ready")
    try:
        job = pipe.recv()
    except EOFError:
        return
    pipe.send(build(job))


def warm_up() -> None:
    """Import all that a build takes, and go once through it, so that the first save is as quick as the others."""
    from panelwright.assemblies.bodies.bodies import tray
    from panelwright.joints import fingers, tabs
    from panelwright.plates import Stock

    product = tray("warm", stock=Stock("card", 2.0, kerf=0.1), width=40, depth=30, height=20, corner=fingers(), floor=tabs())
    _model_of(product.product(), {})


def build(job: Job) -> Outcome:
    """Build one design in this process; never raises but for what ends the process."""
    started = time.perf_counter()  # told in the page, decides nothing
    printed = Printed()
    read = {os.path.realpath(job.design): changed_at(job.design)}
    parameters: list[dict[str, Any]] = []
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed), FilesRead().noted(read):
        try:
            model, error = _built(job, parameters), ""
        except Exception as problem:  # whatever a design raises is told in the page
            model, error = None, _in_words(problem, job)
    files = tuple((path, stamp) for path, stamp in read.items() if os.path.isfile(path))
    return Outcome(model, error, parameters, files, printed.kept, time.perf_counter() - started)


def _built(job: Job, parameters: list[dict[str, Any]]) -> str:
    from panelwright.assemblies.loading.design_file import load_design, parse_settings, run

    from .controls import controls_of

    design = load_design(job.design, shop=job.shop)
    # until they are read, values are shown as they are given, so that what is refused can be mended
    given = dict(setting.split("=", 1) for setting in job.settings)
    for control in controls_of(design.parameters, {}):
        parameters.append({**control, "value": given.get(control["name"], control["value"])})
    settings = parse_settings(design, job.settings)
    parameters[:] = controls_of(design.parameters, settings)
    assembly = run(design, settings)
    with design.surroundings():
        product = assembly.product()
    return _model_of(product, design.values(settings), file=design.path.name)


def _model_of(product: Any, values: dict[str, Any], *, file: str | None = None) -> str:
    from dataclasses import asdict

    from panelwright.assemblies.output.manifest import manifest_of
    from panelwright.assemblies.report.html_text import json_text
    from panelwright.assemblies.report.report_page import content_of
    from panelwright.assemblies.report.scene import scene_of

    content = content_of(product, manifest_of(product, {}, file=file, parameters=values))
    return json_text({"content": asdict(content), "scene": scene_of(product)})


def _in_words(problem: Exception, job: Job) -> str:
    from panelwright.assemblies.loading.design_file import design_lines
    from panelwright.plates.errors import PanelwrightError

    if isinstance(problem, PanelwrightError):
        return "\n".join([str(problem), *getattr(problem, "__notes__", ())])
    lines = "".join(f"\n  {line}" for line in design_lines(problem, Path(job.design)))
    return f"{type(problem).__name__}: {problem}{lines}"
