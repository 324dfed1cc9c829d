"""A stand that is built a little otherwise each time, and its versions: what `compare` is tested on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from panelwright.assemblies import Assembly
from panelwright.assemblies.compare.version import Version, version_of
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Stock, hole, obround, rectangle, standing

__all__ = ["BIRCH", "DESIGN", "stand", "version", "written_polygon"]

BIRCH = Stock("birch plywood", 4.0, measured=4.0, density=680)
"""Without a kerf, so that the files show the finished shapes."""


def stand(
    *,
    width: float = 160.0,
    stock: Stock = BIRCH,
    base_hole: tuple[float, float] | None = (50.0, 20.0),
    hole_wide: float = 12.0,
    names: Mapping[str, str] | None = None,
    hand: float = 1.0,
    shelf_at: float = 60.0,
    with_shelf: bool = True,
    clearance: float | None = None,
    place: Frame | None = None,
) -> Product:
    """A tool stand: a base with a hole off its middle, a wall joined to it with one slot, and a loose shelf of its own shape.

    `hand` −1 builds the mirror image; `place` is where all of it stands.
    """
    called = {"base": "base", "wall": "wall", "shelf": "shelf"} | dict(names or {})
    made = Assembly("tool stand", stock=stock, clearance=clearance)
    outline = rectangle(width, 80)
    if base_hole is not None:
        outline = outline.cut(hole(hole_wide).at(hand * base_hole[0], base_hole[1]))
    base = made.add(called["base"], outline)
    wall = rectangle(120, 60).cut(obround(20, 6).at(hand * 25, 10))
    upright = made.add(called["wall"], wall, standing(base.face(">Z"), facing="-Y", inset=15))
    if with_shelf:
        board = rectangle(50, 30).rounded(8, ">X" if hand > 0 else "<X")
        made.add(called["shelf"], board, Frame((hand * 100, 0.0, shelf_at)), loose=True)
    join(upright.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    if place is None:
        return made.product()
    room = Assembly("tool stand", stock=stock, clearance=clearance)
    room.add("all", made, place)
    product = room.product()
    return replace(product, findings=tuple(replace(f, plates=f.plates) for f in product.findings))


def version(product: Product, label: str = "", **more: Any) -> Version:
    """The version that a product is."""
    return version_of(manifest_of(product, {}, **more), label or product.name)


def written_polygon(product: Product, panel: str, folder: Path) -> Any:
    """What a panel's DXF file encloses, read by ezdxf alone and put together by shapely."""
    import ezdxf
    import shapely
    from ezdxf import path as paths

    write_product(product, folder)
    drawing = ezdxf.readfile(folder / "panels" / f"{panel}.dxf")  # type: ignore[attr-defined]  # it declares no names
    whole, out = [], []
    for entity in drawing.modelspace():
        # its paths are cubics, which are no circles
        points = entity.flattening(1e-4) if entity.dxftype() == "CIRCLE" else paths.make_path(entity).flattening(1e-4)
        ring = shapely.Polygon([(p.x, p.y) for p in points])
        (whole if entity.dxf.layer == "CUT-OUTSIDE" else out).append(ring)
    return shapely.union_all(whole).difference(shapely.union_all(out))


DESIGN = '''
"""A tool stand."""
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Stock, hole, rectangle, standing

from sizes import HOLE

def design(width: float = 160) -> Assembly:
    made = Assembly("tool stand", stock=Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, density=680))
    base = made.add("base", rectangle(width, 80).cut(hole(HOLE).at(50, 20)))
    wall = made.add("wall", rectangle(120, 60), standing(base.face(">Z"), facing="-Y", inset=15))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    return made
'''
"""A design that imports its neighbour `sizes.py`."""
