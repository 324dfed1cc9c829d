"""CadQuery's selector strings, read: which steps picking has to take, in which order.

The grammar is CadQuery's (its documentation, "String Selectors"), which builds it with a parser library and with the whole of
CadQuery behind it; here it is one pattern and two stacks.

    selector   = operand { ("and" | "or" | "exc" | "except") operand }      "and" binds most, then "or", then "exc"
    operand    = "not" selector | "(" selector ")" | simple                 "not" takes all that follows
    simple     = [ "+" | "-" | "|" | "#" ] direction | "%" type
               | ( ">" | "<" | ">>" | "<<" ) direction [ "[" ["-"] digits "]" ]
               | "front" | "back" | "left" | "right" | "top" | "bottom"
    direction  = "X" | "Y" | "Z" | "XY" | "XZ" | "YZ" | "(" number "," number "," number ")"
    number     = [ "+" | "-" ] digits [ "." [ digits ] ]

Spaces, tabs and line ends may stand between any two of these, and need not: ">Xand<Y" is one, too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Along", "Combine", "OfType", "Ranked", "Selector", "SelectorSyntaxError", "parsed"]

Direction = tuple[float, float, float]

AXES: dict[str, Direction] = {
    "X": (1.0, 0.0, 0.0),
    "Y": (0.0, 1.0, 0.0),
    "Z": (0.0, 0.0, 1.0),
    "XY": (1.0, 1.0, 0.0),
    "XZ": (1.0, 0.0, 1.0),
    "YZ": (0.0, 1.0, 1.0),
}
"""Not of length 1 where they lean: CadQuery's tolerances see them so."""

VIEWS = {
    "front": (AXES["Z"], True),
    "back": (AXES["Z"], False),
    "left": (AXES["X"], False),
    "right": (AXES["X"], True),
    "top": (AXES["Y"], True),
    "bottom": (AXES["Y"], False),
}
"""The direction that a view looks along, and whether it sees the far end of it."""

TYPES = (
    *("PLANE", "CYLINDER", "CONE", "SPHERE", "TORUS", "BEZIER", "BSPLINE", "REVOLUTION", "EXTRUSION", "OFFSET", "OTHER"),
    *("LINE", "CIRCLE", "ELLIPSE", "HYPERBOLA", "PARABOLA"),
)
"""Kinds of surfaces and curves; a plate's faces are of few of them, and the others are no mistake, but pick nothing."""

S = r"[ \t\n\r]*"
NUMBER = r"([+-]?[0-9]+(?:\.[0-9]*)?)"
SIMPLE = re.compile(
    rf"(?P<sign>>>|<<|[<>|#+-]?){S}"
    rf"(?:(?P<axis>{'|'.join(sorted(AXES, key=len, reverse=True))})|\({S}{NUMBER}{S},{S}{NUMBER}{S},{S}{NUMBER}{S}\))"
    rf"(?:{S}\[{S}(?P<index>-?{S}[0-9]+){S}\])?"
    rf"|%{S}(?P<type>(?i:{'|'.join(TYPES)}))"
    rf"|(?P<view>{'|'.join(VIEWS)})"
)
SPACE = re.compile(S)
BETWEEN = re.compile("and|or|except|exc")
BINDING = {"not": 1, "exc": 2, "or": 3, "and": 4}
"""The higher, the earlier it is carried out."""

FAR = 10**9
"""An index that is beyond every list: longer ones say no more, and Python reads no number of 5,000 digits."""


class SelectorSyntaxError(ValueError):
    """A string that is no selector; `at` is where the reader stopped."""

    def __init__(self, at: int) -> None:
        super().__init__(f"no selector from character {at + 1} on")
        self.at = at


@dataclass(frozen=True, slots=True)
class Along:
    """Picks what looks in a direction: along it ("+"), against it ("-"), either way ("|") or square to it ("#")."""

    sign: Literal["+", "-", "|", "#"]
    direction: Direction


@dataclass(frozen=True, slots=True)
class OfType:
    """Picks surfaces or curves of one kind."""

    kind: str


@dataclass(frozen=True, slots=True)
class Ranked:
    """Picks those whose middles lie at one place along a direction, counted by `index` from its lower or its upper end.

    With `is_parallel` only flat faces that look along the direction, either way, are counted.
    """

    direction: Direction
    index: int
    is_upward: bool
    is_parallel: bool


@dataclass(frozen=True, slots=True)
class Combine:
    """Takes the last two picks, for "not" the last one, and puts what they make together in their place."""

    word: Literal["and", "or", "exc", "not"]


Step: TypeAlias = Along | OfType | Ranked | Combine
Selector: TypeAlias = tuple[Step, ...]
"""Steps in the order in which they are carried out: a simple one adds a pick, a `Combine` makes one of those before it."""


def parsed(text: str) -> Selector:
    """The steps of a selector string.

    Raises `SelectorSyntaxError` for any other text, and for a direction of no length where an angle to it is asked for.
    Takes time in proportion to the text, and no deeper stack for deeper brackets.

    >>> parsed(">Z and not |X")[1:]
    (Along(sign='|', direction=(1.0, 0.0, 0.0)), Combine(word='not'), Combine(word='and'))
    """
    steps: list[Step] = []
    pending: list[str] = []  # operators that wait for their right side, and brackets that wait to be closed

    def settle(binding: int) -> None:
        while pending and pending[-1] != "(" and BINDING[pending[-1]] >= binding:
            steps.append(Combine(pending.pop()))  # type: ignore[arg-type]  # brackets stay

    at = _after_space(text, 0)
    while True:
        if found := SIMPLE.match(text, at):
            steps.append(_step(found))
        elif text.startswith("not", at) or text.startswith("(", at):
            word = "not" if text[at] == "n" else "("
            pending.append(word)
            at = _after_space(text, at + len(word))
            continue
        else:
            raise SelectorSyntaxError(at)
        at = _after_space(text, found.end())
        while text.startswith(")", at) and "(" in pending:
            settle(0)
            pending.pop()
            at = _after_space(text, at + 1)
        if at == len(text):
            break
        between = BETWEEN.match(text, at)
        if between is None:
            raise SelectorSyntaxError(at)
        word = between[0].removesuffix("ept")
        settle(BINDING[word])
        pending.append(word)
        at = _after_space(text, between.end())
    settle(0)
    if pending:
        raise SelectorSyntaxError(at)
    return tuple(steps)


def _after_space(text: str, at: int) -> int:
    found = SPACE.match(text, at)
    assert found is not None  # it may be empty
    return found.end()


def _step(found: re.Match[str]) -> Step:
    if found["type"]:
        return OfType(found["type"].upper())
    if found["view"]:
        direction, is_upward = VIEWS[found["view"]]
        return Ranked(direction, -1, is_upward, is_parallel=False)
    x, y, z = AXES[found["axis"]] if found["axis"] else (float(number) for number in found.group(3, 4, 5))
    sign, index = found["sign"], found["index"]
    if sign and sign in "<<>>":
        return Ranked((x, y, z), -1 if index is None else _number(index), ">" in sign, index is not None and len(sign) == 1)
    if index is not None:
        raise SelectorSyntaxError(found.start("index") - 1)  # only places along a direction are counted
    if sign != "|" and not (x or y or z):
        raise SelectorSyntaxError(found.start())
    return Along(sign or "+", (x, y, z))  # type: ignore[arg-type]  # one of the four, by the pattern


def _number(index: str) -> int:
    digits = index.lstrip("-" + " \t\n\r").lstrip("0")
    size = FAR if len(digits) > 9 else int(digits or 0)
    return -size if index.startswith("-") else size
