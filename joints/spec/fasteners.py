"""Screws, nuts and the holes for them: tables from the standards, M2.5 to M6, and what a placed one looks like.

Pure data.  Every table names its standard; sizes are the largest that the standard allows unless the text says otherwise,
because openings must take every part that a box of them holds.  All lengths in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeVar

from panelwright.plates._validate import shown
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.frame import Frame, Vector

__all__ = [
    "CLEARANCE_HOLES",
    "NUTS",
    "PITCHES",
    "SCREWS",
    "SIZES",
    "THREAD_LENGTHS",
    "Fastener",
    "NutBody",
    "NutKind",
    "ScrewBody",
    "ScrewKind",
    "hole_for",
    "nut_of",
    "screw_of",
]

SIZES: Mapping[str, float] = MappingProxyType({"M2.5": 2.5, "M3": 3.0, "M4": 4.0, "M5": 5.0, "M6": 6.0})
"""Thread sizes and their nominal diameters."""

PITCHES: Mapping[str, float] = MappingProxyType({"M2.5": 0.45, "M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0})
"""Pitch of the coarse thread, ISO 261."""

THREAD_LENGTHS: Mapping[str, float] = MappingProxyType({"M2.5": 17.0, "M3": 18.0, "M4": 20.0, "M5": 22.0, "M6": 24.0})
"""Reference length of the thread from the tip on longer screws, 2 d + 12: ISO 4762, ISO 7380-1 and ISO 10642; from memory."""

Hole = Literal["fine", "medium", "coarse"]

CLEARANCE_HOLES: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "fine": MappingProxyType({"M2.5": 2.7, "M3": 3.2, "M4": 4.3, "M5": 5.3, "M6": 6.4}),
        "medium": MappingProxyType({"M2.5": 2.9, "M3": 3.4, "M4": 4.5, "M5": 5.5, "M6": 6.6}),
        "coarse": MappingProxyType({"M2.5": 3.1, "M3": 3.6, "M4": 4.8, "M5": 5.8, "M6": 7.0}),
    }
)
"""Diameters of holes that a screw passes freely, ISO 273: series fine (H12), medium (H13) and coarse (H14)."""


@dataclass(frozen=True, slots=True)
class NutKind:
    """One kind of nut in one size: width across flats and thickness."""

    standard: str
    sides: Literal[4, 6]
    s: float
    m: float

    @property
    def corners(self) -> float:
        """Width across sharp corners of a hexagon, 2 s/√3; of a square nut, which lies on its flats, that across flats."""
        return 2 * self.s / math.sqrt(3) if self.sides == 6 else self.s


def _nuts(standard: str, sides: Literal[4, 6], **sizes: tuple[float, float]) -> Mapping[str, NutKind]:
    named = {name.replace("_", "."): size for name, size in sizes.items()}
    return MappingProxyType({name: NutKind(standard, sides, s, m) for name, (s, m) in named.items()})


NUTS: Mapping[str, Mapping[str, NutKind]] = MappingProxyType(
    {
        # hexagon nuts, style 1: s max, m max
        "ISO 4032": _nuts("ISO 4032", 6, M2_5=(5.0, 2.0), M3=(5.5, 2.4), M4=(7.0, 3.2), M5=(8.0, 4.7), M6=(10.0, 5.2)),
        # hexagon thin nuts, chamfered: s max, m max
        "ISO 4035": _nuts("ISO 4035", 6, M2_5=(5.0, 1.6), M3=(5.5, 1.8), M4=(7.0, 2.2), M5=(8.0, 2.7), M6=(10.0, 3.2)),
        # square thin nuts: s, m
        "DIN 562": _nuts("DIN 562", 4, M2_5=(5.0, 1.6), M3=(5.5, 1.8), M4=(7.0, 2.2), M5=(8.0, 2.7), M6=(10.0, 3.2)),
        # square nuts, which begin at M5: s, m
        "DIN 557": _nuts("DIN 557", 4, M5=(8.0, 4.0), M6=(10.0, 5.0)),
    }
)
"""Nuts by standard and size."""

Head = Literal["cap", "button", "countersunk"]


@dataclass(frozen=True, slots=True)
class ScrewKind:
    """One kind of screw in one size.

    `dk` is the head's diameter (of knurled cap heads; the theoretical one of countersunk heads), `k` its height, `key` the
    width across flats of the key that turns it, `key_depth` the least depth of the socket, `lengths` the nominal lengths
    of ISO 888 that the standard lists for this size.
    """

    standard: str
    head: Head
    dk: float
    k: float
    key: float
    key_depth: float
    lengths: tuple[int, ...]


_ISO_4762_LENGTHS = (4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60)
_ISO_7380_1_LENGTHS = (6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60)
_ISO_10642_LENGTHS = (8, 10, 12, 16, 20, 25, 30, 35, 40, 50, 60)


def _screws(
    standard: str, head: Head, lengths: tuple[int, ...], **sizes: tuple[float, float, float, float, int, int]
) -> Mapping[str, ScrewKind]:
    found: dict[str, ScrewKind] = {}
    for name, (dk, k, key, key_depth, shortest, longest) in sizes.items():
        own = tuple(length for length in lengths if shortest <= length <= longest)
        found[name.replace("_", ".")] = ScrewKind(standard, head, dk, k, key, key_depth, own)
    return MappingProxyType(found)


SCREWS: Mapping[str, Mapping[str, ScrewKind]] = MappingProxyType(
    {
        # hexagon socket head cap screws: dk max knurled, k max, s nominal, t min, range of lengths
        "ISO 4762": _screws(
            "ISO 4762",
            "cap",
            _ISO_4762_LENGTHS,
            M2_5=(4.68, 2.5, 2.0, 1.1, 4, 25),
            M3=(5.68, 3.0, 2.5, 1.3, 5, 30),
            M4=(7.22, 4.0, 3.0, 2.0, 6, 40),
            M5=(8.72, 5.0, 4.0, 2.5, 8, 50),
            M6=(10.22, 6.0, 5.0, 3.0, 8, 60),
        ),
        # hexagon socket button head screws, which begin at M3: dk max, k max, s nominal, t min, range of lengths
        "ISO 7380-1": _screws(
            "ISO 7380-1",
            "button",
            _ISO_7380_1_LENGTHS,
            M3=(5.7, 1.65, 2.0, 1.04, 6, 30),
            M4=(7.6, 2.2, 2.5, 1.3, 6, 40),
            M5=(9.5, 2.75, 3.0, 1.56, 8, 50),
            M6=(10.5, 3.3, 4.0, 2.08, 10, 60),
        ),
        # hexagon socket countersunk head screws, 90°, which begin at M3: dk theoretical max, k max, s nominal, t min (from
        # memory), range of lengths
        "ISO 10642": _screws(
            "ISO 10642",
            "countersunk",
            _ISO_10642_LENGTHS,
            M3=(6.72, 1.86, 2.0, 1.1, 8, 30),
            M4=(8.96, 2.48, 2.5, 1.5, 8, 40),
            M5=(11.2, 3.1, 3.0, 1.9, 8, 50),
            M6=(13.44, 3.72, 4.0, 2.2, 8, 60),
        ),
    }
)
"""Screws by standard and size."""


@dataclass(frozen=True, slots=True)
class ScrewBody:
    """A screw's simple shape about its local z: z = 0 in the surface that it is screwed to, the tip at z = `reach`.

    A countersunk head stands `proud` mm out of the surface on the rim of its hole; for other heads that is their height.
    """

    head: Head
    d: float
    dk: float
    k: float
    proud: float
    reach: float
    key: float
    key_depth: float


@dataclass(frozen=True, slots=True)
class NutBody:
    """A nut's simple shape about its local z, from z = 0 to `m`: a prism, two of its flats square to x, with a plain bore."""

    sides: Literal[4, 6]
    s: float
    m: float
    bore: float


@dataclass(frozen=True, slots=True)
class Fastener:
    """One screw or nut where it sits in the whole product's frame: local z runs along the thread, x along the joint line.

    `carrier` is the full name of the plate that it stays with when the joint is opened, and `way_out` the direction, a unit
    vector, in which it then leaves that plate.
    """

    designation: str
    body: ScrewBody | NutBody
    frame: Frame
    carrier: str
    way_out: Vector
    note: str = ""

    @property
    def kind(self) -> Literal["screw", "nut"]:
        """What it is, in one word."""
        return "screw" if isinstance(self.body, ScrewBody) else "nut"


def nut_of(standard: str, size: str) -> NutKind:
    """A nut by standard and size.  Raises `SizeError` for one that the tables don't hold.

    >>> nut_of("DIN 562", "M3").s
    5.5
    >>> nut_of("DIN 557", "M3")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: there is no nut DIN 557 M3 here; DIN 557 has M5, M6
    """
    _check_size(size)
    return _looked_up(NUTS, standard, size, "nut")


def screw_of(standard: str, size: str) -> ScrewKind:
    """A screw by standard and size.  Raises `SizeError` for one that the tables don't hold.

    >>> screw_of("ISO 4762", "M3").lengths[:5]
    (5, 6, 8, 10, 12)
    """
    _check_size(size)
    return _looked_up(SCREWS, standard, size, "screw")


def hole_for(size: str, series: str = "medium") -> float:
    """Diameter of the clearance hole for a thread by ISO 273, mm.

    >>> hole_for("M3"), hole_for("M3", "fine")
    (3.4, 3.2)
    """
    _check_size(size)
    if not isinstance(series, str) or series not in CLEARANCE_HOLES:
        raise SizeError(f"hole is {shown(series)}; give one of {', '.join(CLEARANCE_HOLES)} (ISO 273)", value=series)
    return CLEARANCE_HOLES[series][size]


Kind = TypeVar("Kind", NutKind, ScrewKind)


def _check_size(size: str) -> None:
    if not isinstance(size, str) or size not in SIZES:
        raise SizeError(f"thread size is {shown(size)}; give one of {', '.join(SIZES)}", value=size, limit=tuple(SIZES))


def _looked_up(table: Mapping[str, Mapping[str, Kind]], standard: str, size: str, what: str) -> Kind:
    if not isinstance(standard, str) or standard not in table:
        raise SizeError(f"{what} is {shown(standard)}; give one of {', '.join(table)}", value=standard, limit=tuple(table))
    if size not in table[standard]:
        raise SizeError(
            f"there is no {what} {standard} {size} here; {standard} has {', '.join(table[standard])}",
            value=size,
            limit=tuple(table[standard]),
        )
    return table[standard][size]
