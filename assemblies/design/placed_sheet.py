"""A bent sheet where it stands in an assembly: its parts, each ready to be joined like a plate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from panelwright.joints.spec.pattern import BendingJoint
from panelwright.plates.errors import SelectionError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.placing.plate import Face, PlacedPlate
from panelwright.plates.tolerances import SAME_PLACE

__all__ = ["Chain", "PlacedSheet"]


@dataclass(frozen=True)
class Chain:
    """A bent sheet as recorded: its panel's name, the names of its parts in order, and the hinge that its bends are."""

    name: str
    parts: tuple[str, ...]
    hinge: BendingJoint


@dataclass(frozen=True)
class PlacedSheet:
    """A bent sheet under its name: `parts` in order of the sheet's x, flat and bent ones.

    Wherever faces are wanted, a list of faces from several parts will do: `wall.faces("<Z")` is the whole lower border.
    """

    name: str
    parts: tuple[PlacedPlate, ...]

    def __repr__(self) -> str:
        return f"<PlacedSheet {self.name!r}, {len(self.flats)} flat and {len(self.bends)} bent parts>"

    @property
    def flats(self) -> tuple[PlacedPlate, ...]:
        """The flat parts."""
        return tuple(part for part in self.parts if part.roll is None)

    @property
    def bends(self) -> tuple[PlacedPlate, ...]:
        """The bent parts."""
        return tuple(part for part in self.parts if part.roll is not None)

    @property
    def shows(self) -> tuple[Face, ...]:
        """The show faces of all parts."""
        return tuple(part.show for part in self.parts)

    @property
    def backs(self) -> tuple[Face, ...]:
        """The back faces of all parts."""
        return tuple(part.back for part in self.parts)

    @property
    def ends(self) -> tuple[Face, Face]:
        """The edge faces at which the sheet begins and ends: at a wall's sharp corner, what fingers join to close it.

        Raises `SelectionError` if an end is no single straight edge across the sheet.
        """
        first, last = self.parts[0], self.parts[-1]
        return (_end(self.name, first, first.plate.outline.bounds[0]), _end(self.name, last, last.plate.outline.bounds[2]))

    def faces(self, selector: str) -> tuple[Face, ...]:
        """What a CadQuery selector picks on each part, together; parts on which it picks nothing are passed over.

        So are parts shorter than two thicknesses, such as the flat ends of a wall round a disc, where no joint finds room.

        Raises `SelectionError` if it picks nothing at all.
        """
        found: list[Face] = []
        for part in self.parts:
            x0, _, x1, _ = part.plate.outline.bounds
            if x1 - x0 < 2 * part.plate.stock.t:
                continue
            try:
                found.extend(part.faces(selector))
            except SelectionError:
                continue
        if not found:
            raise SelectionError(
                f"selector {selector!r} picks no face on any part of sheet {self.name!r}", face=selector, value=0, limit=1
            )
        return tuple(found)

    def __getitem__(self, number: int) -> PlacedPlate:
        return self.parts[number]

    def __len__(self) -> int:
        return len(self.parts)

    def __iter__(self) -> Iterator[PlacedPlate]:
        return iter(self.parts)


def _end(name: str, part: PlacedPlate, x: float) -> Face:
    """The one straight edge face of a part that lies at x of the flat sheet."""
    found = [
        face
        for face in part.border
        if isinstance(face.segment, Line)
        and all(abs(spot[0] - x) < SAME_PLACE for spot in (face.segment.start, face.segment.end))
    ]
    if len(found) != 1:
        raise SelectionError(
            f"sheet {name!r} has {len(found)} straight edges at its end x = {x:.3f} mm, where one is wanted; pick faces of "
            f"{part.name!r} by face()",
            plates=(part.name,),
            value=len(found),
            limit=1,
        )
    return found[0]
