"""Joining faces: what a design calls.

A join is only noted down; nothing is cut until the assembly is resolved.  So faces are always picked on plates as designed,
the order of joins makes no difference, and leaving a line out undoes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, runtime_checkable

from panelwright.joints.meeting.contact import Body, Hold
from panelwright.joints.spec.pattern import Joint, require_joint
from panelwright.plates._validate import items, shown
from panelwright.plates.errors import ForeignFaceError, JointError
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.placing.plate import Face, PlacedPlate

__all__ = ["Bodies", "body_of", "hold_of", "join"]


Given = Face | PlacedPlate | Iterable[Face | PlacedPlate]


def join(first: Given, second: Given, joint: Joint | Sequence[Joint]) -> None:
    """Join faces of two plates, or several at once.

    `first` and `second` are faces, such as `rear.face("<Z")`; for plates that cross, the plates themselves will do.  Where
    either is a list, every pair that this joint can be made between is joined, and each face named must be part of one; with
    a list of joints, the faces are taken pair by pair instead, each with its own joint.

    Raises `ForeignFaceError` if the faces do not stand in one assembly, and `JointError` if a plate would be joined to
    itself or, for lists, if a face named touches nothing.  Whether `joint` can be made there is told by the proof.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import tabs
    >>> from panelwright.plates import Stock, rectangle, standing
    >>> stand = Assembly("card stand", stock=Stock("birch plywood", 4, measured=3.95, kerf=0.2, clearance=0.1))
    >>> base = stand.add("base", rectangle(120, 60))
    >>> back = stand.add("back", rectangle(120, 80), standing(base.face(">Z"), facing="-Y", inset=None))
    >>> join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))  # the edge face gets the tabs
    >>> stand.check()
    ()
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
            require_joint(kind, f"joint of {a} and {b}")
        for a, b, kind in zip(firsts, seconds, joint, strict=True):
            _record(a, b, kind)
        return
    joint = require_joint(joint, f"joint of {firsts[0]}")
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
    if isinstance(given, Joint):
        raise JointError(
            f"{given.kind} is given where a face is wanted; the joint comes last: join(face, face, {given.kind}(…))",
            value=given,
        )
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise JointError(f'{shown(given)} is no face of a plate; give one such as base.face(">Z")', value=given)
    faces: list[Face] = []
    for item in items(given, "list of faces to join", "give faces such as base.face('>Z')", JointError):
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


@runtime_checkable
class Bodies(Protocol):
    """An assembly that keeps its plates as joints see them, so that what has been found about two of them is known to all."""

    def body_of(self, placed: PlacedPlate) -> Body:
        """A plate as joints see it, in the assembly's own coordinates: the same one each time."""
        ...


def hold_of(face: Face, body: Body | None = None) -> Hold:
    """A face as joints see it, in its own assembly's frame; `body` is its plate, if that is known already."""
    if body is None:
        owner = face.placed.owner
        body = owner.body_of(face.placed) if isinstance(owner, Bodies) else body_of(face.placed)
    return Hold(body, face.place, face.describe, Frame())


def body_of(placed: PlacedPlate) -> Body:
    """A new body for a plate in its assembly's own coordinates."""
    return Body(0, placed.name, placed.plate, placed.frame, placed.roll)


def _problem(a: Face, b: Face, joint: Joint) -> str | None:
    if a.placed.name == b.placed.name:
        return "they are of one plate"
    try:
        joint.meet(hold_of(a), hold_of(b))
    except JointError as error:
        return str(error)
    return None
