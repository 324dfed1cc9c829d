"""Finished parts, distinct panels and bought parts as plain data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from panelwright.joints.spec.fasteners import Fastener
from panelwright.plates.geometry.bending import FlatPiece, RoundPiece
from panelwright.plates.geometry.curves import Loop, Segment, around
from panelwright.plates.geometry.frame import Frame, Vector
from panelwright.plates.materials.stock import Stock

__all__ = ["Bought", "Panel", "Part", "Unrolled"]


@dataclass(frozen=True, slots=True)
class _Finish:
    """What a bought part looks like in previews."""

    rgb: tuple[int, int, int]


_STEEL = _Finish((127, 127, 127))


@dataclass(frozen=True, slots=True)
class Bought:
    """One screw or nut where it sits: like a `Part` it has a name, a frame, and a solid in that frame.

    `name` is the designation and a number; `mass_kg` that of the solid in steel; `plates` are those that its joint holds
    together.
    """

    name: str
    fastener: Fastener
    solid: Any
    mass_kg: float
    plates: tuple[str, ...] = ()

    @property
    def stock(self) -> _Finish:
        """What colours it: neutral grey, no colour of the palette, so that no plate looks like it."""
        return _STEEL

    @property
    def frame(self) -> Frame:
        """Where it sits in the product."""
        return self.fastener.frame

    @property
    def carrier(self) -> str:
        """Name of the plate that it stays with when the joint is opened."""
        return self.fastener.carrier

    @property
    def way_out(self) -> Vector:
        """Unit vector in which it leaves that plate."""
        return self.fastener.way_out


@dataclass(frozen=True, slots=True)
class Unrolled:
    """What a bent part is made of when it lies flat.

    `members` are its plates.  `whole` are its loops before any slit, `loops` those with slits wider than the kerf only;
    `strokes` are the middle lines of slits as wide as the kerf, which the beam cuts in one pass.  `bends` are the outlines of
    the strips that are bent afterwards.  `standing` are its flat and its rolled pieces without slits, in the frame of the part.
    """

    members: tuple[str, ...]
    whole: tuple[Loop, ...]
    loops: tuple[Loop, ...]
    strokes: tuple[tuple[Segment, ...], ...]
    bends: tuple[Loop, ...] = ()
    standing: tuple[FlatPiece | RoundPiece, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Part:
    """One plate after its joints: a solid in its own frame, and where it stands.

    `solid` is the kernel's solid in the plate's local frame; `loops` were read back from it, outer loops first.  Plates
    that hinges make one panel are one part: its `solid` is bent, its `loops` lie flat in the frame of its first plate, and
    `unrolled` says the rest.
    """

    name: str
    stock: Stock
    frame: Frame
    solid: Any
    loops: tuple[Loop, ...]
    marks: tuple[tuple[Segment, ...], ...] = ()
    unrolled: Unrolled | None = None

    def __repr__(self) -> str:
        return f"<Part {self.name!r} of {self.stock!r}>"

    @property
    def plates(self) -> tuple[str, ...]:
        """Names of the plates that this part is."""
        return (self.name,) if self.unrolled is None else self.unrolled.members

    @property
    def bent_t(self) -> float | None:
        """Thickness in mm of a part that is bent, None of a flat one."""
        return None if self.unrolled is None else self.stock.t

    @property
    def area_mm2(self) -> float:
        """Area of the flat part, from the loops of the solid."""
        return sum(loop.area for loop in self.loops)

    @property
    def mass_kg(self) -> float | None:
        """Mass, or None for stock of unknown density."""
        if self.stock.density is None:
            return None
        return self.area_mm2 * self.stock.t * 1e-9 * self.stock.density


@dataclass(frozen=True, slots=True)
class Panel:
    """One distinct flat part to cut, and the plates that it serves.

    `loops` is the finished shape as seen from the show face, moved so that its bounding box starts at the origin; `cuts`
    holds the same loops moved half a kerf into the waste, in the same order: what the machine follows.  Slits as wide as
    the kerf are no loops in `cuts` but `strokes`: open chains that the beam follows once.  `members` are the plates that
    hinges make one panel, in its first piece; empty for a panel without hinges.  `turned_over` names those of `plates` that
    are mirror images: their pieces are cut like the others, and then turned over.  `bends` are the outlines of the strips that
    are bent after cutting.
    """

    name: str
    stock: Stock
    plates: tuple[str, ...]
    loops: tuple[Loop, ...]
    cuts: tuple[Loop, ...]
    marks: tuple[tuple[Segment, ...], ...]
    area_mm2: float
    mass_kg: float | None
    strokes: tuple[tuple[Segment, ...], ...] = ()
    members: tuple[str, ...] = ()
    turned_over: tuple[str, ...] = ()
    bends: tuple[Loop, ...] = ()

    def __repr__(self) -> str:
        return f"<Panel {self.name!r}, {self.quantity} of {self.stock!r}>"

    @property
    def quantity(self) -> int:
        """How many to cut."""
        return len(self.plates)

    @property
    def bbox_mm(self) -> tuple[float, float]:
        """Width and height of the finished panel."""
        left, low, right, high = around(loop.bounds for loop in self.loops)
        return (right - left, high - low)
