"""What people read of a kind of joint: its name in lists, and what the booklet says to do where such joints close."""

from __future__ import annotations

import string
from dataclasses import dataclass

from panelwright.plates._validate import shown
from panelwright.plates.errors import JointError

__all__ = ["Words"]

_NAMED = ["mates", "parts"]


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one kind of joint.

    `name` is what lists call a joint of this kind.  `close` is the booklet's sentence for a step in which such joints close:
    `{parts}` stands for the parts that go in, `{mates}` for those that are there already.  `prepare` is what to do with a part
    that holds such a joint within itself, as a bent panel does, and `finish` what to do once all parts of the step are in.

    Raises `JointError` for a name without text, and for a `close` that names anything but `{parts}` and `{mates}`, each once.

    >>> Words("tongue", "Slide {parts} along {mates}.").close.format(parts="lid", mates="left and right")
    'Slide lid along left and right.'
    >>> Words("tongue", "Slide it in.")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.JointError: words of joint 'tongue': close is 'Slide it in.'; name {parts} and {mates} in it, once
    """

    name: str
    close: str
    prepare: str = ""
    finish: str = ""

    def __post_init__(self) -> None:
        """Refuse what would leave parts out of a booklet."""
        if not isinstance(self.name, str) or not self.name.strip():
            raise JointError(f"name of a kind of joint is {shown(self.name)}; say what people call it", value=self.name)
        for what in ("prepare", "finish"):
            if not isinstance(getattr(self, what), str):
                raise JointError(
                    f"words of joint {self.name!r}: {what} is {shown(getattr(self, what))}; give a sentence, or leave it out",
                    value=getattr(self, what),
                )
        if _fields_of(self.close) != _NAMED:
            raise JointError(
                f"words of joint {self.name!r}: close is {shown(self.close)}; name {{parts}} and {{mates}} in it, once",
                value=self.close,
            )


def _fields_of(sentence: object) -> list[str]:
    """What stands in braces, sorted; nothing for what is no sentence."""
    try:
        return sorted(field for _, field, _, _ in string.Formatter().parse(str(sentence)) if field is not None)
    except ValueError:
        return []
