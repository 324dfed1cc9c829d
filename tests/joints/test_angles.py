"""Joints at other angles than 90°: the shadow rule against formulas and clipping, and solids that share nothing."""

from __future__ import annotations

import math

import pytest
import shapely
from panelwright.assemblies import Assembly, carcass
from panelwright.assemblies.product.assembly import Assembly as AnyAssembly
from panelwright.joints import cross_lap, fingers, join, tabs
from panelwright.joints.meeting.section import Section, clip, shadow
from panelwright.plates import Frame, JointError, SizeError, Stock, rectangle
from panelwright.plates._kernel.solids.booleans import common_of
from panelwright.plates.geometry.curves import cos_sin_deg

ANGLES = range(30, 151, 5)


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize(("a", "b"), [(3.0, 3.0), (3.0, 6.0), (6.0, 3.0)])
def test_shadow_against_formula_and_clipping(degrees: int, a: float, b: float) -> None:
    """A strip right through a slab casts a/sin φ + b·|cot φ| (plane trigonometry), and what shapely clips."""
    phi = math.radians(degrees)
    # the second plate's normal, seen in the first one's axes
    section = Section(a, b, (math.sin(phi), math.cos(phi)), 2.0)
    low, high = section.shadow_in_second
    assert high - low == pytest.approx(a / math.sin(phi) + b * abs(1 / math.tan(phi)) if degrees != 90 else a, abs=1e-9)
    if a * abs(math.cos(phi)) <= b:
        # flush with the far face the shadow is shorter: a·sin φ + b·|cot φ|
        start, stop = section.footprint(section.passage[1])
        cot = 0.0 if degrees == 90 else abs(1 / math.tan(phi))
        assert stop - start == pytest.approx(a * math.sin(phi) + b * cot, abs=1e-9)
    strip = shapely.box(-500, 0, section.passage[1], a)
    nv, nz = math.sin(phi), math.cos(phi)
    corners = [(w * -nz + h * nv, w * nv + h * nz) for w, h in ((-999, 2), (999, 2), (999, 2 + b), (-999, 2 + b))]
    inside = strip.intersection(shapely.Polygon(corners))
    along = [x * -nz + z * nv for x, z in inside.exterior.coords]
    assert section.footprint(section.passage[1]) == pytest.approx((min(along), max(along)), abs=1e-6)


def test_clip_and_shadow_of_what_misses() -> None:
    """A piece outside the slab casts nothing."""
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    assert clip(square, (1.0, 0.0), 2.0, 3.0) == []
    assert shadow(square, (1.0, 0.0), 2.0, 3.0, (0.0, 1.0)) is None


def leaning(degrees: float, kind: str, *, ta: float = 3.0, tb: float = 5.0, clearance: float = 0.1) -> AnyAssembly:
    """A plate that arrives at, or passes through, a level one at an angle."""
    assembly = Assembly("recipe stand", stock=Stock("thin", ta, measured=ta, cutter="knife", clearance=clearance))
    base = assembly.add("base", rectangle(120, 160), stock=Stock("thick", tb, measured=tb, cutter="knife", clearance=clearance))
    cosine, sine = cos_sin_deg(degrees)
    show = (0.0, -sine, cosine)
    if kind == "cross-lap":
        plate = assembly.add("leaf", rectangle(80, 60), Frame.facing((0, 0, tb / 2), show=show, right=(1, 0, 0)))
        join(plate, base, cross_lap())
        return assembly
    lowest = min(0.0, ta * cosine)
    origin = (0.0, 30 * cosine, tb + 30 * sine - lowest)
    plate = assembly.add("leaf", rectangle(80, 60), Frame.facing(origin, show=show, right=(1, 0, 0)))
    edge = next(f for f in plate.all_faces()[2:] if abs(f.normal[0]) < 1e-9 and f.normal[2] < 0)
    joint = {
        "tabs": tabs(count=2, width=15),
        "proud": tabs(count=2, width=15, proud=4),
        "blind": tabs(count=2, width=15, depth=1.5),
        "fingers": fingers(count=3),
    }[kind]
    join(edge, base.show, joint)
    return assembly


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("kind", ["tabs", "proud", "blind", "fingers", "cross-lap"])
def test_solids_share_nothing_at_any_angle(degrees: int, kind: str) -> None:
    """In steps of 5° the proof finds no error, and the kernel's boolean no common volume."""
    assembly = leaning(degrees, kind)
    product = assembly.product()
    assert [str(f) for f in product.errors] == []
    a, b = product.parts
    assert common_of((a.solid, a.frame), (b.solid, b.frame))[0] < 1e-6
    assert len(product.joints) == 1
    low, high = product.joints[0].numbers["measured_clearance_mm"]
    assert (low, high) == pytest.approx((0.1, 0.1), abs=1e-6)
    if degrees != 90 and kind != "cross-lap":
        assert product.joints[0].numbers["wedge_gap_mm"] == pytest.approx(3 * abs(math.cos(math.radians(degrees))))


@pytest.mark.parametrize("degrees", [20, 29, 151, 165])
def test_angles_out_of_range_are_refused(degrees: float) -> None:
    """Flatter than 30° is an error that names the angle and the range."""
    with pytest.raises(JointError, match="30° to 150°") as caught:
        leaning(degrees, "tabs").resolve()
    assert isinstance(caught.value.value, float)


@pytest.mark.parametrize("sides", range(3, 13))
@pytest.mark.parametrize("lean", [-10, 0, 10])
def test_prisms_and_truncated_pyramids(sides: int, lean: float) -> None:
    """Regular carcasses, upright and leaning, on a thicker base: no finding, no overlap by the kernel."""
    thin = Stock("thin", 3, measured=3, cutter="knife", clearance=0.1)
    thick = Stock("thick", 5, measured=5, cutter="knife", clearance=0.1)
    if sides == 12 and lean:
        with pytest.raises(SizeError, match=r"150\.47°, and joints are made up to 150°"):
            carcass("pot", stock=thin, base_stock=thick, sides=sides, width=160, height=70, lean_deg=lean)
        return
    pot = carcass("pot", stock=thin, base_stock=thick, sides=sides, width=160, height=70, lean_deg=lean)
    product = pot.product()
    assert [str(f) for f in product.findings] == []
    assert len(product.joints) == 2 * sides
    base, first, second = product.parts[:3]
    for a, b in ((base, first), (first, second)):
        assert common_of((a.solid, a.frame), (b.solid, b.frame))[0] < 1e-6
