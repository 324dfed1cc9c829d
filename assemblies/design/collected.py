"""What a design says of a product: named plates, sub-assemblies, and the joins between them.

Here it is only collected; what is made of it stands below this room, and changes nothing here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, overload

from panelwright.joints.joining.join import body_of
from panelwright.joints.joining.touching import Skip
from panelwright.joints.meeting.side import Body
from panelwright.joints.spec.pattern import BendingJoint, Joint, require_joint
from panelwright.joints.spec.relief import Relief, require_relief
from panelwright.plates._validate import flag, instance, items, point, positive, shown, text
from panelwright.plates.errors import DesignError, ForeignFaceError, JointError, NamingError
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.outline import CutOut, Drawn, Outline, outline_of
from panelwright.plates.placing.placement import Placement, placement_of
from panelwright.plates.placing.plate import Face, Place, PlacedPlate, Plate

from .bent_sheet import Bend, SheetPart, parts_of
from .boxed import frame_of
from .caller import design_line
from .joins import Join
from .naming import usable_name
from .placed_sheet import Chain, PlacedSheet
from .stated_clearances import StatesClearances
from .wall_path import wall_path, wrapped_parts

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["Collected", "PlacedAssembly"]

Somewhere: TypeAlias = "Frame | cq.Location | cq.Plane"
"""Where something stands, said without asking for it first."""


@dataclass(frozen=True)
class PlacedAssembly:
    """A sub-assembly under its name in another one.  `drawer["front"]` is its plate, ready to be joined there.

    >>> from panelwright.assemblies import Assembly, tray
    >>> drawer = Assembly("cabinet").add("drawer", tray("drawer", stock=Stock("MDF", 3), width=90, depth=60, height=30))
    >>> drawer["front"].name, len(drawer.plates)
    ('drawer.front', 5)
    """

    name: str
    assembly: Collected
    frame: Frame
    owner: Collected

    def __post_init__(self) -> None:
        text(self.name, "name of a sub-assembly")
        of = f"of sub-assembly {self.name!r}"
        instance(self.assembly, Collected, f"assembly {of}", "give an Assembly")
        instance(self.frame, Frame, f"frame {of}", "give a Frame")
        instance(self.owner, Collected, f"owner {of}", "give the Assembly that it stands in")

    def __repr__(self) -> str:
        return f"<PlacedAssembly {self.name!r}: {self.assembly!r}>"

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


class Collected(StatesClearances):
    """What a design has said of a product so far: plates, each standing somewhere, and how they are joined.

    Users make an `Assembly`, which can also be resolved, proven and shown.
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
            named = f"stock({stock!r})" if isinstance(stock, str) else "Stock(…)"
            raise DesignError(f"stock of assembly {name!r} is {shown(stock)}; give a Stock, such as {named}", value=stock)
        self.stock = stock
        super().__init__(f"assembly {name!r}", clearance, relief)
        self.show_hardware = flag(show_hardware, f"show_hardware of assembly {name!r}")
        self._plates: dict[str, PlacedPlate] = {}
        self._assemblies: dict[str, PlacedAssembly] = {}
        self._loose: set[str] = set()
        self._chains: list[Chain] = []
        self._joins: list[Join] = []
        self._joined: set[frozenset[tuple[str, Place]]] = set()
        self._touching: tuple[Joint, Skip, str] | None = None
        self._bodies: dict[str, Body] = {}

    def __repr__(self) -> str:
        count = f"{len(self._plates)} plates, {len(self._assemblies)} sub-assemblies, {len(self._joins)} joins"
        return f"<{type(self).__name__} {self.name!r}, {count}>"

    @overload
    def add(
        self,
        name: str,
        item: Drawn | Plate,
        place: Placement | Somewhere | None = None,
        *,
        stock: Stock | None = None,
        loose: bool = False,
    ) -> PlacedPlate: ...

    @overload
    def add(
        self, name: str, item: Collected, place: Placement | Somewhere | None = None, *, loose: bool = False
    ) -> PlacedAssembly: ...

    def add(
        self,
        name: str,
        item: Drawn | Plate | Collected,
        place: Placement | Somewhere | None = None,
        *,
        stock: Stock | None = None,
        loose: bool = False,
    ) -> PlacedPlate | PlacedAssembly:
        """Put a plate or a sub-assembly in.

        `item` is an outline (or a CadQuery `Sketch`, `Workplane`, `Face` or `Wire`), a `Plate`, or an `Assembly`.  `place`
        is a placement helper such as `standing(...)`, a `Frame`, or a CadQuery `Location` or `Plane`; without one the item
        lies at the origin, show face up.  To a helper an assembly is a plate as large and as thick as the box round it, its z
        the show side: `lying(floor.show)` sets a drawer down.  A `loose` item, such as a lid that lifts off, is joined to
        nothing: it lies on others or stands beside them.

        Returns the `PlacedPlate` (or `PlacedAssembly`) to pick faces from.  Raises `NamingError` for a name that is taken
        or unusable, `DesignError` for a plate without stock.
        """
        if isinstance(item, str) and not isinstance(name, str):
            raise DesignError(
                f"add() is given {shown(name)} as the name and {item!r} as the plate; the name comes first: add({item!r}, …)",
                value=name,
            )
        known = usable_name(name, "plate")
        self._check_new(known)
        flag(loose, f"loose= of {known!r}")
        if stock is not None:
            instance(stock, Stock, f"stock of plate {known!r}", "give a Stock", DesignError)
        if isinstance(item, Collected):
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
            plate = Plate(outline, self._stock_of(known, stock))
        plate, frame = placement_of(place).place(plate)
        placed = PlacedPlate(known, plate, frame, self)
        self._plates[known] = placed
        if loose:
            self._loose.add(known)
        return placed

    def add_bent(
        self,
        name: str,
        outline: Drawn,
        bends: Bend | Iterable[Bend],
        place: Placement | Somewhere | None = None,
        *,
        hinge: BendingJoint | None = None,
        stock: Stock | None = None,
    ) -> PlacedSheet:
        """Put in a sheet that is bent where the design says: one panel, drawn flat, with hinges laid into it.

        `outline` is the flat sheet, `bends` say where along its x it bends (see `bend`); `place` is where its first flat part
        goes.  `hinge` gives the slits' pattern and sizes; by default `living_hinge()`.

        Raises `SizeError` for bends that overlap or end at a border, `OutlineError` for a cut-out in a bend.

        >>> from panelwright.assemblies import Assembly, bend
        >>> from panelwright.plates import rectangle
        >>> strong = {"shear_modulus": 620, "shear_strength": 9.5, "density": 680}
        >>> stand = Assembly("card stand", stock=Stock("birch plywood", 3, measured=3, kerf=0.2, **strong))
        >>> sheet = stand.add_bent("sheet", rectangle(200, 60), bend(-36, radius=45, angle_deg=90))
        >>> [part.name for part in sheet], [panel.name for panel in stand.product().panels]
        (['sheet 1', 'sheet bend 1', 'sheet 2'], ['sheet'])
        >>> [finding.code for finding in stand.check()]  # nothing holds it yet
        ['SPRINGS']
        """
        flat = outline if isinstance(outline, Outline) else outline_of(outline)
        known = usable_name(name, "sheet")
        chosen = self._stock_of(known, stock)
        no_bends = (f"bends of sheet {known!r}", "give one or several as bend(…)", DesignError)
        given = (bends,) if isinstance(bends, Bend) else items(bends, *no_bends) if isinstance(bends, Iterable) else (bends,)
        for item in given:
            if not isinstance(item, Bend):
                raise DesignError(
                    f"{shown(item)} is no bend of sheet {known!r}; give one as bend(…)", plates=(known,), value=item
                )
        if not given:
            raise DesignError(f"sheet {known!r} has no bend; use add() for a flat plate", plates=(known,))
        rolls = [item.roll(chosen.t) for item in given]
        first = parts_of(known, flat, rolls, Frame(), chosen.t)[0]
        _, frame = placement_of(place).place(Plate(first.outline, chosen))
        return self._add_parts(known, parts_of(known, flat, rolls, frame, chosen.t), chosen, hinge)

    def add_wrap(
        self,
        name: str,
        height: float,
        path: Drawn,
        place: Somewhere | None = None,
        *,
        outside: bool = True,
        seam: tuple[float, float] | None = None,
        cut: CutOut = (),
        zero: tuple[float, float] | None = None,
        land: float | None = None,
        hinge: BendingJoint | None = None,
        stock: Stock | None = None,
    ) -> PlacedSheet:
        """Put in a wall that goes round a path, bent wherever the path is an arc: one panel.

        `path` is an outline of lines and tangent arcs in the plane of `place`, such as a base's own outline and frame; the
        wall stands on that plane, `height` mm high, its show face outwards, outside the path or, with `outside=False`, inside
        it.  It begins and ends at `seam`, the point of the path nearest to it: by default the path's one sharp corner, or the
        middle of its longest straight side, or of an arc where there is none.  `wall.ends` are the two faces that meet there;
        at a sharp corner `join(*wall.ends, fingers())` closes it.  A seam on an arc, such as a disc's, lies between two flats
        of `land` mm (by default one thickness): from 0.27 of the radius on these make a corner of 30°, and the same fingers
        hold.  A seam that nothing closes is told (`SEAM`), with the land that would do.  `cut` are cut-outs in the flat
        wall, x counted along the middle of the sheet from `zero`, the point of the path nearest to it (by default the seam),
        to the right as seen from outside, y from the wall's lower border.

        Raises `OutlineError` for other curves (see `Outline.in_arcs`) and for other sharp corners, `SizeError` for arcs
        that are too tight.

        >>> from panelwright.assemblies import Assembly
        >>> from panelwright.joints import join, tabs
        >>> from panelwright.plates import rounded_rectangle
        >>> strong = {"shear_modulus": 620, "shear_strength": 9.5}
        >>> pot = Assembly("brush pot", stock=Stock("birch plywood", 3, measured=3, kerf=0.2, clearance=0.1, **strong))
        >>> base = pot.add("base", rounded_rectangle(160, 130, 50))
        >>> wall = pot.add_wrap("wall", 60, rounded_rectangle(140, 110, 45), Frame((0, 0, 3)))
        >>> join(wall.faces("<Z"), base.face(">Z"), tabs(count=1))
        >>> len(wall.flats), len(wall.bends), [finding.code for finding in pot.check()]  # its seam is to be glued
        (5, 4, ['SEAM'])
        """
        known = usable_name(name, "sheet")
        chosen = self._stock_of(known, stock)
        high = positive(height, f"height of wall {known!r}")
        flag(outside, f"outside= of wall {known!r}")
        seam = None if seam is None else point(seam, f"seam of wall {known!r}")
        zero = None if zero is None else point(zero, f"zero of wall {known!r}")
        flat = chosen.t if land is None else positive(land, f"land of wall {known!r}")
        drawn = path if isinstance(path, Outline) else outline_of(path)
        way = wall_path(drawn.outer, chosen.t, outside=outside, seam=seam, land=flat)
        ground = Frame() if place is None else Frame.of(place)
        shapes = tuple(cut) if isinstance(cut, list | tuple) else (cut,)
        parts = wrapped_parts(known, high, way, ground, chosen.t, outside=outside, cut=shapes, zero=zero)
        return self._add_parts(known, parts, chosen, hinge)

    def _stock_of(self, name: str, stock: Stock | None) -> Stock:
        if stock is not None:
            return instance(stock, Stock, f"stock of plate {name!r}", "give a Stock", DesignError)
        chosen = self.stock
        if chosen is None:
            raise DesignError(f"plate {name!r} has no stock; give stock= here or to Assembly({self.name!r}, …)", plates=(name,))
        return chosen

    def _add_parts(self, name: str, parts: Sequence[SheetPart], stock: Stock, hinge: BendingJoint | None) -> PlacedSheet:
        counts = {True: 0, False: 0}
        placed: list[PlacedPlate] = []
        for part in parts:
            is_bent = part.roll is not None
            counts[is_bent] += 1
            known = f"{name} {'bend ' if is_bent else ''}{counts[is_bent]}"
            placed.append(PlacedPlate(known, Plate(part.outline, stock), part.frame, self, part.roll))
        for known in (name, *(part.name for part in placed)):
            self._check_new(known)
        self._plates.update((part.name, part) for part in placed)
        chosen = _usual_hinge() if hinge is None else hinge
        if isinstance(chosen, type) or not isinstance(chosen, BendingJoint):
            raise DesignError(f"hinge of sheet {name!r} is {shown(hinge)}; give living_hinge(…)", plates=(name,), value=hinge)
        self._chains.append(Chain(name, tuple(part.name for part in placed), chosen))
        return PlacedSheet(name, tuple(placed))

    def _check_new(self, name: str) -> None:
        if name in self._plates or name in self._assemblies or any(chain.name == name for chain in self._chains):
            raise NamingError(
                f"assembly {self.name!r} has a plate {name!r} already; give this one another name",
                plates=(name,),
                value=name,
            )

    def chains(self) -> tuple[Chain, ...]:
        """The bent sheets of this assembly and of its sub-assemblies, all names in full."""
        inner = [
            Chain(f"{sub.name}.{chain.name}", tuple(f"{sub.name}.{part}" for part in chain.parts), chain.hinge)
            for sub in self._assemblies.values()
            for chain in sub.assembly.chains()
        ]
        return (*self._chains, *inner)

    def _add_assembly(
        self, name: str, assembly: Collected, place: Placement | Somewhere | None, *, loose: bool
    ) -> PlacedAssembly:
        if assembly is self or any(assembly is inner for inner in self._ancestry(assembly)):
            raise DesignError(f"assembly {assembly.name!r} would hold itself; build another one for the inside")
        if isinstance(place, Placement):
            frame = frame_of(name, assembly.placed_plates(), place)
        else:
            frame = Frame() if place is None else Frame.of(place)
        placed = PlacedAssembly(name, assembly, frame, self)
        self._assemblies[name] = placed
        if loose:
            self._loose.add(name)
        return placed

    def _ancestry(self, assembly: Collected) -> Iterator[Collected]:
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
        raise NamingError(f"assembly {self.name!r} has no plate {shown(name)}; it has {known}", value=name)

    def placed_plates(self) -> tuple[PlacedPlate, ...]:
        """All plates in this assembly's coordinates, in the order added, those of sub-assemblies after its own."""
        return (*self._plates.values(), *(placed for sub in self._assemblies.values() for placed in sub.plates))

    def body_of(self, placed: PlacedPlate) -> Body:
        """A plate as joints see it here, the same one each time: what two plates share is found once and kept with them."""
        instance(placed, PlacedPlate, "plate that joints see", "give a plate that add() gave")
        known = self._bodies.get(placed.name)
        if known is None or (known.plate, known.frame, known.roll) != (placed.plate, placed.frame, placed.roll):
            known = self._bodies[placed.name] = body_of(placed)
        return known

    def loose_groups(self) -> tuple[frozenset[str], ...]:
        """Names of plates that may touch nothing else: each loose plate by itself, each loose sub-assembly as a whole."""
        found = [frozenset({name}) for name in self._plates if name in self._loose]
        for sub in self._assemblies.values():
            if sub.name in self._loose:
                found.append(frozenset(f"{sub.name}.{placed.name}" for placed in sub.assembly.placed_plates()))
            found += [frozenset(f"{sub.name}.{name}" for name in group) for group in sub.assembly.loose_groups()]
        return tuple(found)

    def record_join(self, first: Face, second: Face, joint: object) -> None:
        """Keep a join (`joints.joining.join` calls this).  Raises `JointError` if the two faces are joined already."""
        joint = require_joint(joint, "joint of two plates")
        for face in (first, second):
            instance(face, Face, "what is to be joined", "give a face such as base.face('>Z')", JointError)
            if face.placed.name.split(".")[0] not in self._plates.keys() | self._assemblies.keys():
                raise ForeignFaceError(
                    f"plate {face.placed.name!r} does not stand in assembly {self.name!r}", plates=(face.placed.name,)
                )
        require_relief(joint.relief, f"relief of {joint.kind} between {first} and {second}")
        key = _key(first, second)
        is_inner = "." in first.placed.name and "." in second.placed.name
        if key in self._joined or (is_inner and key in self.joined_faces()):
            raise JointError(
                f"{first} and {second} are joined already; leave one join out",
                plates=(first.placed.name, second.placed.name),
                face=first.selector,
            )
        self._joined.add(key)
        self._joins.append(Join(first, second, joint, design_line()))

    def record_touching(self, joint: Joint, skip: Skip) -> None:
        """Keep the joint for touching faces without one (`panelwright.joints.join_touching` calls this)."""
        if self._touching is not None:
            raise JointError(f"join_touching was called on assembly {self.name!r} before; once is all it takes")
        instance(skip, Skip, "skip of touching plates", "call join_touching(), which makes one", JointError)
        self._touching = (require_joint(joint, "joint of touching plates"), skip, design_line())

    def joined_faces(self) -> frozenset[frozenset[tuple[str, Place]]]:
        """The pairs of faces that have a joint of their own, by plate name and place; sub-assemblies' joints too."""
        own = set(self._joined)
        for sub in self._assemblies.values():
            for pair in sub.assembly.joined_faces():
                own.add(frozenset((f"{sub.name}.{name}", place) for name, place in pair))
        return frozenset(own)

    @property
    def joins(self) -> tuple[Join, ...]:
        """The joins made here, those of sub-assemblies not among them, in the order in which they were made."""
        return tuple(self._joins)

    @property
    def touching_joint(self) -> tuple[Joint, Skip, str] | None:
        """What `join_touching` noted down here: the joint, what it skips, and the design's line."""
        return self._touching

    @property
    def sub_assemblies(self) -> tuple[PlacedAssembly, ...]:
        """The sub-assemblies, in the order added."""
        return tuple(self._assemblies.values())


def _key(first: Face, second: Face) -> frozenset[tuple[str, Place]]:
    return frozenset({(first.placed.name, first.place), (second.placed.name, second.place)})


def _usual_hinge() -> BendingJoint:
    from panelwright.joints import living_hinge  # here, since few designs have a hinge

    return living_hinge()
