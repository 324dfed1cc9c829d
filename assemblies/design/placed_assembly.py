"""A sub-assembly where it stands in another assembly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plates._validate import instance, shown, text
from panelwright.plates.errors import NamingError
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.placing.plate import PlacedPlate

if TYPE_CHECKING:
    from .assembly import Assembly

__all__ = ["PlacedAssembly"]


@dataclass(frozen=True)
class PlacedAssembly:
    """A sub-assembly under its name in another one.  `drawer["front"]` is its plate, ready to be joined there."""

    name: str
    assembly: Assembly
    frame: Frame
    owner: Assembly

    def __post_init__(self) -> None:
        from .assembly import Assembly

        text(self.name, "name of a sub-assembly")
        of = f"of sub-assembly {self.name!r}"
        instance(self.assembly, Assembly, f"assembly {of}", "give an Assembly")
        instance(self.frame, Frame, f"frame {of}", "give a Frame")
        instance(self.owner, Assembly, f"owner {of}", "give the Assembly that it stands in")

    @property
    def plates(self) -> tuple[PlacedPlate, ...]:
        """All its plates where they stand in the other one."""
        return tuple(
            placed.moved_to(f"{self.name}.{placed.name}", placed.frame.then(self.frame), self.owner)
            for placed in self.assembly.placed_plates()
        )

    def __getitem__(self, name: str) -> PlacedPlate:
        for placed in self.plates:
            if isinstance(name, str) and placed.name == f"{self.name}.{name}":
                return placed
        known = ", ".join(placed.name for placed in self.assembly.placed_plates())
        raise NamingError(f"sub-assembly {self.name!r} has no plate {shown(name)}; it has {known}", value=name)
