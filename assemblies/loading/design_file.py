"""Design files: Python files that define `design(**parameters) -> Assembly`.

A design is loaded and run in this process, with its folder on `sys.path` so that it can import its neighbours.  What
it prints goes to standard error.  Whatever goes wrong in it becomes a `DesignError` that points at its own lines.
"""

from __future__ import annotations

import contextlib
import difflib
import functools
import hashlib
import linecache
import os
import sys
import sysconfig
import traceback
import types
from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from panelwright.assemblies.shop.in_force import find_shop, using
from panelwright.plates.errors import DesignError, PanelwrightError

from .call_words import better_call
from .signature import Parameter, parameters_of, summary_of

if TYPE_CHECKING:
    from panelwright.assemblies.product.assembly import Assembly
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["Design", "blaming", "design_lines", "load_design", "parse_settings", "run"]


@dataclass(frozen=True, slots=True)
class Design:
    """A loaded design file: where it lies, its function, what the function takes, and what its docstring says.

    `shop` is the shop that its stocks come from, None if only shipped ones are known.  `sources` are the SHA-256 of the file
    and of what it imports at its head from its own folder, by their paths in it.
    """

    path: Path
    function: Callable[..., Any]
    parameters: tuple[Parameter, ...]
    doc: str
    shop: Shop | None = None
    neighbours: dict[str, types.ModuleType] = field(default_factory=dict, repr=False, compare=False)
    sources: Mapping[str, str] = field(default_factory=dict, repr=False, compare=False)

    def parameter(self, name: str) -> Parameter:
        """The parameter of that name.  Raises `DesignError`, with the nearest name, if there is none."""
        names = [parameter.name for parameter in self.parameters]
        if name in names:
            return self.parameters[names.index(name)]
        if not names:
            raise DesignError(f"design {self.path.name!r} takes no parameters, so not {name!r}", value=name)
        near = difflib.get_close_matches(name, names, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"it takes {', '.join(names)}"
        raise DesignError(f"design {self.path.name!r} has no parameter {name!r}; {hint}", value=name, limit=tuple(names))

    def values(self, settings: Mapping[str, Any]) -> dict[str, Any]:
        """Every parameter with its value: the one set, or the default."""
        return {parameter.name: settings.get(parameter.name, parameter.default) for parameter in self.parameters}

    def surroundings(self) -> contextlib.AbstractContextManager[None]:
        """What the design's code needs around it while it runs.

        Its folder leads `sys.path`, the modules it imported from there are known, its shop is in force, and its prints go to
        standard error.
        Afterwards everything is as before, the working directory too, so that relative paths still lead where they led, and
        another design's neighbour of the same name is not taken for this one's.
        """
        return _surroundings(self.path.resolve().parent, self.neighbours, self.shop)


def load_design(path: str | Path, *, shop: str | Path | None = None) -> Design:
    """Load a design file; `shop` is the shop file to use instead of the `shop.toml` beside it.

    Raises `ShopError` for a shop file that is missing or wrong, and `DesignError` for a design file that cannot be read or
    parsed, that fails while it is loaded, or whose `design` is missing or takes parameters that the command line cannot set.
    """
    path = Path(path)
    source = _source(path)
    module = types.ModuleType(f"_panelwright_design_{path.stem}")
    module.__file__ = str(path.resolve())
    # Known to the machinery for as long as the design is, since dataclasses and annotations look modules up by name.
    neighbours = {module.__name__: module}
    in_force = find_shop(path, shop)
    around = functools.partial(_surroundings, path.resolve().parent, neighbours, in_force)
    try:
        code = compile(source, module.__file__, "exec", dont_inherit=True)
    except SyntaxError as error:
        line = (error.text or "").rstrip()
        raise DesignError(
            f"design {path.name!r} does not parse\n  {path}:{error.lineno or 1}: {error.msg}\n    {line.strip()}",
            value=line,
        ) from error
    except (ValueError, RecursionError, MemoryError) as error:
        raise DesignError(f"design {path.name!r} does not parse: {error or type(error).__name__}") from error
    linecache.checkcache(module.__file__)
    with blaming(path, "failed while it was loaded"), around():
        exec(code, module.__dict__)
    if "design" not in module.__dict__:
        names = [name for name, value in module.__dict__.items() if isinstance(value, types.FunctionType)]
        near = difflib.get_close_matches("design", names, n=1, cutoff=0.5)
        hint = f"; rename {near[0]!r}" if near else ""
        raise DesignError(f"design {path.name!r} defines no `design`; write `def design(...) -> Assembly:` in it{hint}")
    function = module.__dict__["design"]
    if not callable(function):
        raise DesignError(
            f"`design` in {path.name!r} is {_kind_of(function)} and cannot be called; make it a function",
            value=function,
        )
    with around():
        parameters = parameters_of(function, path.name)
        doc = summary_of(function)
    return Design(path, function, parameters, doc, in_force, neighbours, _sources(path.resolve(), neighbours))


def parse_settings(design: Design, settings: Sequence[str]) -> dict[str, Any]:
    """Values for a design's parameters from texts such as "width=300"; a parameter set twice is an error.

    Raises `DesignError` for a text without "=", an unknown name, and a value that the parameter does not take.
    """
    values: dict[str, Any] = {}
    for setting in settings:
        name, equals, text = setting.partition("=")
        name = name.strip()
        if not equals or not name:
            raise DesignError(f"setting {setting!r} sets nothing; write name=value", value=setting)
        parameter = design.parameter(name)
        if name in values:
            raise DesignError(f"parameter {name!r} is set twice; set it once", value=setting)
        values[name] = parameter.read(text)
    return values


def run(design: Design, settings: Mapping[str, Any] | None = None) -> Assembly:
    """The assembly that a design makes with the given values; parameters not given keep their defaults.

    Raises `DesignError` for a value that a parameter does not take, for anything that goes wrong in the design, and if
    it returns something else than an `Assembly`.
    """
    values = {name: design.parameter(name).check(value) for name, value in (settings or {}).items()}
    from panelwright.assemblies.product.assembly import Assembly

    with blaming(design.path, "failed"), design.surroundings():
        made = design.function(**values)

    if not isinstance(made, Assembly):
        hint = "end it with `return` and the assembly" if made is None else "return the Assembly itself"
        raise DesignError(f"design() in {design.path.name!r} returned {_kind_of(made)}, not an Assembly; {hint}", value=made)
    return made


def design_lines(error: BaseException, path: Path) -> list[str]:
    """The lines of the design file, and of files beside it, that an error came through: outermost first.

    Each is "file:line in function: text"; a line repeated by recursion is listed once.
    """
    file = path.resolve()
    lines: list[str] = []
    for frame in traceback.extract_tb(error.__traceback__):
        # generated code, such as a dataclass's own __init__, lies in no file
        if not Path(frame.filename).is_absolute() or not _is_of_design(frame.filename, file.parent):
            continue
        shown = path if Path(frame.filename) == file else Path(frame.filename).relative_to(file.parent)
        place = f" in {frame.name}" if frame.name != "<module>" else ""
        line = f"{shown}:{frame.lineno}{place}: {frame.line}"
        if line not in lines:
            lines.append(line)
    return lines


def _is_raised_in_design(error: BaseException, path: Path) -> bool:
    """Whether it is the design's own line that failed, not something further in that it called."""
    frames = traceback.extract_tb(error.__traceback__)
    return bool(frames) and _is_of_design(frames[-1].filename, path.resolve().parent)


def _source(path: Path) -> str:
    try:
        data = path.read_bytes()
    except IsADirectoryError:
        raise DesignError(f"{str(path)!r} is a folder; give the design file in it", value=str(path)) from None
    except FileNotFoundError:
        raise DesignError(f"there is no design file {str(path)!r}{_near_file(path)}", value=str(path)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise DesignError(f"design file {str(path)!r} cannot be read: {reason}", value=str(path)) from error
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise DesignError(
            f"design {path.name!r} is not UTF-8: byte 0x{data[error.start]:02X} in line {line}; save it as UTF-8",
            value=str(path),
        ) from error


def _sources(path: Path, neighbours: Mapping[str, types.ModuleType]) -> dict[str, str]:
    """The SHA-256 of a design and of the modules beside it, by their paths in its folder, in their order."""
    files = {path, *(Path(file).resolve() for module in neighbours.values() if (file := getattr(module, "__file__", None)))}
    return {
        file.relative_to(path.parent).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(files)
        if file.is_relative_to(path.parent) and file.is_file()
    }


def _near_file(path: Path) -> str:
    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.suffix == ".py"]
    except OSError:
        return ""
    near = difflib.get_close_matches(path.name, sorted(names), n=1)
    return f"; did you mean {str(path.with_name(near[0]))!r}?" if near else ""


@contextlib.contextmanager
def blaming(path: Path, what: str, kind: str = "design") -> Generator[None]:
    """Turn what a design raises into a `DesignError` with its lines; an interrupt goes through.

    `what` says when it failed, in words that follow the name of the file; `kind` is what the file is.
    """
    try:
        yield
    except SystemExit as error:
        _blame(path, error, f"{kind} {path.name!r} ended the program ({error!r}); return or raise instead")
    except PanelwrightError as error:
        _blame(path, error, "\n".join([str(error), *getattr(error, "__notes__", ())]))
    except SyntaxError as error:
        place = f"{error.filename}:{error.lineno}: {error.msg}\n    {(error.text or '').strip()}"
        _blame(path, error, f"{kind} {path.name!r} {what}: a file it imports does not parse\n  {place}")
    except Exception as error:  # a design may raise anything; it is chained and shown with --traceback
        message = str(error)
        head = type(error).__name__ + (f": {message}" if message else "")
        if isinstance(error, TypeError) and _is_raised_in_design(error, path):
            head = better_call(error) or head
        _blame(path, error, f"{kind} {path.name!r} {what}: {head}")
    except BaseException as error:  # such as GeneratorExit: nothing but an interrupt is meant for us
        if isinstance(error, KeyboardInterrupt):
            raise
        _blame(path, error, f"{kind} {path.name!r} {what}: {type(error).__name__}")


def _blame(path: Path, error: BaseException, message: str) -> NoReturn:
    lines = "".join(f"\n  {line}" for line in design_lines(error, path))
    known = error if isinstance(error, PanelwrightError) else PanelwrightError("")
    raise DesignError(message + lines, plates=known.plates, face=known.face, value=known.value, limit=known.limit) from error


def _kind_of(value: Any) -> str:
    if value is None:
        return "None"
    name = value.__name__ if isinstance(value, type) else type(value).__name__
    if isinstance(value, type):
        return f"the class {name}"
    return f"{'an' if name[:1].lower() in 'aeiou' else 'a'} {name}"


@contextlib.contextmanager
def _surroundings(folder: Path, neighbours: dict[str, types.ModuleType], shop: Shop | None) -> Generator[None]:
    before = set(sys.modules)
    home = _working_directory()
    sys.modules.update({name: module for name, module in neighbours.items() if name not in before})
    sys.path.insert(0, str(folder))
    try:
        with contextlib.redirect_stdout(sys.stderr), using(shop):
            yield
    finally:
        if home is not None and _working_directory() != home:
            with contextlib.suppress(OSError):
                os.chdir(home)
        with contextlib.suppress(ValueError):
            sys.path.remove(str(folder))
        fresh = [name for name in sys.modules if name not in before]
        for name in [name for name in fresh if name in neighbours or _is_neighbour(name, folder)]:
            neighbours[name] = sys.modules.pop(name)


def _working_directory() -> str | None:
    """Where relative paths begin; None in a folder that is gone."""
    try:
        return os.getcwd()
    except OSError:
        return None


def _is_neighbour(name: str, folder: Path) -> bool:
    """Whether a module was found in the design's folder: a file or a package right there, or a part of one."""
    top = name.partition(".")[0]
    module = sys.modules.get(top)
    homes = [Path(file).parent for file in [getattr(module, "__file__", None)] if file]
    homes += [Path(home) for home in getattr(module, "__path__", ())]
    return top != "panelwright" and any(home in (folder, folder / top) for home in homes)


def _is_of_design(file: str, folder: Path) -> bool:
    """Whether a source file belongs to the design: beside or below it, and neither ours nor an installed one."""
    path = Path(file).resolve()
    ours = Path(__file__).resolve().parent.parent
    elsewhere = [ours / name for name in ("plates", "joints", "assemblies")]
    elsewhere += [Path(sysconfig.get_path(name)).resolve() for name in ("stdlib", "purelib", "platlib")]
    return path.is_relative_to(folder) and not any(path.is_relative_to(root) for root in elsewhere)
