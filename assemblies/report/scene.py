"""What the 3D view shows, as plain data: meshes, where each part stands and goes, joints with their gaps, findings with places.

Lengths are whole micrometres in meshes and millimetres elsewhere.  Parts that share a solid share a mesh.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.assemblies.pictures.apart import all_apart, stay_words
from panelwright.assemblies.pictures.boxes import Block
from panelwright.assemblies.product.json_entries import finding_entry
from panelwright.plates.geometry.curves import around
from panelwright.plates.geometry.frame import Frame

from .flat_meshes import flat_facets
from .shared_volumes import shared_solids

if TYPE_CHECKING:
    from panelwright.plates._kernel.drawing.facets import Facets

__all__ = ["MANY_PARTS", "scene_of"]

MANY_PARTS = 120
"""From so many plates on, round faces get fewer triangles: nobody sees all of them near."""

_FINE, _COARSE = (0.03, 18.0), (0.2, 45.0)
"""Largest distance in mm between a round face and its triangles, and largest angle in degrees from chord to chord.

The fine ones are below a kerf, so that gaps look right; the coarse ones are for many plates.
"""


def scene_of(product: Product) -> dict[str, Any]:
    """The 3D view's data for a product, ready for JSON.

    `meshes` hold `p`, the coordinates of corners one after the other, `b` and `c`, the triangles of broad faces and of cut
    edges by B-rep face, and `e`, the edges.  `parts` come in the order of `product.parts`, bought ones
    after them; a finding or joint names parts by their numbers.  `shared` are meshes in the product's frame, each for a finding
    of an overlap.  `away` are the moves by which a part leaves, and `stays` says what is not taken apart, and why.
    """
    fine = _FINE if len(product.parts) < MANY_PARTS else _COARSE
    shown = product.shown
    meshes: list[dict[str, Any]] = []
    number_of: dict[int, int] = {}
    facets: list[Facets] = []
    for part in shown:
        if id(part.solid) not in number_of:  # plates cut alike share one solid
            number_of[id(part.solid)] = len(meshes)
            facets.append(_facets(part, fine))
            meshes.append(_mesh(part, facets[-1]))
    blocks = [_block(facets[number_of[id(part.solid)]], part.frame) for part in shown]
    part_of = {name: i for i, part in enumerate(product.parts) for name in part.plates}
    goes = all_apart(shown, blocks, product.plan)
    panel_of = {name: i for i, panel in enumerate(product.panels) for name in panel.plates}
    parts: list[dict[str, Any]] = []
    for part, away in zip(shown, goes, strict=True):
        parts.append(
            {
                "at": _placing(part.frame),
                "away": [[*(round(v, 3) + 0.0 for v in leg.move), *(round(v, 4) for v in leg.turn)] for leg in away.legs],
                "mesh": number_of[id(part.solid)],
                "name": part.name,
                "rgb": list(part.stock.rgb),
                **(_said(part, panel_of) if isinstance(part, Part) else _said_of_bought(part)),
            }
        )
    return {
        "findings": [_finding(finding, part_of) for finding in product.findings],
        "joints": [_joint(joint, part_of) for joint in product.joints],
        "meshes": meshes,
        "name": product.name,
        "parts": parts,
        "stays": stay_words(product.plan),
        "shared": [{"finding": number, "mesh": _listed(facets)} for number, facets in _shared(product, fine[0])],
    }


def _shared(product: Product, deflection: float) -> list[tuple[int, Facets]]:
    from panelwright.plates._kernel.drawing.facets import facets_of

    return [(number, facets_of(solid, deflection=deflection)) for number, solid in shared_solids(product)]


def _facets(part: Part | Bought, fineness: tuple[float, float]) -> Facets:
    from panelwright.plates._kernel.drawing.facets import facets_of

    deflection, turn_deg = fineness
    if isinstance(part, Part) and part.unrolled is None:
        found = flat_facets(part.loops, part.stock.t, deflection=deflection, turn_deg=turn_deg)
        if found is not None:
            return found
    return facets_of(part.solid, deflection=deflection, turn_deg=turn_deg)


def _mesh(part: Part | Bought, facets: Facets) -> dict[str, Any]:
    points = np.array(facets.points, float) / 1000.0
    broad: list[list[int]] = []
    cut: list[list[int]] = []
    for face in facets.faces:
        (cut if _is_cut(part, points[np.array(face, int).reshape(-1, 3)]) else broad).append(list(face))
    return _listed(facets) | {"b": broad, "c": cut}


def _listed(facets: Facets) -> dict[str, Any]:
    """A mesh all of whose faces are alike."""
    return {
        "b": [list(face) for face in facets.faces],
        "c": [],
        "e": [list(edge) for edge in facets.edges],
        "p": [value for point in facets.points for value in point],
    }


def _is_cut(part: Part | Bought, triangles: Any) -> bool:
    """Whether a face is one that the beam made, not one of the sheet's own."""
    if not isinstance(part, Part) or not len(triangles):
        return False
    if part.unrolled is None:  # a broad face is level, and nothing else is
        return bool(np.ptp(triangles[:, :, 2]) > 0.5 * part.stock.t)
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    sizes = np.linalg.norm(across, axis=1)
    # bent: a strip as wide as the sheet is thick has less area than its length times that
    span = float(np.linalg.norm(np.ptp(triangles.reshape(-1, 3), axis=0)))
    return bool(sizes.sum() / 2 < 1.05 * part.stock.t * span)


def _block(facets: Facets, frame: Frame) -> Block:
    low, high = (tuple(pick(point[k] for point in facets.points) / 1000.0 for k in range(3)) for pick in (min, max))
    return Block(frame, (low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _placing(frame: Frame) -> list[float]:
    """The frame as the rows of a 3 × 4 matrix."""
    axes = zip(frame.x, frame.y, frame.z, frame.origin, strict=True)
    return [round(value, 9) + 0.0 for row in axes for value in row]


def _said(part: Part, panel_of: dict[str, int]) -> dict[str, Any]:
    left, low, right, top = around(loop.bounds for loop in part.loops)
    bent = "" if part.unrolled is None else ", cut flat, then bent"
    return {
        "kind": "plate",
        "note": f"{right - left:.2f} × {top - low:.2f} × {part.stock.t:g} mm{bent}",
        "of": _stock_words(part),
        "panel": panel_of.get(part.name),
    }


def _stock_words(part: Part) -> str:
    return f"{part.stock.name} ({part.stock.material})" if part.stock.name else part.stock.material


def _said_of_bought(part: Bought) -> dict[str, Any]:
    return {"kind": part.fastener.kind, "note": part.fastener.note, "of": part.fastener.designation, "panel": None}


def _joint(joint: JointRecord, part_of: dict[str, int]) -> dict[str, Any]:
    gaps = [
        [*(round(v, 3) + 0.0 for v in gap.place), *(round(v, 4) + 0.0 for v in gap.way), round(gap.clearance_mm, 4) + 0.0]
        for gap in joint.gaps
        if math.isfinite(gap.clearance_mm)
    ]
    return {
        "clearance_mm": round(joint.clearance_mm, 4) + 0.0,
        "gaps": gaps,
        "parts": [part_of[name] for name in joint.plates if name in part_of],
        "plates": list(joint.plates),
        "words": joint.words.name,
    }


def _finding(finding: Finding, part_of: dict[str, int]) -> dict[str, Any]:
    """The finding as everywhere, with the numbers of its parts."""
    return {
        **finding_entry(finding),
        "message": finding.text,
        "parts": list(dict.fromkeys(part_of[name] for name in finding.plates if name in part_of)),
    }
