"""The parameters of a design, read from its signature and docstring.

Every annotation becomes a `Reader`, which turns the text of a `--set` into a value and says what it takes.  Readers
nest: an optional number in a range is a reader of "none" and of a number in a range.
"""

from __future__ import annotations

import enum
import functools
import inspect
import math
import re
import types
import typing
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from panelwright.plates.errors import DesignError
from panelwright.plates.parameters import Range

__all__ = ["SUPPORTED", "Parameter", "Reader", "parameters_of", "reader_of", "summary_of"]

SUPPORTED = (
    "int, float, bool, str, Literal[...], a subclass of Enum, one of these with `| None`, "
    "or Annotated[int, Range(low, high)] and Annotated[float, Range(low, high)]"
)
"""The annotations that the command line can read."""

TRUE = frozenset({"true", "yes", "on", "1"})
FALSE = frozenset({"false", "no", "off", "0"})
ARGUMENTS_HEADER = re.compile(r"^\s*(args|arguments|parameters)\s*:\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of value: how its type is written, and how to get it from text.

    `read` takes text and `check` takes a value; both return the value or raise `ValueError` with a reason that
    completes "'…' ", such as "is no whole number".  `limits` is the range of a number that has one, `options` the texts of
    which one must be given, if it is so.
    """

    kind: str
    read: Callable[[str], Any]
    check: Callable[[Any], Any]
    limits: Range | None = None
    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of a design: its name, what it takes, its default and its help (may be empty)."""

    name: str
    reader: Reader
    default: Any
    help: str

    def read(self, text: str) -> Any:
        """The value that a text stands for.  Raises `DesignError` if it stands for none."""
        return self._attempt(self.reader.read, text)

    def check(self, value: Any) -> Any:
        """The value, if the parameter takes it.  Raises `DesignError` if it does not."""
        return self._attempt(self.reader.check, value)

    def _attempt(self, action: Callable[[Any], Any], value: Any) -> Any:
        try:
            return action(value)
        except _OutOfRangeError as error:
            limits = error.limits
            raise DesignError(
                f"parameter {self.name!r} is {value}; it must lie from {limits}", value=value, limit=limits
            ) from None
        except ValueError as error:
            raise DesignError(
                f"parameter {self.name!r} ({self.reader.kind}): {value!r} {error}", value=value, limit=self.reader.kind
            ) from None


class _OutOfRangeError(ValueError):
    def __init__(self, limits: Range) -> None:
        super().__init__(f"does not lie from {limits}")
        self.limits = limits


class _UnsupportedError(Exception):
    """An annotation that no reader exists for."""


def parameters_of(function: Callable[..., Any], where: str) -> tuple[Parameter, ...]:
    """The parameters of a design in their order.

    `where` names the file in errors.  Raises `DesignError` for a parameter without default or annotation, with an
    annotation that the command line cannot read, or with a default outside its own range, and for `*args`,
    `**kwargs` and positional-only parameters.
    """
    try:
        signature = inspect.signature(function)
    except (TypeError, ValueError) as error:
        raise DesignError(f"{where}: the parameters of design() cannot be read: {error}") from error
    hints = _hints(function, where)
    texts = _help_texts(inspect.getdoc(function) or "", tuple(signature.parameters))
    return tuple(
        _parameter(parameter, hints.get(name, inspect.Parameter.empty), texts.get(name, ""), where)
        for name, parameter in signature.parameters.items()
    )


def summary_of(function: Callable[..., Any]) -> str:
    """The docstring of a design without the part about its parameters.

    >>> def design(width: float = 240):
    ...     '''A tray for test tiles.
    ...
    ...     Args:
    ...         width: inside, mm.
    ...     '''
    >>> summary_of(design)
    'A tray for test tiles.'
    """
    names = tuple(inspect.signature(function).parameters)
    lines: list[str] = []
    for line in (inspect.getdoc(function) or "").splitlines():
        if ARGUMENTS_HEADER.match(line) or _help_line(line, names):
            break
        lines.append(line)
    return "\n".join(lines).strip()


def _hints(function: Callable[..., Any], where: str) -> dict[str, Any]:
    """Annotations of a function, a class's constructor, an object that can be called or a partial of one.

    What it returns is left out: that name often exists for type checkers only.
    """
    target: Any = function
    while isinstance(target, functools.partial):
        target = target.func
    if inspect.isclass(target):
        target = target.__init__
    elif not inspect.isroutine(target):
        target = type(target).__call__
    target = inspect.unwrap(target)
    stand_in = types.FunctionType((lambda: None).__code__, getattr(target, "__globals__", {}))
    written = getattr(target, "__annotations__", {})
    stand_in.__annotations__ = {name: note for name, note in written.items() if name != "return"}
    try:
        return typing.get_type_hints(stand_in, include_extras=True)
    except Exception as error:  # evaluates whatever the design wrote as an annotation
        raise DesignError(
            f"{where}: the annotations of design() cannot be evaluated: {type(error).__name__}: {error}; "
            f"write them with names that exist when the file runs"
        ) from error


def _parameter(parameter: inspect.Parameter, annotation: Any, text: str, where: str) -> Parameter:
    name, kind, default = parameter.name, parameter.kind, parameter.default
    of = f"{where}: parameter {name!r} of design()"
    if kind in (inspect.Parameter.VAR_POSITIONAL, inspect.Parameter.VAR_KEYWORD):
        stars = "*" if kind is inspect.Parameter.VAR_POSITIONAL else "**"
        raise DesignError(f"{where}: design() takes {stars}{name}; name every parameter, with a default and a type")
    if kind is inspect.Parameter.POSITIONAL_ONLY:
        raise DesignError(f"{of} can only be given by position; take out the '/' behind it")
    if annotation is inspect.Parameter.empty:
        raise DesignError(f"{of} has no annotation; write its type, such as `{name}: float = 100`")
    try:
        reader = reader_of(annotation)
    except _UnsupportedError:
        raise DesignError(
            f"{of} is annotated {_spelled(annotation)}, which the command line cannot read; use {SUPPORTED}",
            value=annotation,
        ) from None
    if default is inspect.Parameter.empty:
        raise DesignError(f"{of} has no default; every parameter of a design needs one")
    try:
        default = reader.check(default)
    except ValueError as error:
        raise DesignError(
            f"{of} has the default {default!r}, which {error}; mend one of the two", value=default, limit=reader.kind
        ) from None
    return Parameter(name, reader, default, text)


def _spelled(annotation: Any) -> str:
    return annotation.__name__ if isinstance(annotation, type) and not get_args(annotation) else str(annotation)


def reader_of(annotation: Any) -> Reader:
    """The reader for an annotation.

    >>> reader_of(Annotated[int, Range(1, 9)]).kind, reader_of(float | None).read("none")
    ('int from 1 to 9', None)
    """
    origin = get_origin(annotation)
    if origin is Annotated:
        return _annotated(annotation)
    if origin is Literal:
        return _choice([(str(option), option) for option in get_args(annotation)])
    if origin in (Union, types.UnionType):
        return _union([reader_of(member) for member in get_args(annotation)])
    if annotation in (None, type(None)):
        return _choice([("none", None)])
    if isinstance(annotation, type):
        if issubclass(annotation, enum.Enum):
            members = annotation.__members__
            return _choice(list(members.items()), [(str(member.value), member) for member in members.values()])
        if annotation in _PLAIN:
            return _PLAIN[annotation]
    raise _UnsupportedError


def _annotated(annotation: Any) -> Reader:
    inner = reader_of(get_args(annotation)[0])
    ranges = [note for note in annotation.__metadata__ if isinstance(note, Range)]
    if not ranges:
        return inner
    if len(ranges) > 1 or not set(inner.kind.split(" | ")) <= {"int", "float", "none"}:
        raise _UnsupportedError
    limits = ranges[0]

    def within(value: Any) -> Any:
        if value is not None and value not in limits:
            raise _OutOfRangeError(limits)
        return value

    return Reader(
        f"{inner.kind} from {limits}",
        lambda text: within(inner.read(text)),
        lambda v: within(inner.check(v)),
        limits,
    )


def _union(readers: list[Reader]) -> Reader:
    """The first reader that takes a text decides, but plain text, which takes anything, comes last."""
    ordered = sorted(readers, key=lambda reader: reader.kind == "str")

    def first(attempts: list[Callable[[Any], Any]], value: Any) -> Any:
        reasons: list[ValueError] = []
        for attempt in attempts:
            try:
                return attempt(value)
            except ValueError as error:
                reasons.append(error)
        # A number out of range explains more than that it isn't the word "none".
        raise next((reason for reason in reasons if isinstance(reason, _OutOfRangeError)), None) or ValueError(
            " and ".join(str(reason) for reason in reasons)
        )

    return Reader(
        " | ".join(reader.kind for reader in readers),
        lambda text: first([reader.read for reader in ordered], text),
        lambda value: first([reader.check for reader in ordered], value),
    )


def _choice(options: list[tuple[str, Any]], aliases: list[tuple[str, Any]] | None = None) -> Reader:
    """One of several named values; letter case is ignored where that leaves no doubt, and names beat aliases."""
    kind = " | ".join(name for name, _ in options)

    def read(text: str) -> Any:
        for known in (options, aliases or []):
            for same in (str, str.casefold):
                found = [value for name, value in known if same(name) == same(text)]
                if len(found) == 1:
                    return found[0]
        raise ValueError(f"is none of {kind}" if len(options) > 1 else f"is not {kind}")

    def check(value: Any) -> Any:
        for _, option in options:
            if type(option) is type(value) and option == value:
                return option
        raise ValueError(f"is none of {kind}" if len(options) > 1 else f"is not {kind}")

    return Reader(kind, read, check, options=tuple(name for name, _ in options))


def _read_int(text: str) -> int:
    if not re.fullmatch(r"[+-]?[0-9]{1,18}", text.strip()):
        raise ValueError("is no whole number")
    return int(text)


def _check_int(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError("is no whole number")
    return value


def _read_float(text: str) -> float:
    if not re.fullmatch(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?", text.strip()):
        if re.fullmatch(r"[+-]?[0-9]+,[0-9]+", text.strip()):
            raise ValueError("is no number; write a decimal point")
        if re.fullmatch(r"[+-]?(nan|inf|infinity)", text.strip().lower()):
            raise ValueError("is no finite number")
        raise ValueError("is no number; give it without a unit")
    return _check_float(float(text))


def _check_float(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("is no number")
    number = float(value)
    if not math.isfinite(number):
        raise ValueError("is no finite number")
    return number


def _read_bool(text: str) -> bool:
    word = text.strip().casefold()
    if word in TRUE or word in FALSE:
        return word in TRUE
    raise ValueError("is neither true nor false (also: yes, no, on, off, 1, 0)")


def _check_bool(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError("is neither True nor False")
    return value


def _check_str(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("is no text")
    return value


_PLAIN: dict[type, Reader] = {
    int: Reader("int", _read_int, _check_int),
    float: Reader("float", _read_float, _check_float),
    bool: Reader("bool", _read_bool, _check_bool),
    str: Reader("str", str, _check_str),
}


def _help_line(line: str, names: tuple[str, ...]) -> tuple[str, str] | None:
    """Name and text of a line that explains a parameter, in any of the usual notations; None for other lines."""
    match = re.match(r"^\s*:param\s+(?:[^:]*\s)?(\w+)\s*:\s*(.*)$", line) or re.match(
        r"^\s*(?:[-*]\s+)?`{0,2}(\w+)`{0,2}\s*(?:\([^)]*\))?\s*:(?:\s+(.*))?$", line
    )
    if match is None or match.group(1) not in names:
        return None
    return match.group(1), (match.group(2) or "").strip()


def _help_texts(doc: str, names: tuple[str, ...]) -> dict[str, str]:
    texts: dict[str, str] = {}
    current, margin = "", 0
    for line in doc.splitlines():
        depth = len(line) - len(line.lstrip())
        found = _help_line(line, names)
        if found is not None and not (current and depth > margin):
            current, margin = found[0], depth
            texts[current] = found[1]
        elif current and line.strip() and depth > margin:
            texts[current] = f"{texts[current]} {line.strip()}".strip()
        else:
            current = ""
    return texts
