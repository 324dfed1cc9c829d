"""A small shaded picture of a product, for a page that shows many: made quickly, from the loops of flat plates."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.pictures.picture import VIEWS
from panelwright.assemblies.report.flat_meshes import MICROMETRES, flat_facets
from panelwright.plates.errors import KernelError

if TYPE_CHECKING:
    from panelwright.plates._kernel.drawing.shaded import Mesh

__all__ = ["HEIGHT", "WIDTH", "thumbnail"]

WIDTH, HEIGHT = 216, 162
"""Size in pixels: as large as a card of the page, and small enough that a page can carry a thousand."""

COLOURS = 48
"""Colours of the picture: as many as nobody can tell from more at that size."""

CHORD_MM, CHORD_DEG = 0.5, 30.0
"""How far chords may be off round edges: less than half a pixel of a product of 200 mm."""

MARGIN = 0.04
"""Share of the picture's smaller side that stays empty round the product."""


def thumbnail(product: Product) -> bytes | None:
    """A PNG of the product from its corner, or None if there is nothing to draw; the same product gives the same bytes."""
    from panelwright.plates._kernel.drawing.hidden_line import Outlook
    from panelwright.plates._kernel.drawing.shaded import shade
    from PIL import Image

    try:
        meshes = [(_mesh(part), part.stock.rgb) for part in product.shown]
    except KernelError:
        return None
    if not meshes:
        return None
    view = VIEWS["corner"]
    outlook = Outlook.towards(view.viewer, up=view.up)
    corners = np.concatenate([mesh.triangles.reshape(-1, 3) for mesh, _ in meshes])
    across, along = corners @ np.array(outlook.right), corners @ np.array(outlook.up)
    x0, x1, y0, y1 = float(across.min()), float(across.max()), float(along.min()), float(along.max())
    room = 1.0 - 2.0 * MARGIN
    mm = max((x1 - x0) / (WIDTH * room), (y1 - y0) / (HEIGHT * room), 1e-6)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    window = (x - mm * WIDTH / 2, y - mm * HEIGHT / 2, x + mm * WIDTH / 2, y + mm * HEIGHT / 2)
    pixels = shade(meshes, (), outlook, window, (WIDTH, HEIGHT))
    file = io.BytesIO()
    Image.fromarray(pixels).quantize(COLOURS, dither=Image.Dither.NONE).save(file, "PNG", optimize=True)
    return file.getvalue()


def _mesh(part: Part | Bought) -> Mesh:
    """The part's triangles in the product's frame."""
    from panelwright.plates._kernel.drawing.shaded import Mesh, triangulated

    facets = None
    if isinstance(part, Part) and part.unrolled is None:
        facets = flat_facets(part.loops, part.stock.t, deflection=CHORD_MM, turn_deg=CHORD_DEG)
    if facets is None:
        return triangulated(part.solid, part.frame, deflection=CHORD_MM, bent=getattr(part, "bent_t", None))
    frame = part.frame
    places = np.array(facets.points, dtype=float) / MICROMETRES
    world = places @ np.array([frame.x, frame.y, frame.z]) + np.array(frame.origin)
    order = np.concatenate([np.array(face, dtype=int) for face in facets.faces])
    triangles = world[order.reshape(-1, 3)]
    broad = sum(len(face) for face in facets.faces[:2]) // 3
    is_cut = np.arange(len(triangles)) >= broad
    return Mesh(triangles, is_cut, np.zeros(len(triangles), dtype=bool), np.zeros_like(triangles))
