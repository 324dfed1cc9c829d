"""The process that builds one product for the preview: it loads the design anew, proves it, and sends the page's content.

A process is used for one build.  It is forked from a server that has imported everything and built nothing, or started afresh
where the system has none, so a design starts with a clean slate, and whatever it does to the process ends with it.  What
the design prints is kept up to a size; what compiled code prints goes nowhere.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
import threading
import time
from collections.abc import Generator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

__all__ = ["Job", "Outcome", "changed_at", "run_worker"]

MOST_PRINTED = 20_000
"""Characters of a design's prints that are kept: as many from the beginning as from the end."""

MOST_FILES = 2_000
"""Files that one build is watched to read, at most."""


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


class _Tail(io.TextIOBase):
    """A text stream that keeps its beginning and its end."""

    def __init__(self) -> None:
        self._head = ""
        self._tail = ""
        self._lost = 0

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        room = MOST_PRINTED // 2 - len(self._head)
        if room > 0:
            self._head += text[:room]
        rest = text[max(0, room) :]
        if rest:
            tail = self._tail + rest[-MOST_PRINTED // 2 :]
            self._lost += len(self._tail) + len(rest) - min(len(tail), MOST_PRINTED // 2)
            self._tail = tail[-MOST_PRINTED // 2 :]
        return len(text)

    @property
    def kept(self) -> str:
        """What is left of it, with a word on what is not."""
        return self._head + (f"\n… {self._lost} characters left out …\n" if self._lost else "") + self._tail


def run_worker(pipe: Any) -> None:
    """Wait for a `Job` on a connection, build it, and send back an `Outcome`; ends when the connection does."""
    import signal

    # Ctrl-C in the terminal reaches the whole group: the server decides what becomes of its workers
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(AttributeError, OSError):
        os.setsid()  # so that it can be ended with all that the design starts
    threading.Thread(target=_end_with_parent, args=(os.getppid(),), daemon=True).start()
    # compiled modules are told from their sources by whole seconds and sizes: two saves in one second would be taken for one
    sys.dont_write_bytecode = True
    _leave_terminal()
    warm_up()
    pipe.send("ready")
    try:
        job = pipe.recv()
    except EOFError:
        return
    pipe.send(build(job))


def _end_with_parent(parent: int) -> None:
    """End this process when the one that started it is gone, even if the design never comes to an end."""
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(1)


def _leave_terminal() -> None:
    """Let nothing that compiled code prints, or asks for, reach the terminal."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        with contextlib.suppress(OSError):
            os.dup2(nowhere, stream)


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
    printed = _Tail()
    read = {os.path.realpath(job.design): changed_at(job.design)}
    parameters: list[dict[str, Any]] = []
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed), _watched(read):
        try:
            model, error = _built(job, parameters), ""
        except Exception as problem:  # whatever a design raises is told in the page
            model, error = None, _in_words(problem, job)
    files = tuple((path, stamp) for path, stamp in read.items() if os.path.isfile(path))
    return Outcome(model, error, parameters, files, printed.kept, time.perf_counter() - started)


def changed_at(path: str) -> int:
    """When a file was last changed, in ns as its file system tells it; -1 if it is not there."""
    try:
        return os.stat(path).st_mtime_ns
    except (OSError, ValueError):
        return -1


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


@contextlib.contextmanager
def _watched(read: dict[str, int]) -> Generator[None]:
    """Note which files are read meanwhile, other than the toolkit's, Python's and the system's, and those that are written."""
    toolkit = [str(Path(folder).resolve()) for package in _packages() for folder in package.__path__]
    ours = [*toolkit, sys.prefix, sys.base_prefix, "/usr", "/lib", "/etc", "/proc", "/sys", "/dev"]
    written: set[str] = set()
    is_on = True

    def hear(event: str, arguments: tuple[Any, ...]) -> None:
        if is_on and event == "os.rename":  # how careful programs put a file that they have written in its place
            arguments = (arguments[1], "w", 0)
        elif not is_on or event != "open":
            return
        if not isinstance(arguments[0], str | bytes | os.PathLike):
            return
        path = os.path.realpath(_source_of(os.path.abspath(os.fsdecode(arguments[0]))))
        mode, flags = arguments[1], arguments[2]
        is_write = bool(set(mode or "") & set("wax+")) or bool(flags & (os.O_WRONLY | os.O_RDWR))
        if is_write:
            written.add(path)
            read.pop(path, None)
        elif path not in written and len(read) < MOST_FILES and not any(path.startswith(folder + os.sep) for folder in ours):
            read.setdefault(path, changed_at(path))

    sys.addaudithook(hear)  # cannot be taken away again, so it is switched off; the process ends soon anyway
    try:
        yield
    finally:
        is_on = False


def _packages() -> list[Any]:
    import panelwright.assemblies
    import panelwright.joints
    import panelwright.plates

    return [panelwright.plates, panelwright.joints, panelwright.assemblies]


def _source_of(path: str) -> str:
    """The source of a compiled module, other paths as they are."""
    if path.endswith(".pyc"):
        import importlib.util

        with contextlib.suppress(ValueError):
            return importlib.util.source_from_cache(path)
    return path
