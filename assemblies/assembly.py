"""The product: named plates, sub-assemblies, and the joins between them.

An `Assembly` only collects.  `resolve`, `check` and `product` work on what has been collected so far and change nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panelwright.joints.contact import Body, Hold
from panelwright.joints.pattern import Joint
from panelwright.joints.relief import Relief
from panelwright.plates._validate import finite
from panelwright.plates.errors import DesignError, ForeignFaceError, JointError, NamingError
from panelwright.plates.frame import Frame
from panelwright.plates.outline import Outline, outline_of
from panelwright.plates.placement import Placement, placement_of
from panelwright.plates.plate import Face, PlacedPlate, Plate
from panelwright.plates.stock import Stock

from .naming import usable_name

if TYPE_CHECKING:
    import cadquery as cq

    from .product import Bought, Finding, Part, Product
    from .resolve import Resolved

__all__ = ["Assembly", "PlacedAssembly"]


@dataclass(frozen=True)
class _Join:
    """A join as recorded: names of plates in the assembly that it was made in, and places on them."""

    first: Face
    second: Face
    joint: Joint


@dataclass(frozen=True)
class _Rule:
    """Where a join comes from and what applies to it."""

    first: Hold
    second: Hold
    joint: Joint
    clearance: float
    relief: Relief | None


@dataclass(frozen=True)
class PlacedAssembly:
    """A sub-assembly under its name in another one.  `drawer["front"]` is its plate, ready to be joined there."""

    name: str
    assembly: Assembly
    frame: Frame
    owner: Assembly

    def __getitem__(self, name: str) -> PlacedPlate:
        for placed in self.assembly.placed_plates():
            if placed.name == name:
                return placed.moved_to(f"{self.name}.{name}", placed.frame.then(self.frame), self.owner)
        known = ", ".join(placed.name for placed in self.assembly.placed_plates())
        raise NamingError(f"sub-assembly {self.name!r} has no plate {name!r}; it has {known}", value=name)


class Assembly:
    """Named plates, each standing somewhere, and how they are joined.

    - `stock`: what plates are made of unless they say otherwise.
    - `clearance`: mm, for all joints made here that give none of their own; by default the larger of the two stocks'.
    - `relief`: corner relief for all joints made here that give none.
    - `show_hardware`: whether screws and nuts stand in the STEP and in `to_cadquery()`; they are proven and counted anyway.

    >>> from panelwright.joints import join, tabs
    >>> from panelwright.plates import rectangle, standing
    >>> stand = Assembly("card stand", stock=Stock("birch plywood", 4))
    >>> base = stand.add("base", rectangle(120, 60))
    >>> back = stand.add("back", rectangle(120, 80), standing(base.face(">Z"), facing="-Y", inset=None))
    >>> join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    >>> stand.check()
    ()
    """

    def __init__(
        self,
        name: str,
        *,
        stock: Stock | None = None,
        clearance: float | None = None,
        relief: Relief | None = None,
        show_hardware: bool = True,
    ) -> None:
        self.name = usable_name(name, "assembly")
        if stock is not None and not isinstance(stock, Stock):
            raise DesignError(f"stock of assembly {name!r} is {stock!r}; give a Stock", value=stock)
        self.stock = stock
        self.clearance = None if clearance is None else finite(clearance, f"clearance of assembly {name!r}")
        self.relief = relief
        self.show_hardware = show_hardware
        self._plates: dict[str, PlacedPlate] = {}
        self._assemblies: dict[str, PlacedAssembly] = {}
        self._loose: set[str] = set()
        self._joins: list[_Join] = []
        self._joined: set[frozenset[tuple[str, tuple[Any, ...]]]] = set()
        self._touching: Joint | None = None
        self._pairs: dict[frozenset[Stock], float] = {}

    def add(
        self,
        name: str,
        item: Any,
        place: Placement | Frame | cq.Location | cq.Plane | None = None,
        *,
        stock: Stock | None = None,
        loose: bool = False,
    ) -> Any:
        """Put a plate or a sub-assembly in.

        `item` is an outline (or a CadQuery `Sketch`, `Workplane`, `Face` or `Wire`), a `Plate`, or an `Assembly`.  `place`
        is a placement helper such as `standing(...)`, a `Frame`, or a CadQuery `Location` or `Plane`; without one the item
        lies at the origin, show face up.  A `loose` item, such as a lid that lifts off, may touch nothing else.

        Returns the `PlacedPlate` (or `PlacedAssembly`) to pick faces from.  Raises `NamingError` for a name that is taken
        or unusable, `DesignError` for a plate without stock.
        """
        known = usable_name(name, "plate")
        if known in self._plates or known in self._assemblies:
            raise NamingError(
                f"assembly {self.name!r} has a plate {known!r} already; give this one another name",
                plates=(known,),
                value=name,
            )
        if isinstance(item, Assembly):
            if stock is not None:
                raise DesignError(
                    f"sub-assembly {known!r} is given a stock, but its plates have theirs; leave it out, or give it to "
                    f"Assembly({item.name!r}, …)"
                )
            return self._add_assembly(known, item, place, loose=loose)
        if isinstance(item, Plate):
            plate = item if stock is None else Plate(item.outline, stock)
        else:
            outline = item if isinstance(item, Outline) else outline_of(item)
            chosen = stock or self.stock
            if chosen is None:
                raise DesignError(
                    f"plate {known!r} has no stock; give stock= here or to Assembly({self.name!r}, …)", plates=(known,)
                )
            plate = Plate(outline, chosen)
        plate, frame = placement_of(place).place(plate)
        placed = PlacedPlate(known, plate, frame, self)
        self._plates[known] = placed
        if loose:
            self._loose.add(known)
        return placed

    def _add_assembly(self, name: str, assembly: Assembly, place: Any, *, loose: bool) -> PlacedAssembly:
        if assembly is self or any(assembly is inner for inner in self._ancestry(assembly)):
            raise DesignError(f"assembly {assembly.name!r} would hold itself; build another one for the inside")
        if isinstance(place, Placement):
            raise DesignError(
                f"sub-assembly {name!r} is placed by {type(place).__name__}; give a Frame, a cadquery Location or a Plane"
            )
        frame = Frame() if place is None else Frame.of(place)
        placed = PlacedAssembly(name, assembly, frame, self)
        self._assemblies[name] = placed
        if loose:
            self._loose.add(name)
        return placed

    def _ancestry(self, assembly: Assembly) -> Iterator[Assembly]:
        """Whether `self` sits anywhere inside `assembly`: yields `assembly` once for each such place."""
        for inner in assembly._assemblies.values():
            if inner.assembly is self:
                yield assembly
            yield from (assembly for _ in self._ancestry(inner.assembly))

    def __getitem__(self, name: str) -> PlacedPlate:
        """The plate of that name; "drawer.front" reaches into a sub-assembly."""
        for placed in self.placed_plates():
            if placed.name == name:
                return placed
        known = ", ".join(placed.name for placed in self.placed_plates()) or "none yet"
        raise NamingError(f"assembly {self.name!r} has no plate {name!r}; it has {known}", value=name)

    def set_clearance(self, first: Stock, second: Stock, clearance: float) -> None:
        """Clearance in mm for all joints made here between two stocks that give none of their own."""
        self._pairs[frozenset({first, second})] = finite(clearance, "clearance between two stocks")

    def clearance_of(self, joint: Joint, first: Stock, second: Stock) -> float:
        """The joint's own clearance, else that of the two stocks, else the assembly's, else the larger stock's."""
        if joint.clearance is not None:
            return joint.clearance
        pair = self._pairs.get(frozenset({first, second}))
        if pair is not None:
            return pair
        return self.clearance if self.clearance is not None else max(first.clearance, second.clearance)

    def placed_plates(self) -> tuple[PlacedPlate, ...]:
        """All plates in this assembly's coordinates, in the order added, those of sub-assemblies after its own."""
        inner = [
            placed.moved_to(f"{sub.name}.{placed.name}", placed.frame.then(sub.frame), self)
            for sub in self._assemblies.values()
            for placed in sub.assembly.placed_plates()
        ]
        return (*self._plates.values(), *inner)

    def loose_groups(self) -> tuple[frozenset[str], ...]:
        """Names of plates that may touch nothing else: each loose plate by itself, each loose sub-assembly as a whole."""
        found = [frozenset({name}) for name in self._plates if name in self._loose]
        for sub in self._assemblies.values():
            if sub.name in self._loose:
                found.append(frozenset(f"{sub.name}.{placed.name}" for placed in sub.assembly.placed_plates()))
            found += [frozenset(f"{sub.name}.{name}" for name in group) for group in sub.assembly.loose_groups()]
        return tuple(found)

    def record_join(self, first: Face, second: Face, joint: Joint) -> None:
        """Keep a join (`panelwright.joints.join` calls this).  Raises `JointError` if the two faces are joined already."""
        for face in (first, second):
            if face.placed.name.split(".")[0] not in self._plates.keys() | self._assemblies.keys():
                raise ForeignFaceError(
                    f"plate {face.placed.name!r} does not stand in assembly {self.name!r}", plates=(face.placed.name,)
                )
        key = _key(first, second)
        is_inner = "." in first.placed.name and "." in second.placed.name
        if key in self._joined or (is_inner and key in self.joined_faces()):
            raise JointError(
                f"{first} and {second} are joined already; leave one join out",
                plates=(first.placed.name, second.placed.name),
                face=first.selector,
            )
        self._joined.add(key)
        self._joins.append(_Join(first, second, joint))

    def record_touching(self, joint: Joint) -> None:
        """Keep the joint for touching faces without one (`panelwright.joints.join_touching` calls this)."""
        if self._touching is not None:
            raise JointError(f"join_touching was called on assembly {self.name!r} before; once is all it takes")
        self._touching = joint

    def joined_faces(self) -> frozenset[frozenset[tuple[str, tuple[Any, ...]]]]:
        """The pairs of faces that have a joint of their own, by plate name and place; sub-assemblies' joints too."""
        own = set(self._joined)
        for sub in self._assemblies.values():
            for pair in sub.assembly.joined_faces():
                own.add(frozenset((f"{sub.name}.{name}", place) for name, place in pair))
        return frozenset(own)

    def flattened(self) -> tuple[tuple[Body, ...], tuple[_Rule, ...]]:
        """All plates in one frame, and all joins between them with what applies to each, in a stable order.

        Raises `DesignError` if there is no plate.
        """
        bodies = tuple(
            Body(number, placed.name, placed.plate, placed.frame)
            for number, placed in enumerate(self.placed_plates())
        )
        if not bodies:
            raise DesignError(f"assembly {self.name!r} holds no plates; add one with add()")
        by_name = {body.name: body for body in bodies}
        return bodies, tuple(self._rules(by_name, "", Frame()))

    def _rules(self, bodies: dict[str, Body], prefix: str, view: Frame) -> Iterator[_Rule]:
        from panelwright.joints.join import touching

        joins = list(self._joins)
        if self._touching is not None:
            joins += [_Join(pair.edge, pair.broad, self._touching) for pair in touching(self)]
        for join in joins:
            holds = [
                Hold(bodies[prefix + face.placed.name], face.place, face.describe, view)
                for face in (join.first, join.second)
            ]
            stocks = [hold.body.plate.stock for hold in holds]
            yield _Rule(
                holds[0],
                holds[1],
                join.joint,
                self.clearance_of(join.joint, stocks[0], stocks[1]),
                join.joint.relief or self.relief,
            )
        for sub in self._assemblies.values():
            yield from sub.assembly._rules(bodies, f"{prefix}{sub.name}.", sub.frame.then(view))

    def resolve(self) -> Resolved:
        """Compute every joint and build every solid.

        Raises the first `JointError` if a joint cannot be made; others are attached to it as notes.
        """
        from .resolve import resolve

        resolved = resolve(self)
        if resolved.failures:
            error = resolved.failures[0]
            for other in resolved.failures[1:]:
                error.add_note(f"also: {other}")
            raise error
        return resolved

    def check(self) -> tuple[Finding, ...]:
        """Everything that the proof finds, errors first; empty if the product is ready to cut."""
        return self.product().findings

    def product(self) -> Product:
        """The resolved and checked product: parts, panels, joints and all findings."""
        from .prove import prove

        return prove(self)

    def to_cadquery(self) -> cq.Assembly:
        """The resolved product as a CadQuery assembly: one named, coloured, placed object for each plate, screw and nut."""
        from panelwright.plates._kernel.export import cadquery_assembly

        from .hardware import bought_parts

        resolved = self.resolve()
        parts: list[Part | Bought] = [*resolved.parts]
        if self.show_hardware:
            parts += bought_parts(resolved.made)
        return cadquery_assembly(self.name, [(p.name, p.solid, p.frame, p.stock.rgb) for p in parts])

    def _repr_svg_(self) -> str:
        """A line drawing for notebooks."""
        from .picture import line_drawing

        return line_drawing(self.resolve().parts).decode("utf-8")


def _key(first: Face, second: Face) -> frozenset[tuple[str, tuple[Any, ...]]]:
    return frozenset({(first.placed.name, first.place), (second.placed.name, second.place)})
