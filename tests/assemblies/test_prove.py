"""The proof: every finding is provoked by a small design and gone once the design is mended."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest
from panelwright.assemblies import Assembly, carcass
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.proof.interference import Slab, common_volume
from panelwright.assemblies.proof.measured_gaps import measured
from panelwright.joints import cross_lap, join, tabs
from panelwright.plates import Frame, Outline, Stock, disc, hole, rectangle, standing
from panelwright.plates._kernel.solids.booleans import common_of
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.geometry.probe import Probe
from panelwright.plates.geometry.region import pieces

PLY = Stock("plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def on_base(
    wall: Outline | None = None, base: Outline | None = None, *, joint: object = None, stock: Stock = PLY, **place: object
) -> Assembly:
    """A wall that stands on a base, joined by tabs unless told otherwise."""
    assembly = Assembly("stand", stock=stock)
    floor = assembly.add("base", base or rectangle(120, 80))
    upright = assembly.add(
        "wall", wall or rectangle(100, 60), standing(floor.face(">Z"), facing="-Y", **({"inset": None} | place))
    )
    join(upright.face("<Z"), floor.face(">Z"), joint or tabs(count=2, width=12))  # type: ignore[arg-type]  # object: any joint
    return assembly


def overlapping(gap: float) -> Assembly:
    assembly = on_base()
    assembly.add("shelf", rectangle(40, 20), Frame((0, -13 + gap, PLY.t)), loose=True)
    return assembly


def floating(z: float, *, is_joined: bool = False) -> Assembly:
    assembly = on_base()
    lid = assembly.add("lid", rectangle(100, 30), Frame((0, 0, z)))
    if is_joined:
        join(assembly["wall"].face(">Z"), lid.face("<Z"), tabs(count=2, width=12))
    return assembly


def crossing_hole(y: float) -> Assembly:
    """A cross-lap whose slot may run into a hole."""
    assembly = Assembly("cells", stock=PLY)
    holed = rectangle(100, 60).cut(hole(8).at(y, 20))
    one = assembly.add("one", holed, Frame.facing((0, 2, 30), show=(0, -1, 0), right=(1, 0, 0)))
    two = assembly.add("two", rectangle(100, 60), Frame.facing((2, 0, 30), show=(1, 0, 0), right=(0, 1, 0)))
    join(one, two, cross_lap())
    return assembly


def names(second: str) -> Assembly:
    assembly = Assembly("pair", stock=PLY)
    assembly.add("Wall", rectangle(20, 20))
    assembly.add(second, rectangle(20, 20), Frame((0, 0, 4)), loose=True)
    return assembly


CASES: dict[str, tuple[Callable[[], Assembly], Callable[[], Assembly]]] = {
    "OVERLAP": (lambda: overlapping(3.0), lambda: overlapping(1.0)),
    "FLOATS": (lambda: floating(80.0), lambda: floating(64.0, is_joined=True)),
    "JOINT": (lambda: on_base(joint=tabs(count=9, width=12)), on_base),
    "LOST": (lambda: crossing_hole(0.0), lambda: crossing_hole(25.0)),
    "KERF": (
        lambda: on_base(rectangle(100, 60).cut(rectangle(10, 0.15).at(0, 10))),
        lambda: on_base(rectangle(100, 60).cut(rectangle(10, 2).at(0, 10))),
    ),
    "SHEET": (
        lambda: on_base(stock=replace(PLY, sheet=(110, 110))),
        lambda: on_base(stock=replace(PLY, sheet=(130, 110))),
    ),
    "NAME": (lambda: names("wall"), lambda: names("floor")),
    "WEB": (
        lambda: on_base(rectangle(100, 60).cut(hole(10).at(0, 23))),
        lambda: on_base(rectangle(100, 60).cut(hole(10).at(0, 20))),
    ),
    "SLIVER": (
        lambda: on_base(rectangle(100, 60).cut(rectangle(20, 10).at(0, 24.8))),
        lambda: on_base(rectangle(100, 60).cut(rectangle(20, 10).at(0, 20))),
    ),
}


@pytest.mark.parametrize("code", CASES)
def test_each_finding_is_provoked_and_mended(code: str) -> None:
    """The bad design has the finding with plates, words and numbers; the mended one has no finding at all."""
    bad, good = CASES[code]
    findings = [finding for finding in bad().check() if finding.code == code]
    assert findings
    for finding in findings:
        assert finding.level == ("warning" if code == "WEB" else "error")
        assert finding.plates
        assert all(repr(name) in finding.message for name in finding.plates[:1])
        assert finding.code in str(finding)
    assert good().check() == ()


def test_pieces_are_said() -> None:
    """A plate that joints part in two is said to be in pieces, with the smaller one's place and area."""
    assembly = Assembly("parted", stock=PLY)
    rail = assembly.add("rail", rectangle(100, 20), Frame.facing((0, 2, 10), show=(0, -1, 0), right=(1, 0, 0)))
    for name, z, up in (("lower", 5.5, "second"), ("upper", 14.5, "first")):
        post = assembly.add(name, rectangle(30, 11), Frame.facing((2, 0, z), show=(1, 0, 0), right=(0, 1, 0)))
        # each takes more than its half of the rail, from its own side
        join(rail, post, cross_lap(0.99, opens_up=up))  # type: ignore[arg-type]  # text of a case
    (finding,) = [f for f in assembly.check() if f.code == "PIECES"]
    assert finding.plates == ("rail",)
    assert finding.numbers["pieces"] == 2
    assert finding.place is not None


def test_a_tab_whose_mate_is_cut_away_is_said() -> None:
    """Where another plate's slot takes the material around a tab, the fit is reported as missing or loose."""
    assembly = on_base(joint=tabs(at=[50], width=20))
    made = assembly.resolve().made[0]
    probes = {part.name: Probe(part.loops) for part in assembly.resolve().parts}
    gaps, findings = measured(made, probes)
    assert findings == []
    assert [gap.clearance_mm for gap in gaps] == pytest.approx([0.1, 0.1])
    # one along the joint line, one across the wall's thickness, both in the plane of the base
    assert abs(gaps[0].way[0] * gaps[1].way[0] + gaps[0].way[1] * gaps[1].way[1]) < 1e-9
    assert gaps[0].way[2] == gaps[1].way[2] == 0
    # the same joint measured on a base that lost more than its slot, one that lost nothing, and a wall without its tab
    wider = rectangle(120, 80).cut(rectangle(20.4, 4.1))
    tighter = rectangle(120, 80).cut(rectangle(20.02, 4.1))
    bare = rectangle(120, 80)
    for base, code in ((wider, "FIT-LOOSE"), (tighter, "FIT-TIGHT"), (bare, "NO-MATE")):
        _, found = measured(made, probes | {"base": Probe(base.loops)})
        assert {finding.code for finding in found} == {code}
    _, found = measured(made, probes | {"wall": Probe(rectangle(100, 60).loops)})
    assert {finding.code for finding in found} == {"NO-MATE"}


def test_a_slot_cut_where_there_is_nothing_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cut that a joint relies on and that bites nothing is kept by the resolver, and the proof tells where it should be."""
    from importlib import import_module

    from panelwright.assemblies.resolve.resolve import _part

    resolved = on_base(joint=tabs(at=[50], width=20)).resolve()
    (made,) = resolved.made
    (slot,) = (claim for claim in made.layout.claims if claim.must_bite)
    beside = replace(slot, loop=slot.loop.moved(Motion.shift(500, 0)))
    _, lost = _part(slot.side.body, [(made, slot), (made, beside)], {})
    assert lost == [(made, beside)]
    prove = import_module("panelwright.assemblies.proof.prove")
    monkeypatch.setattr(prove, "resolve", lambda _: replace(resolved, idle=tuple(lost)))
    (finding,) = on_base(joint=tabs(at=[50], width=20)).product().errors
    assert (finding.code, finding.plates) == ("NO-MATE", ("wall", "base"))
    assert "there is no material of 'base' to take it; move it, or enlarge that plate" in finding.message
    x0, y0, x1, y1 = beside.loop.bounds
    assert finding.place == pytest.approx(slot.side.body.point(((x0 + x1) / 2, (y0 + y1) / 2, 2.0)))


def test_all_findings_are_listed_errors_first() -> None:
    """Several faults at once are all said, in a stable order, errors before warnings."""

    def build() -> tuple[Finding, ...]:
        assembly = on_base(rectangle(100, 60).cut(hole(10).at(0, 23)), joint=tabs(count=9, width=12))
        assembly.add("lid", rectangle(100, 30), Frame((0, 0, 90)))
        assembly.add("Lid", rectangle(100, 30), Frame((0, 0, 92)))
        return assembly.check()

    first, second = build(), build()
    assert first == second
    codes = [finding.code for finding in first]
    assert {"JOINT", "OVERLAP", "FLOATS", "NAME", "WEB"} <= set(codes)
    levels = [finding.level for finding in first]
    assert levels == sorted(levels, key=("error", "warning", "note").index)


def test_loose_plates_may_touch_nothing() -> None:
    """A lid beside its box is no fault if it is said to be loose."""
    box = carcass("box", stock=PLY, width=80, depth=60, height=40)
    box.add("lid", rectangle(80, 60), Frame((200, 0, 0)), loose=True)
    assert box.check() == ()


def slab(outline: Outline, frame: Frame, t: float) -> Slab:
    """A plate ready for interference questions, with its solid."""
    return Slab("x", frame, t, Probe(outline.loops), plate_solid(pieces(outline.loops), t))


@pytest.mark.parametrize("kind", ["square", "parallel", "oblique"])
def test_interference_agrees_with_the_kernel(kind: str) -> None:
    """Random pairs share the volume that the kernel's 3D boolean finds, whatever way they are turned in space."""
    dice = random.Random(kind)
    collided = 0
    for _ in range(40):
        whole = Frame.turned((1, dice.uniform(-1, 1), 2), dice.uniform(0, 360))

        def drawn() -> Outline:
            shape = rectangle(dice.uniform(20, 60), dice.uniform(20, 60)).cut(
                rectangle(dice.uniform(3, 9), dice.uniform(3, 9)).at(dice.uniform(-4, 4), dice.uniform(-4, 4))
            )
            return shape.turned(dice.choice([0, 30, 90]))

        def moved(angle: float, whole: Frame = whole) -> Frame:
            turn = Frame.turned("X", angle)
            spot = tuple(dice.uniform(-12, 12) for _ in range(3))
            return Frame(spot, turn.x, turn.y, turn.z).then(whole)  # type: ignore[arg-type]  # three numbers each

        angle = {"square": 90.0, "parallel": dice.choice([0.0, 180.0]), "oblique": dice.uniform(20, 70)}[kind]
        a, b = slab(drawn(), moved(0), dice.uniform(2, 8)), slab(drawn(), moved(angle), dice.uniform(2, 8))
        expected = common_of((a.solid, a.frame), (b.solid, b.frame))[0]
        volume, place = common_volume(a, b)
        assert volume == pytest.approx(expected, rel=1e-6, abs=1e-6)
        assert (place is None) == (volume == 0)
        collided += volume > 1
    assert collided >= 8


def test_round_plates_that_fill_a_hole_share_nothing() -> None:
    """A disc in a hole of the same size touches all round and overlaps nowhere, though both are round."""
    bored = slab(rectangle(60, 60).cut(hole(40)), Frame(), 4.0)
    plug = slab(disc(40), Frame(), 4.0)
    assert common_volume(bored, plug)[0] < 1e-3
    assert common_volume(bored, plug, grow=1e-3)[0] >= 0
    larger = slab(disc(41), Frame(), 4.0)
    assert common_volume(bored, larger)[0] == pytest.approx(math.pi / 4 * (41**2 - 40**2) * 4, rel=1e-9)
