"""Everything that Panelwright raises.

One root, `PanelwrightError`; every child also inherits the nearest builtin, so `except ValueError` works where a
reader would expect it to.  Each error keeps what it speaks of as attributes: the plates, the face, the offending
value and the limit it broke.
"""

from __future__ import annotations

__all__ = [
    "ArgumentError",
    "DesignError",
    "ForeignFaceError",
    "JointError",
    "KerfError",
    "KernelError",
    "MaterialError",
    "NamingError",
    "NestError",
    "OutlineError",
    "OutputError",
    "PanelwrightError",
    "PlacementError",
    "SelectionError",
    "ShopError",
    "SizeError",
]


class PanelwrightError(Exception):
    """Root of all errors that the toolkit raises on purpose.

    `plates` names the plates concerned, `face` the face, `value` what was given and `limit` what it had to respect;
    each is empty or None where it does not apply.

    >>> try:
    ...     raise SizeError("width of 'base' is 0 mm; it must be above 0", plates=("base",), value=0, limit=0)
    ... except ValueError as error:
    ...     print(error, error.plates, error.value)
    width of 'base' is 0 mm; it must be above 0 ('base',) 0
    """

    def __init__(
        self,
        message: str,
        *,
        plates: tuple[str, ...] = (),
        face: str | None = None,
        value: object = None,
        limit: object = None,
    ) -> None:
        super().__init__(message)
        self.plates = plates
        self.face = face
        self.value = value
        self.limit = limit


class ArgumentError(PanelwrightError, TypeError):
    """A value of another kind than wanted, such as text for a face, or an argument that a function does not take."""


class SizeError(PanelwrightError, ValueError):
    """A length, count, angle or ratio that no sheet can have: zero, negative, not a number, infinite."""


class OutlineError(PanelwrightError, ValueError):
    """An outline that bounds no single flat region: open, self-crossing, not planar, or with a hole outside it."""


class SelectionError(PanelwrightError, LookupError):
    """A selector that found nothing, or several things where one was needed."""


class ForeignFaceError(PanelwrightError, ValueError):
    """Faces of plates that do not stand in one assembly."""


class PlacementError(PanelwrightError, ValueError):
    """A placement that cannot be carried out, such as standing a plate on a vertical face."""


class JointError(PanelwrightError, ValueError):
    """A joint that cannot be made between the two faces given."""


class NamingError(PanelwrightError, ValueError):
    """A name that is taken already or that no file system or STEP reader can carry."""


class NestError(PanelwrightError, ValueError):
    """Pieces and sheets that cannot be nested: a piece larger than every sheet, pins that overlap, a name taken twice."""


class KerfError(PanelwrightError, ValueError):
    """A loop, or part of one, that is too narrow for the beam."""


class KernelError(PanelwrightError, RuntimeError):
    """The geometry kernel failed, or gave back something that does not pass its check."""


class DesignError(PanelwrightError, ValueError):
    """A design file that cannot be read or run, or a parameter that it does not take."""


class MaterialError(PanelwrightError, ValueError):
    """A material that must not be cut by the machine that is to cut it."""


class ShopError(PanelwrightError, ValueError):
    """A shop file that cannot be read or written, a stock that it does not have, or a reading that cannot be right."""


class OutputError(PanelwrightError, OSError):
    """An output folder or file could not be written, and what was there is untouched; or one could not be read."""
