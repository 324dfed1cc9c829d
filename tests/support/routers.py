"""What a router leaves of a panel, read from the exported DXF: a disc as wide as the kerf, swept along every path."""

from __future__ import annotations

import io

import shapely
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.files.dxf import panel_dxf

__all__ = ["swept"]


def swept(panel: Panel) -> tuple[shapely.Geometry, shapely.Geometry]:
    """The finished outline without its holes, and all its openings, as a disc leaves them along the paths of the DXF."""
    import ezdxf
    from ezdxf.path import make_path

    document = ezdxf.read(io.StringIO(panel_dxf(panel).decode("utf-8")))
    rings: dict[str, list[list[tuple[float, float]]]] = {"CUT-INSIDE": [], "CUT-OUTSIDE": []}
    for entity in document.modelspace():
        rings[entity.dxf.layer].append([(p.x, p.y) for p in make_path(entity).flattening(1e-4)])
    half = panel.stock.kerf / 2
    (outer,) = rings["CUT-OUTSIDE"]
    board = shapely.Polygon(outer).difference(shapely.LinearRing(outer).buffer(half, quad_segs=64))
    holes = [shapely.union(shapely.Polygon(r), shapely.LinearRing(r).buffer(half, quad_segs=64)) for r in rings["CUT-INSIDE"]]
    return board, shapely.union_all(holes)
