"""Joining faces: what a design calls.

A join is only noted down; nothing is cut until the assembly is resolved.  So faces are always picked on plates as designed,
the order of joins makes no difference, and leaving a line out undoes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from panelwright.plates.curves import Line
from panelwright.plates.errors import ForeignFaceError, JointError
from panelwright.plates.frame import Frame, dot
from panelwright.plates.plate import Face, PlacedPlate
from panelwright.plates.tolerances import CONTACT_TOLERANCE

from .contact import Body, Hold, edge_contact
from .pattern import Joint

__all__ = ["Pair", "join", "join_touching", "touching"]


class JoinedPlates(Protocol):
    """What `touching` needs of an assembly."""

    name: str

    def placed_plates(self) -> tuple[PlacedPlate, ...]:
        """All plates in the assembly's own coordinates, those of sub-assemblies too."""
        ...

    def joined_faces(self) -> frozenset[frozenset[tuple[str, tuple[Any, ...]]]]:
        """The pairs of faces, by plate name and place, that have a joint of their own."""
        ...

    def record_touching(self, joint: Joint) -> None:
        """Keep the joint for all touching faces that have none when the assembly is resolved."""
        ...


@dataclass(frozen=True)
class Pair:
    """Two faces that touch: the straight edge face of one plate on a broad face of another."""

    edge: Face
    broad: Face

    def __str__(self) -> str:
        return f"{self.edge} on {self.broad}"


Given = Face | PlacedPlate | Iterable[Face]


def join(first: Given, second: Given, joint: Joint | Sequence[Joint]) -> None:
    """Join faces of two plates, or several at once.

    `first` and `second` are faces, such as `rear.face("<Z")`; for plates that cross, the plates themselves will do.  Where
    either is a list, every pair that this joint can be made between is joined, and each face named must be part of one; with
    a list of joints, the faces are taken pair by pair instead, each with its own joint.

    Raises `ForeignFaceError` if the faces do not stand in one assembly, and `JointError` if a plate would be joined to
    itself or, for lists, if a face named touches nothing.
    """
    firsts, seconds = _faces(first), _faces(second)
    if isinstance(joint, list | tuple):
        if len(firsts) == 1:
            firsts = firsts * len(joint)
        if len(seconds) == 1:
            seconds = seconds * len(joint)
        if not len(firsts) == len(seconds) == len(joint):
            raise JointError(
                f"{len(firsts)} and {len(seconds)} faces are given for {len(joint)} joints; give as many of each",
                value=len(joint),
                limit=(len(firsts), len(seconds)),
            )
        for a, b, kind in zip(firsts, seconds, joint, strict=True):
            _record(a, b, kind)
        return
    if not isinstance(joint, Joint):
        raise JointError(f"{joint!r} is no joint; give one such as tabs(count=2)", value=joint)
    if len(firsts) == len(seconds) == 1:
        _record(firsts[0], seconds[0], joint)
        return
    used: set[Face] = set()
    reasons: dict[Face, list[str]] = {}
    for a in firsts:
        for b in seconds:
            problem = _problem(a, b, joint)
            if problem is None:
                _record(a, b, joint)
                used |= {a, b}
            else:
                reasons.setdefault(a, []).append(problem)
                reasons.setdefault(b, []).append(problem)
    for face in (*firsts, *seconds):
        if face not in used:
            raise JointError(
                f"{face} can be joined to none of the faces given: {reasons[face][0]}",
                plates=(face.placed.name,),
                face=face.selector,
            )


def _faces(given: Given) -> tuple[Face, ...]:
    if isinstance(given, Face):
        return (given,)
    if isinstance(given, PlacedPlate):
        return (given.show,)
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise JointError(f"{given!r} is no face of a plate; give one such as base.face(\">Z\")", value=given)
    faces: list[Face] = []
    for item in given:
        faces.extend(_faces(item))
    if not faces:
        raise JointError("no face is given to join; pick one with face() or faces()")
    return tuple(faces)


def _record(a: Face, b: Face, joint: Joint) -> None:
    for face in (a, b):
        if not isinstance(face, Face):
            raise JointError(f"{face!r} is no face; pick one with plate.face('>Z')", value=face)
    if a.placed.owner is not b.placed.owner:
        raise ForeignFaceError(
            f"plate {a.placed.name!r} belongs to assembly {a.placed.owner.name!r} and plate {b.placed.name!r} to "
            f"{b.placed.owner.name!r}; pick both faces from one assembly (for parts of a sub-assembly, from what add() gave)",
            plates=(a.placed.name, b.placed.name),
        )
    if a.placed.name == b.placed.name:
        raise JointError(
            f"plate {a.placed.name!r} would be joined to itself; choose a face of another plate", plates=(a.placed.name,)
        )
    a.placed.owner.record_join(a, b, joint)


def hold_of(face: Face) -> Hold:
    """A face as joints see it, in its own assembly's frame."""
    placed = face.placed
    return Hold(Body(0, placed.name, placed.plate, placed.frame, placed.roll), face.place, face.describe, Frame())


def _problem(a: Face, b: Face, joint: Joint) -> str | None:
    if a.placed.name == b.placed.name:
        return "they are of one plate"
    try:
        joint.meet(hold_of(a), hold_of(b))
    except JointError as error:
        return str(error)
    return None


def touching(assembly: JoinedPlates) -> tuple[Pair, ...]:
    """Every pair of an edge face and a broad face that touch and have no joint of their own yet, in a stable order."""
    plates = assembly.placed_plates()
    taken = assembly.joined_faces()
    found: list[Pair] = []
    for arriving in plates:
        for edge in arriving.all_faces()[2:]:
            for mate in plates:
                if mate is arriving:
                    continue
                for broad in (mate.show, mate.back):
                    if frozenset({(arriving.name, edge.place), (mate.name, broad.place)}) in taken:
                        continue
                    if _touch(edge, broad):
                        found.append(Pair(edge, broad))
    return tuple(found)


def _touch(edge: Face, broad: Face) -> bool:
    """Whether an edge face lies on a broad face, looking at it."""
    is_round = edge.placed.roll is not None or broad.placed.roll is not None
    if edge.placed.roll is None and is_round and isinstance(edge.segment, Line):
        return False
    if broad.placed.roll is None and dot(edge.normal, broad.normal) > -1 + 1e-7:
        return False
    gap = dot(edge.middle, broad.normal) - dot(broad.middle, broad.normal)
    if not is_round and abs(gap) > CONTACT_TOLERANCE:
        return False
    try:
        contact = edge_contact(hold_of(edge), hold_of(broad), "touching", may_curve=True)
    except JointError:
        return False
    return sum(high - low for low, high in contact.stretches) > 1e-3


def join_touching(assembly: JoinedPlates, joint: Joint) -> tuple[Pair, ...]:
    """Join every pair of faces that touch and that no other `join` speaks of, before or after this call.

    Gives the pairs as they stand now, the same list as `touching`, so that a design can print it first.  Once an assembly.
    """
    pairs = touching(assembly)
    assembly.record_touching(joint)
    return pairs
