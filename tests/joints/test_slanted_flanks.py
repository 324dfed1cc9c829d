"""A plate whose flanks slant, designed to overlap its mate: the joint trims it by what it is at the depth of the cut."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.proof.interference import Slab, common_volume
from panelwright.joints import Joint, join, t_nut, tabs
from panelwright.plates import Frame, Stock, polygon, rectangle, trapezium
from panelwright.plates.geometry.probe import Probe

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def stand(lean_deg: float, sink: float, joint: Joint | None, *, top: float = 260.0, shift: float = 0.0) -> Assembly:
    """A leaning front with slanted flanks that reaches `sink` mm into the underside of a top, `top` mm wide."""
    cosine, sine = math.cos(math.radians(lean_deg)), math.sin(math.radians(lean_deg))
    made = Assembly("display stand", stock=PLY)
    frame = Frame.facing((0, 0, 60), show=(0, -cosine, sine), right=(1, 0, 0))
    front = made.add("front", trapezium(200, 160, 110), frame)
    edge = [frame.point((0, 55, z)) for z in (0.0, PLY.t)]
    level = max(point[2] for point in edge) - sink
    board = made.add("top", rectangle(top, 160), Frame((shift, edge[0][1], level)))
    upper = [face for face in front.border if face.segment.start[1] > 54 and face.segment.end[1] > 54]
    if joint is not None:
        join(upper, board.back, joint)
    return made


def shared(made: Assembly) -> float:
    a, b = (Slab(part.name, part.frame, part.stock.t, Probe(part.loops), part.solid) for part in made.product().parts)
    return common_volume(a, b)[0]


@pytest.mark.parametrize("lean_deg", [-20.0, 0.0, 12.0])
@pytest.mark.parametrize("sink", [0.0, 1.0, 4.0])
@pytest.mark.parametrize(("top", "shift"), [(260.0, 0.0), (120.0, 0.0), (200.0, 30.0)])
def test_no_spikes_stay_beside_slanted_flanks(lean_deg: float, sink: float, top: float, shift: float) -> None:
    """Whatever the lean and the overlap, and wherever the top ends: nothing is shared and nothing is refused."""
    made = stand(lean_deg, sink, tabs(count=3), top=top, shift=shift)
    assert [finding for finding in made.check() if finding.level == "error"] == []
    assert shared(made) < 1e-3
    if sink > 0:
        assert shared(stand(lean_deg, sink, None, top=top, shift=shift)) > 1  # there was something to trim


def test_nut_captures_trim_flanks_too() -> None:
    """They cut the edge back by the same rule."""
    made = stand(0.0, 4.0, t_nut("M3", count=1, tabs=tabs(count=2, width=14)))
    assert [finding.code for finding in made.check() if finding.code == "OVERLAP"] == []


def test_horns_beside_a_joined_edge_are_no_flanks() -> None:
    """An edge in a notch is trimmed by half a clearance beyond its ends, and the horns beside it stand."""
    made = Assembly("rack", stock=PLY)
    horned = polygon([(-60, 0), (60, 0), (60, 50), (40, 50), (40, 40), (-40, 40), (-40, 50), (-60, 50)])
    wall = made.add("wall", horned, Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    shelf = made.add("shelf", rectangle(79.8, 60), Frame((0, -2, 39)))
    edge = next(face for face in wall.border if face.segment.start[1] == face.segment.end[1] == 40)
    join(edge, shelf.back, tabs(count=2, width=10))
    product = made.product()
    assert product.errors == ()
    (part,) = [part for part in product.parts if part.name == "wall"]
    assert part.loops[0].bounds[3] == 50.0
    assert Probe(part.loops).covers([(-50.0, 49.0), (50.0, 49.0), (-40.3, 39.5), (40.3, 39.5)]) == [True] * 4


def test_an_overlap_tells_each_of_its_places() -> None:
    """Two plates that cross at two places far apart: both are told, and none between them."""
    made = Assembly("rack", stock=PLY)
    made.add(
        "comb",
        polygon([(-80, 0), (80, 0), (80, 40), (60, 40), (60, 20), (-60, 20), (-60, 40), (-80, 40)]),
        Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)),
    )
    made.add("shelf", rectangle(200, 60), Frame((0, -2, 30)))
    (finding,) = [finding for finding in made.check() if finding.code == "OVERLAP"]
    assert finding.numbers["places"] == 2.0
    assert "at 2 places: around (-70.0, -2.0, 32.0); around (70.0, -2.0, 32.0); join them there" in finding.message
    assert finding.place is not None
    assert abs(finding.place[0]) == pytest.approx(70.0)
