"""Card stands of two plates and a living hinge between them, to be bent every way."""

from __future__ import annotations

from typing import Any

from panelwright.assemblies import Assembly
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join, living_hinge
from panelwright.joints.kinds.hinges.living_hinge import LivingHinge
from panelwright.plates import Face, Frame, Stock, bent_on, rectangle
from scenes import cube_turns

SOFT = {"shear_modulus": 0.01, "shear_strength": 100.0, "density": 680.0}
"""Of a sheet so soft that neither stress nor springing back counts: what is left to be judged is clearance."""

PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.08, **SOFT)
ACRYLIC = Stock("cast acrylic", 3.0, measured=3.0, kerf=0.2, shear_modulus=1148, shear_strength=55)
"""Modulus from E = 3100 MPa and ν = 0.35, strength as in `hinge_mechanics` (samson-supply.com, UFGS 4-159-01)."""

TURNS = {f"cube-{i}": frame for i, frame in enumerate(cube_turns())}
TURNS["odd"] = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))
TURNS["odder"] = Frame.turned((-5, 0.3, 2), 201.5).shifted((-1234.5, 0.25, 987.6))


def edge(placed: Any, number: int) -> Face:
    """The edge face over a rectangle's segment: 0 is the lower one, then counter-clockwise."""
    return Face(placed, ("edge", 0, number), f"edge {number}")


def stand(
    hinge: LivingHinge | None = None,
    *,
    radius: float = 45.0,
    angle_deg: float = 90.0,
    toward: Any = "back",
    number: int = 1,
    stock: Stock = PLY,
    front: tuple[float, float] = (80.0, 60.0),
    side: tuple[float, float] = (50.0, 60.0),
    shift: float = 0.0,
    at: Frame | None = None,
) -> Assembly:
    """A card stand: a front, and a side beyond a bend of it at one of its four edges."""
    assembly = Assembly("card stand", stock=stock)
    placed = assembly.add("front", rectangle(*front), at)
    face = edge(placed, number)
    other = assembly.add(
        "side", rectangle(*side), bent_on(face, radius=radius, angle_deg=angle_deg, toward=toward, shift=shift)
    )
    join(face, other, living_hinge() if hinge is None else hinge)
    return assembly


def numbers_of(assembly: Assembly) -> dict[str, Any]:
    (record,) = assembly.product().joints
    return record.numbers


def errors_of(assembly: Assembly) -> list[Finding]:
    return [finding for finding in assembly.check() if finding.level == "error"]


def two(place: Frame, *, other: Any = None, stock: Stock | None = None) -> tuple[Assembly, Any, Any]:
    """A front of 80 × 60 mm and one more plate."""
    assembly = Assembly("card stand", stock=PLY)
    front = assembly.add("front", rectangle(80, 60))
    return assembly, front, assembly.add("side", rectangle(50, 60) if other is None else other, place, stock=stock)


def beyond(radius: float = 45.0, angle_deg: float = 90.0) -> Frame:
    """Where `bent_on` would put a side of 50 × 60 mm."""
    assembly = Assembly("model", stock=PLY)
    front = assembly.add("front", rectangle(80, 60))
    placed = assembly.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=radius, angle_deg=angle_deg))
    frame: Frame = placed.frame
    return frame
