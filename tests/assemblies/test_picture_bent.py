"""Pictures of bent panels: shaded by the true cylinder, cut edges told from broad faces whichever way they look."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hinges import PLY, TURNS, stand
from panelwright.assemblies.data.parts import Part, Unrolled
from panelwright.assemblies.pictures.picture import View, shaded_pixels
from panelwright.joints import living_hinge
from panelwright.plates import Frame
from panelwright.plates._kernel.drawing.shaded import triangulated
from panelwright.plates._kernel.solids.bent_solid import bent_solid
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates.geometry.bending import FlatPiece, RoundPiece
from panelwright.plates.geometry.curves import loop_through

RADIUS, T = 45.0, 3.0


def crest(frame: Frame | None = None) -> Part:
    """Two plates of 40 × 60 mm and a plain quarter turn between them, without slits."""
    flat = loop_through([(-40, -30), (0, -30), (0, 30), (-40, 30)])
    length = (RADIUS + T / 2) * math.pi / 2
    strip = loop_through([(0, -30), (length, -30), (length, 30), (0, 30)])
    far = loop_through([(length, -30), (length + 40, -30), (length + 40, 30), (length, 30)])
    bend = RoundPiece((strip,), Frame(), (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), RADIUS + T / 2, -math.pi / 2, T)
    solid = bent_solid([FlatPiece((flat,), Frame()), bend, FlatPiece((far,), bend.beyond)], T)
    unrolled = Unrolled(("front", "side"), (flat,), (flat,), ())
    return Part("front+side", PLY, frame or Frame(), solid, (flat,), (), unrolled)


@pytest.mark.parametrize("turn", ["cube-0", "cube-7", "odd"])
def test_corners_on_cylinders_have_the_cylinders_normals(turn: str) -> None:
    """Away from the axis outside, towards it inside, exactly, wherever the part stands; flat faces say so."""
    part = crest(TURNS[turn])
    mesh = triangulated(part.solid, part.frame, deflection=0.2, bent=T)
    local = np.array([part.frame.local(tuple(p)) for p in mesh.triangles[mesh.is_round].reshape(-1, 3).tolist()])
    ways = np.array([part.frame.local_direction(tuple(n)) for n in mesh.normals[mesh.is_round].reshape(-1, 3).tolist()])
    radial = (local - [0.0, 0.0, -RADIUS]) * [1.0, 0.0, 1.0]
    size = np.linalg.norm(radial, axis=1, keepdims=True)
    outside = size[:, 0] > RADIUS + T / 2
    assert set(np.round(size[:, 0], 6)) == {RADIUS, RADIUS + T}
    assert np.abs(ways - radial / size * np.where(outside, 1.0, -1.0)[:, None]).max() < 1e-6
    across = np.cross(*(mesh.triangles[~mesh.is_round][:, i] - mesh.triangles[~mesh.is_round][:, 0] for i in (1, 2)))
    area = np.linalg.norm(across, axis=1).sum() / 2
    ends = (RADIUS + T / 2) * math.pi / 2 * T
    # four broad faces of the plates, their edges, and the two ends of the strip by chords
    assert area == pytest.approx(4 * 40 * 60 + 2 * (60 + 2 * 40) * T + 2 * ends, rel=1e-3)


@pytest.mark.parametrize("pattern", ["staggered", "obround", "chevron"])
def test_cut_edges_are_told_from_broad_faces(pattern: str) -> None:
    """Broad faces have twice the panel's area, bent ones by their own radius; walls are as long as all its borders."""
    part = stand(living_hinge(pattern=pattern)).product().parts[0]  # type: ignore[arg-type]  # text of a case
    mesh = triangulated(part.solid, part.frame, deflection=0.01, bent=T)
    across = np.cross(mesh.triangles[:, 1] - mesh.triangles[:, 0], mesh.triangles[:, 2] - mesh.triangles[:, 0])
    area = np.linalg.norm(across, axis=1) / 2
    # what a broad face gains outside it loses inside
    assert area[~mesh.is_cut].sum() == pytest.approx(2 * part.area_mm2, rel=1e-3)
    borders = sum(loop.length for loop in part.loops) * T
    assert area[mesh.is_cut].sum() == pytest.approx(borders, rel=5e-3)


def test_a_cylinder_is_shaded_evenly() -> None:
    """Along the bend every pixel is alike, and across it light changes by small steps only: no triangle shows."""
    picture = shaded_pixels([crest()], view=View(90, 60), width=700, height=500).astype(int)
    light = picture.sum(axis=2)[40:470, 300:400]
    # along the axis there is no difference at all, but for the lines drawn at the bend lines
    assert np.ptp(light, axis=1).max() == 0
    levels = light[:, 0]
    drawn = np.convolve(levels < 340, np.ones(7), "same") > 0
    assert 0 < drawn.sum() <= 2 * 9
    assert np.abs(np.diff(levels[~drawn])).max() <= 4
    assert levels[0] - levels[-1] > 100


def test_a_plate_beyond_the_bend_is_as_light_as_a_broad_face() -> None:
    """Its show face, square to the first plate's, is broad: as light as one that looks the same way without any bend."""
    flat = loop_through([(-20, -30), (20, -30), (20, 30), (-20, 30)])
    alone = Part("alone", PLY, Frame.turned("Y", 90), plate_solid([(flat, ())], T), (flat,))
    colours = []
    for part, row in ((crest(), 250), (alone, 150)):
        picture = shaded_pixels([part], view=View(90, 0), width=300, height=300)
        colours.append(picture[row, 150].tolist())
    assert colours[0] == colours[1]
