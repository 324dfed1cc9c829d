"""Small arrangements of plates as data, to be built turned, mirrored, doubled, in any order, with or without their joins.

Faces are named by where they look in the scene's own coordinates, so the same scene can be built anywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from panelwright.assemblies import Assembly
from panelwright.joints import join
from panelwright.plates import Face, Frame, Outline, PlacedPlate, Stock, bent_on, mirrored, polygon, rectangle
from panelwright.plates.geometry.frame import AXES, Vector, dot, scaled


@dataclass(frozen=True)
class Stand:
    """One plate of a scene."""

    name: str
    outline: Outline
    frame: Frame
    thick: int = 0
    """Which of the scene's stocks: 0 for the plate that arrives, 1 for its mate."""


@dataclass(frozen=True)
class Meet:
    """One join of a scene: plates, and the directions of the faces."""

    first: str
    first_looks: str
    second: str
    second_looks: str


@dataclass(frozen=True)
class Scene:
    """Plates and the joins between them."""

    plates: tuple[Stand, ...]
    joins: tuple[Meet, ...]

    def turned_round(self) -> Scene:
        """The scene with both sides of each join named the other way round."""
        return replace(self, joins=tuple(Meet(m.second, m.second_looks, m.first, m.first_looks) for m in self.joins))


def face_towards(placed: PlacedPlate, direction: Vector) -> Face:
    """The outermost flat face that looks a way."""
    looking = [face for face in placed.all_faces() if dot(face.normal, direction) > 1 - 1e-9]
    return max(looking, key=lambda face: dot(face.middle, direction))


def build(
    scene: Scene,
    joint: Any,
    stocks: Sequence[Stock],
    *,
    at: Frame | None = None,
    mirror: bool = False,
    order: Sequence[int] | None = None,
    joined: bool = True,
    copies: int = 1,
) -> Assembly:
    """The scene as an assembly, moved by `at` after an optional mirroring in the YZ plane.

    `order` is the order of the joins; `copies` puts the scene down so many times, 500 mm apart.
    """
    at = at or Frame()
    assembly = Assembly("scene", stock=stocks[0])
    for copy in range(copies):
        tail = "" if copy == 0 else f" {copy}"
        shift = scaled(at.x, 500.0 * copy)
        for stand in scene.plates:
            stock = stocks[stand.thick]
            if mirror:
                model = Assembly("model", stock=stock).add(stand.name, stand.outline, stand.frame)
                image = Assembly("image", stock=stock).add(stand.name, stand.outline, mirrored(model, about="YZ"))
                outline, frame = image.plate.outline, image.frame
            else:
                outline, frame = stand.outline, stand.frame
            assembly.add(stand.name + tail, outline, frame.then(at).shifted(shift), stock=stock)
        if not joined:
            continue
        for number in order if order is not None else range(len(scene.joins)):
            meet = scene.joins[number]
            faces = []
            for name, looks in ((meet.first, meet.first_looks), (meet.second, meet.second_looks)):
                x, y, z = AXES[looks]
                faces.append(face_towards(assembly[name + tail], at.direction((-x if mirror else x, y, z))))
            join(*faces, joint)
    return assembly


def cube_turns() -> list[Frame]:
    """The 24 rotations that carry a cube onto itself, exact."""
    found: dict[tuple[Any, ...], Frame] = {}
    tilts = [Frame(), *(Frame.turned("X", a) for a in (90, 180, 270)), Frame.turned("Y", 90), Frame.turned("Y", 270)]
    for tilt in tilts:
        for angle in (0, 90, 180, 270):
            frame = Frame.turned("Z", angle).then(tilt)
            found.setdefault((frame.x, frame.y, frame.z), frame)
    return list(found.values())


def _upright(x: float, y: float, z: float, looks: Vector, right: Vector) -> Frame:
    return Frame.facing((x, y, z), show=looks, right=right)


def tee(ta: float, tb: float) -> Scene:
    """Two walls on a base, away from its borders: one shorter than the base, one right across it."""
    height = 40.0
    return Scene(
        (
            Stand("base", rectangle(140, 120), Frame(), 1),
            Stand("low wall", rectangle(100, height), _upright(0, -20, tb + height / 2, (0, 1, 0), (-1, 0, 0))),
            Stand("long wall", rectangle(140, height), _upright(0, 25, tb + height / 2, (0, -1, 0), (1, 0, 0))),
        ),
        (Meet("low wall", "-Z", "base", "+Z"), Meet("long wall", "-Z", "base", "+Z")),
    )


def tee_overlapping(ta: float, tb: float) -> Scene:
    """The two walls of the T, drawn right through the base."""
    height = 40.0 + tb
    low, long = _upright(0, -20, height / 2, (0, 1, 0), (-1, 0, 0)), _upright(0, 25, height / 2, (0, -1, 0), (1, 0, 0))
    return Scene(
        (
            Stand("base", rectangle(140, 120), Frame(), 1),
            Stand("low wall", rectangle(100, height), low),
            Stand("long wall", rectangle(140, height), long),
        ),
        (Meet("low wall", "-Z", "base", "+Z"), Meet("long wall", "-Z", "base", "+Z")),
    )


def corner_brimmed(ta: float, tb: float) -> Scene:
    """The walls of a corner with the base standing out beyond them by a brim of two of its thicknesses."""
    base, *walls = corner(ta, tb).plates
    brimmed = replace(base, outline=rectangle(140, 120 + 4 * tb))
    return Scene((brimmed, *walls), corner(ta, tb).joins)


def corner(ta: float, tb: float) -> Scene:
    """Two walls that stand on a base, flush with its borders."""
    height = 40.0
    return Scene(
        (
            Stand("base", rectangle(140, 120), Frame(), 1),
            Stand("front", rectangle(140, height), _upright(0, -60 + ta, tb + height / 2, (0, -1, 0), (1, 0, 0))),
            Stand("rear", rectangle(140, height), _upright(0, 60 - ta, tb + height / 2, (0, 1, 0), (-1, 0, 0))),
        ),
        (Meet("front", "-Z", "base", "+Z"), Meet("rear", "-Z", "base", "+Z")),
    )


def corner_overlapping(ta: float, tb: float) -> Scene:
    """The same box of walls and base, both drawn right out to the corner."""
    height = 40.0 + tb
    return Scene(
        (
            Stand("base", rectangle(140, 120), Frame(), 1),
            Stand("front", rectangle(140, height), _upright(0, -60 + ta, height / 2, (0, -1, 0), (1, 0, 0))),
            Stand("rear", rectangle(140, height), _upright(0, 60 - ta, height / 2, (0, 1, 0), (-1, 0, 0))),
        ),
        (Meet("front", "-Z", "base", "-Y"), Meet("rear", "-Z", "base", "+Y")),
    )


def corner_short(ta: float, tb: float) -> Scene:
    """The same, both drawn short of the corner."""
    height = 40.0
    return Scene(
        (
            Stand("base", rectangle(140, 120 - 2 * ta), Frame(), 1),
            Stand("front", rectangle(140, height), _upright(0, -60 + ta, tb + height / 2, (0, -1, 0), (1, 0, 0))),
            Stand("rear", rectangle(140, height), _upright(0, 60 - ta, tb + height / 2, (0, 1, 0), (-1, 0, 0))),
        ),
        (Meet("front", "-Z", "base", "-Y"), Meet("rear", "-Z", "base", "+Y")),
    )


def crossing(ta: float, tb: float) -> Scene:
    """Two dividers through a third one."""
    height = 50.0
    return Scene(
        (
            Stand("long divider", rectangle(150, height), _upright(0, 0, 0, (0, -1, 0), (1, 0, 0)), 1),
            Stand("left divider", rectangle(80, height), _upright(-30, 5, 0, (1, 0, 0), (0, 1, 0))),
            Stand("right divider", rectangle(80, height), _upright(35, -5, 0, (-1, 0, 0), (0, -1, 0))),
        ),
        (
            Meet("left divider", "+X", "long divider", "-Y"),
            Meet("right divider", "-X", "long divider", "-Y"),
        ),
    )


def passing(ta: float, tb: float) -> Scene:
    """A level rail right through two ribs, one of them nearer to its end."""
    return Scene(
        (
            Stand("rail", rectangle(150, 24), Frame((0, 3, 10))),
            Stand("left rib", rectangle(80, 50), _upright(-30, 0, 8, (1, 0, 0), (0, 1, 0)), 1),
            Stand("right rib", rectangle(60, 44), _upright(45, 5, 12, (-1, 0, 0), (0, -1, 0)), 1),
        ),
        (Meet("rail", "+Z", "left rib", "+X"), Meet("rail", "-Z", "right rib", "+X")),
    )


def tongued(ta: float, tb: float) -> Scene:
    """A shelf between two ribs, with a tongue through each and shoulders that stop it on their inner faces."""
    stop, tip, half = 30.0, 30.0 + tb + 12.0, 11.0
    shelf = polygon(
        [
            *((-stop, -30), (stop, -30), (stop, -half), (tip, -half), (tip, half), (stop, half)),
            *((stop, 30), (-stop, 30), (-stop, half), (-tip, half), (-tip, -half), (-stop, -half)),
        ]
    )
    return Scene(
        (
            Stand("shelf", shelf, Frame((0, 0, 10))),
            Stand("left rib", rectangle(80, 50), _upright(-stop - tb, 0, 8, (1, 0, 0), (0, 1, 0)), 1),
            Stand("right rib", rectangle(80, 50), _upright(stop + tb, 0, 8, (-1, 0, 0), (0, -1, 0)), 1),
        ),
        (Meet("shelf", "+Z", "left rib", "+X"), Meet("shelf", "+Z", "right rib", "-X")),
    )


def bent(ta: float, tb: float) -> Scene:
    """A base with a wall on either side of it, beyond bends of 60 mm: all of one stock."""
    model = Assembly("model", stock=Stock("model", ta, measured=ta, cutter="knife"))
    base = model.add("base", rectangle(70, 60))
    walls = {
        name: (outline, model.add(name, outline, bent_on(base.face(side), radius=60, angle_deg=90, toward="show")).frame)
        for name, outline, side in (("right", rectangle(40, 60), ">X"), ("left", rectangle(30, 50), "<X"))
    }
    return Scene(
        (Stand("base", rectangle(70, 60), Frame()), *(Stand(name, *where) for name, where in walls.items())),
        (Meet("base", "+X", "right", "-Z"), Meet("base", "-X", "left", "-Z")),
    )
