"""Which faces of an assembly touch, and joining them all.

Two kinds of pairs: an edge face on a broad face, square or slanting, and two edge faces that meet along a corner.  What
may touch nothing (a loose lid, a drawer) is never joined by `join_touching`, nor is what the design says to skip; both are
told by the proof.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal, Protocol, TypeAlias, runtime_checkable

import numpy as np
from numpy.typing import NDArray
from panelwright.joints.meeting.contact import Contact, Hold
from panelwright.joints.meeting.edge_contacts import passage, shared_edge
from panelwright.joints.meeting.side import Body
from panelwright.joints.spec.pattern import Joint, require_joint
from panelwright.plates._validate import items as items_of
from panelwright.plates._validate import shown
from panelwright.plates.errors import ForeignFaceError, JointError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import dot
from panelwright.plates.placing.plate import Face, Place, PlacedPlate
from panelwright.plates.tolerances import CONTACT_TOLERANCE, LEAST_LINE, MEETING_COSINE

from .join import hold_of

__all__ = ["JoinedPlates", "LeftOut", "Pair", "Skip", "join_touching", "skip_of", "sorted_touching", "touching"]

Floats = NDArray[np.float64]

FACING = -0.5 + 1e-6
"""Cosine between the normals of two faces that touch at the flattest angle that is joined, 30°, and rounding."""


class JoinedPlates(Protocol):
    """What `touching` needs of an assembly."""

    name: str

    def placed_plates(self) -> tuple[PlacedPlate, ...]:
        """All plates in the assembly's own coordinates, those of sub-assemblies too."""
        ...

    def joined_faces(self) -> frozenset[frozenset[tuple[str, Place]]]:
        """The pairs of faces, by plate name and place, that have a joint of their own."""
        ...

    def body_of(self, placed: PlacedPlate) -> Body:
        """A plate as joints see it, in the assembly's own coordinates: the same one each time."""
        ...

    def loose_groups(self) -> tuple[frozenset[str], ...]:
        """Names of plates that may touch nothing else, together."""
        ...

    def record_touching(self, joint: Joint, skip: Skip) -> None:
        """Keep the joint for all touching faces that have none when the assembly is resolved."""
        ...


@runtime_checkable
class PlatesOf(Protocol):
    """A sub-assembly where it stands."""

    @property
    def plates(self) -> tuple[PlacedPlate, ...]: ...


@dataclass(frozen=True)
class Pair:
    """Two faces that touch: the straight edge face of one plate, and a broad face of another or, at a corner, its edge."""

    edge: Face
    broad: Face

    def __repr__(self) -> str:
        return f"<Pair {self}>"

    def __str__(self) -> str:
        return f"{self.edge} {'on' if self.broad.is_broad else 'along'} {self.broad}"

    @property
    def names(self) -> tuple[str, str]:
        """Names of the two plates."""
        return (self.edge.placed.name, self.broad.placed.name)


@dataclass(frozen=True)
class LeftOut:
    """A pair that `join_touching` doesn't join, and why: one of the two is loose, the design skips it, or its kind can't."""

    pair: Pair
    reason: Literal["loose", "skip", "kind"]
    group: frozenset[str] = frozenset()
    """The loose plates on one side of the pair."""


_Spots = frozenset[tuple[str, Place | None]]


@dataclass(frozen=True)
class Skip:
    """What is left alone: for each item one set of faces, or two whose pairs are meant; no place means any of that plate."""

    items: tuple[tuple[_Spots, ...], ...] = ()

    def covers(self, pair: Pair) -> bool:
        """Whether a pair is to be left alone."""
        for item in self.items:
            here = [[_is_in(face, spots) for face in (pair.edge, pair.broad)] for spots in item]
            if any(here[0]) if len(item) == 1 else (here[0][0] and here[1][1]) or (here[0][1] and here[1][0]):
                return True
        return False


Alone: TypeAlias = "Face | PlacedPlate | PlatesOf | Iterable[Face | PlacedPlate]"
"""A face, a plate, a sheet or a sub-assembly: what stands for itself in a list of what is skipped."""

Skipped: TypeAlias = "Alone | Pair | Iterable[Alone | Pair | tuple[Alone, Alone]] | Skip"
"""What `skip=` takes."""


def _is_in(face: Face, spots: _Spots) -> bool:
    return (face.placed.name, None) in spots or (face.placed.name, face.place) in spots


def skip_of(given: Skipped, assembly: JoinedPlates) -> Skip:
    """What `skip=` says.  Raises `JointError` for what is no plate, face or pair, `ForeignFaceError` for another assembly's."""
    if isinstance(assembly, type) or not callable(getattr(assembly, "placed_plates", None)):
        raise JointError(f"touching faces are asked of {shown(assembly)}; give an Assembly", value=assembly)
    if isinstance(given, Skip):
        return given
    alone = isinstance(given, PlacedPlate | Face | Pair | PlatesOf)
    if not alone and (isinstance(given, str) or not isinstance(given, Iterable)):
        raise JointError(f"skip is {shown(given)}; give plates, faces, or pairs of them in a list", value=given)
    items: list[tuple[_Spots, ...]] = []
    for item in [given] if alone else items_of(given, "skip", "give plates, faces, or pairs of them in a list", JointError):
        if isinstance(item, Pair):
            items.append((_spots(item.edge, assembly), _spots(item.broad, assembly)))
        elif isinstance(item, tuple) and len(item) == 2:
            items.append((_spots(item[0], assembly), _spots(item[1], assembly)))
        else:
            items.append((_spots(item, assembly),))
    return Skip(tuple(items))


def _spots(item: object, assembly: JoinedPlates) -> _Spots:
    if isinstance(item, PlatesOf):
        item = item.plates
    if isinstance(item, Face | PlacedPlate):
        placed = item.placed if isinstance(item, Face) else item
        owner: object = placed.owner
        if owner is not assembly:  # pyright: ignore[reportUnnecessaryComparison]  one object may be both
            raise ForeignFaceError(
                f"skip names plate {placed.name!r} of assembly {placed.owner.name!r}, but faces of {assembly.name!r} are "
                "joined; give what its add() gave (a sub-assembly's plate as sub[name])",
                plates=(placed.name,),
            )
        return frozenset({(placed.name, item.place if isinstance(item, Face) else None)})
    several: Any = item
    if isinstance(several, str) or not isinstance(several, Iterable):
        raise JointError(f"skip holds {shown(item)}; give plates, faces, or pairs of them", value=item)
    return frozenset(spot for part in tuple[object, ...](several) for spot in _spots(part, assembly))


def touching(assembly: JoinedPlates, *, skip: Skipped = ()) -> tuple[Pair, ...]:
    """Every pair of faces that touch and have no joint of their own yet, in a stable order.

    First each edge face on a broad face, square to it or slanting from 30° to 150°; then each two edge faces that meet along
    a corner.  What lies between a loose item and the rest is left out, and so is `skip`: a plate, a sheet, a sub-assembly or a
    face, or a list of such, in which a tuple of two means what is between them.

    Raises `JointError` and `ForeignFaceError` for a `skip` that is none of these.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, lying, rectangle, standing
    >>> shelf = Assembly("jar shelf", stock=Stock("MDF", 4))
    >>> floor = shelf.add("floor", rectangle(90, 60))
    >>> back = shelf.add("back", rectangle(90, 40), standing(floor.face(">Z"), facing="+Y"))
    >>> lid = shelf.add("lid", rectangle(90, 60), lying(back.face(">Z")), loose=True)
    >>> [pair.names for pair in touching(shelf)], touching(shelf, skip=[(back, floor)])
    ([('back', 'floor')], ())
    """
    return sorted_touching(assembly, skip_of(skip, assembly))[0]


def join_touching(assembly: JoinedPlates, joint: Joint, *, skip: Skipped = ()) -> tuple[Pair, ...]:
    """Join every pair of faces that touch and that no other `join` speaks of, before or after this call.  Once an assembly.

    Gives the pairs as they stand now, the same list as `touching`, so that a design can print it first; but for corners of two
    edges, if this kind of joint can't be made there.  What was skipped or can't be made is a note of the proof
    (`LEFT-OUT`).  `skip` as for `touching`.

    Raises `JointError` when it is called once more, and for a `joint` or a `skip` that is none; `ForeignFaceError` for faces of
    another assembly in `skip`.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import tabs
    >>> from panelwright.plates import Stock, rectangle, standing
    >>> shelf = Assembly("jar shelf", stock=Stock("birch plywood", 4, measured=3.95, kerf=0.2, clearance=0.1))
    >>> floor = shelf.add("floor", rectangle(90, 60))
    >>> back = shelf.add("back", rectangle(90, 40), standing(floor.face(">Z"), facing="+Y"))
    >>> [pair.names for pair in join_touching(shelf, tabs(count=2))], shelf.check()
    ([('back', 'floor')], ())
    """
    chosen = skip_of(skip, assembly)
    require_joint(joint, "joint of touching plates")
    assembly.record_touching(joint, chosen)
    return sorted_touching(assembly, chosen, joint)[0]


def sorted_touching(
    assembly: JoinedPlates, skip: Skip, joint: Joint | None = None
) -> tuple[tuple[Pair, ...], tuple[LeftOut, ...]]:
    """The pairs that touch and are to be joined, and those that aren't: by `joint`, if one is given."""
    loose = assembly.loose_groups()
    kept: list[Pair] = []
    left: list[LeftOut] = []
    for pair in _all_touching(assembly):
        between = next((group for group in loose if (pair.names[0] in group) != (pair.names[1] in group)), None)
        if skip.covers(pair):
            left.append(LeftOut(pair, "skip"))
        elif between is not None:
            left.append(LeftOut(pair, "loose", between))
        elif joint is not None and not pair.broad.is_broad and not _can_be_made(joint, pair):
            left.append(LeftOut(pair, "kind"))
        else:
            kept.append(pair)
    return tuple(kept), tuple(left)


def _can_be_made(joint: Joint, pair: Pair) -> bool:
    try:
        joint.meet(hold_of(pair.edge), hold_of(pair.broad))
    except JointError:
        return False
    return True


def _all_touching(assembly: JoinedPlates) -> Iterator[Pair]:
    seen = [_Seen(placed, assembly.body_of(placed)) for placed in assembly.placed_plates()]
    taken = assembly.joined_faces()

    def is_taken(a: Face, b: Face) -> bool:
        return frozenset({(a.placed.name, a.place), (b.placed.name, b.place)}) in taken

    for arriving in seen:
        found: dict[int, list[Pair]] = {}
        for mate in seen:
            if mate is arriving or not arriving.may_meet(mate):
                continue
            for broad in (mate.placed.show, mate.placed.back):
                for number in arriving.near(mate, broad):
                    edge = arriving.edges[number]
                    if not is_taken(edge, broad) and _may_touch(edge, broad) and _touch(arriving.hold(edge), mate.hold(broad)):
                        found.setdefault(number, []).append(Pair(edge, broad))
        for number in sorted(found):
            yield from found[number]
    for i, one in enumerate(seen):
        for other in seen[i + 1 :]:
            if one.may_meet(other):
                for a, b in one.along(other):
                    if not is_taken(a, b) and _meet_along(one.hold(a), other.hold(b)):
                        yield Pair(a, b)


class _Seen:
    """A plate with its edges' corners in space, so that most pairs can be told apart without computing their contact.

    `corners` holds for each edge face the ends of its border on the back, then those on the show face.
    """

    def __init__(self, placed: PlacedPlate, body: Body) -> None:
        self.placed = placed
        self.body = body
        self.edges = placed.all_faces()[2:]
        self.is_straight = np.array([isinstance(face.segment, Line) for face in self.edges], dtype=bool)
        frame, t = placed.frame, placed.plate.stock.t
        ends = np.array([[face.segment.start, face.segment.end] for face in self.edges], dtype=float).reshape(-1, 2, 2)
        axes = np.array([frame.x, frame.y, frame.z])
        flat = np.array(frame.origin) + ends @ axes[:2]
        self.corners: Floats = np.concatenate([flat, flat + t * axes[2]], axis=1)
        run = ends[:, 1] - ends[:, 0]
        length = np.maximum(np.hypot(run[:, 0], run[:, 1]), 1e-12)[:, None]
        self.out: Floats = np.column_stack([run[:, 1], -run[:, 0]]) / length @ axes[:2]
        x0, y0, x1, y1 = placed.plate.outline.bounds
        box = np.array([(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (0.0, t)])
        whole = np.array(frame.origin) + box @ axes
        self.low, self.high = whole.min(axis=0), whole.max(axis=0)

    def hold(self, face: Face) -> Hold:
        """One of its faces as joints see it."""
        return hold_of(face, self.body)

    @property
    def is_bent(self) -> bool:
        return self.placed.roll is not None

    def may_meet(self, other: _Seen) -> bool:
        """Whether the plates' boxes meet; bent ones are looked at anyway."""
        if self.is_bent or other.is_bent:
            return True
        slack = CONTACT_TOLERANCE
        return bool(np.all(self.low <= other.high + slack) and np.all(other.low <= self.high + slack))

    def near(self, mate: _Seen, broad: Face) -> Sequence[int]:
        """Numbers of the edges that may lie on a broad face of the mate."""
        if self.is_bent or mate.is_bent:
            return range(len(self.edges))
        normal = np.array(broad.normal)
        height = (self.corners - np.array(broad.middle)) @ normal
        lies = np.abs(height.min(axis=1)) <= CONTACT_TOLERANCE
        found = self.is_straight & lies & (self.out @ normal <= FACING) & self._beside(mate)
        return [int(number) for number in np.flatnonzero(found)]

    def _beside(self, other: _Seen) -> NDArray[np.bool_]:
        """Which edges reach into the other plate's box."""
        low, high = self.corners.min(axis=1), self.corners.max(axis=1)
        slack = CONTACT_TOLERANCE
        return np.asarray(np.all((low <= other.high + slack) & (high >= other.low - slack), axis=1))

    def along(self, other: _Seen) -> Iterator[tuple[Face, Face]]:
        """Pairs of straight edges of two flat plates that share a border line."""
        if self.is_bent or other.is_bent:
            return
        mine = np.flatnonzero(self.is_straight & self._beside(other))
        theirs = np.flatnonzero(other.is_straight & other._beside(self))
        lines = other.corners[theirs].reshape(-1, 2, 2, 3)
        for number in mine.tolist():
            shared = np.zeros(len(theirs), dtype=bool)
            for start, end in self.corners[number].reshape(2, 2, 3):
                way = (end - start) / max(float(np.linalg.norm(end - start)), 1e-12)
                off = np.linalg.norm(np.cross(lines - start, way), axis=3)
                shared |= np.any(np.all(off <= CONTACT_TOLERANCE, axis=2), axis=1)
            for match in theirs[shared].tolist():
                yield self.edges[number], other.edges[match]


def _may_touch(edge: Face, broad: Face) -> bool:
    """Whether a bent part and a flat one look at each other; of two flat plates `near` has seen to it."""
    if edge.placed.roll is None and broad.placed.roll is not None and isinstance(edge.segment, Line):
        return False
    is_bent_alone = edge.placed.roll is not None and broad.placed.roll is None
    return not is_bent_alone or dot(edge.normal, broad.normal) <= -1 + MEETING_COSINE


def _touch(edge: Hold, broad: Hold) -> bool:
    """Whether an edge face lies on a broad face, looking at it: wholly, or by one of its borders where it slants."""
    return _is_long(shared_edge(edge, broad))


def _meet_along(one: Hold, other: Hold) -> bool:
    """Whether two plates end at one line: each where the other's face begins, or each flush with the other's far face.

    Plates side by side in one plane, or one on the other, share a border line but make no corner.
    """
    if abs(dot(one.body.frame.z, other.body.frame.z)) > 1 - MEETING_COSINE:
        return False
    ways = ((one, other), (other, one))
    slabs = [passage(edge, mate) for edge, mate in ways]
    if not any(all(abs(end) <= CONTACT_TOLERANCE for end in ends) for ends in zip(*slabs, strict=True)):
        return False
    return all(_is_long(shared_edge(edge, mate, corner=True)) for edge, mate in ways)


def _is_long(contact: Contact | None) -> bool:
    """Whether two faces share enough of a line to be joined."""
    return contact is not None and sum(high - low for low, high in contact.stretches) > LEAST_LINE
