"""A shaded picture of placed solids as an array of pixels: no display, no graphics driver.

A z-buffer written with arrays instead of loops: every triangle of every solid is cut into rows, every row
into pixels, and each pixel keeps the nearest one.  Depth and triangle share one integer, so "nearest" is a
plain maximum and equal depths are settled by the order of the solids: the same bytes on every run.  The exact
visible edges go on top as smoothed lines.

The light is that of an assembly leaflet: a bright room, one lamp over the viewer's left shoulder that casts
shadows, and cut edges darker than broad faces, as a laser leaves them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

import numpy as np
import numpy.typing as npt
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.curves import Bounds, Point, Segment, points_along
from panelwright.plates.geometry.frame import Frame

from .hidden_line import Outlook, placed

__all__ = ["Mesh", "Pixels", "shade", "triangulated"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]
Pixels = npt.NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of a solid, (n, 3, 3) corners in world mm, wound so that they look out of the material.

    `is_cut` says of each whether it lies in a cut edge.  `normals` are those of the true surface at each corner, (n, 3, 3), for
    the triangles with `is_round`; the others are as flat as they look.
    """

    triangles: Floats
    is_cut: Mask
    is_round: Mask
    normals: Floats


_CHUNK = 1_000_000
"""Pixels handled at once: enough to hide the cost of a call, few enough to stay within 100 MB."""

_DEPTH_BITS, _INDEX_BITS = 38, 24
"""Depth in steps of 4 nm on a metre, and up to 16 million triangles, in one signed 64-bit integer."""

_ROOM, _LAMP = 0.78, 0.30
"""Shares of light: from everywhere, and from the lamp on a face square to it."""

_TO_LAMP = (-0.45, 0.55, 0.70)
"""Direction to the lamp in the picture's right, up and towards the viewer."""

_CUT_EDGE = 0.76
"""A cut edge's lightness against a broad face under the same light."""

_WHITE = 0.20
"""Share of white in every paint: lines stand out better on it, and black acrylic still shows its shape."""

_INK = 0.82
"""How dark a line is: the share of the colour below it that it takes away."""

_PROFILE = 1.7
"""How much wider a line is where a plate ends against the background, as draughtsmen do it."""


def triangulated(solid: Any, frame: Frame, *, deflection: float, bent: float | None = None) -> Mesh:
    """The triangles of a solid where it stands, wound so that their normals point out of the material.

    `deflection` is the largest distance in mm between a round face and its triangles.  `bent` is the thickness in mm of a
    sheet that is bent, whose cut edges look all ways.  The mesh is made on a copy; the solid itself stays as it was.  Raises
    `KernelError` if the kernel gives no mesh.
    """
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    shape = placed(solid, frame)
    BRepMesh_IncrementalMesh(shape, deflection, False, 0.4, False)
    corners: list[Floats] = []
    normals: list[Floats] = []
    round_counts: list[tuple[bool, int]] = []
    cut_counts: list[tuple[bool, int]] = []
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        explorer.Next()
        is_round = BRepAdaptor_Surface(face).GetType() != GeomAbs_SurfaceType.GeomAbs_Plane
        places, ways, order = _mesh_of(face, with_normals=is_round)
        order = order[:, ::-1] if face.Orientation() == TopAbs_REVERSED else order
        corners.append(places[order])
        normals.append(ways[order])
        round_counts.append((is_round, len(order)))
        cut_counts.append((bent is not None and _is_wall(face, bent), len(order)))
    if not corners:
        raise KernelError("a solid to draw has no faces; give a solid")
    triangles, smooth = np.concatenate(corners), np.concatenate(normals)
    flat = _normals(triangles)
    # the kernel's normals know nothing of which side of a face the material is on
    smooth *= np.where((smooth * flat[:, None, :]).sum(axis=2, keepdims=True) < 0.0, -1.0, 1.0)
    is_cut = np.abs(flat @ np.array(frame.z)) < 0.5 if bent is None else _repeated(cut_counts)
    return Mesh(triangles, is_cut, _repeated(round_counts), smooth)


def _mesh_of(face: Any, *, with_normals: bool) -> tuple[Floats, Floats, Ints]:
    """Places and surface normals of a face's nodes in the world, and the nodes of each triangle.

    Without normals they are all 0.
    """
    from OCP.BRep import BRep_Tool
    from OCP.StdPrs import StdPrs_ToolTriangulatedShape
    from OCP.TopLoc import TopLoc_Location

    location = TopLoc_Location()
    mesh = BRep_Tool.Triangulation_s(face, location)
    if mesh is None:
        raise KernelError("the kernel gave no triangles for a face; check that the solid is valid")
    motion, count = location.Transformation(), range(1, mesh.NbNodes() + 1)
    nodes = [mesh.Node(index).Transformed(motion) for index in count]
    places = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
    order = np.array([mesh.Triangle(index).Get() for index in range(1, mesh.NbTriangles() + 1)]) - 1
    if not with_normals:
        return places, np.zeros_like(places), order
    StdPrs_ToolTriangulatedShape.ComputeNormals_s(face, mesh)
    ways = [mesh.Normal(index).Transformed(motion) for index in count]
    return places, np.array([(way.X(), way.Y(), way.Z()) for way in ways]), order


def _is_wall(face: Any, thickness: float) -> bool:
    """Whether a face has four edges, two of them straight and opposite each other, as long as a sheet is thick."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.GeomAbs import GeomAbs_CurveType
    from OCP.TopAbs import TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    wires = TopExp_Explorer(face, TopAbs_WIRE)
    edges = BRepTools_WireExplorer(TopoDS.Wire_s(wires.Current()))
    across: list[bool] = []
    while edges.More() and len(across) < 5:
        curve = BRepAdaptor_Curve(edges.Current())
        length = curve.LastParameter() - curve.FirstParameter()
        is_line = curve.GetType() == GeomAbs_CurveType.GeomAbs_Line
        across.append(is_line and abs(length - thickness) < 1e-6)
        edges.Next()
    wires.Next()
    return not wires.More() and len(across) == 4 and ((across[0] and across[2]) or (across[1] and across[3]))


def _repeated(counts: Sequence[tuple[bool, int]]) -> Mask:
    return np.repeat([value for value, _ in counts], [count for _, count in counts])


def shade(
    meshes: Sequence[tuple[Mesh, tuple[int, int, int]]],
    lines: Sequence[Segment],
    outlook: Outlook,
    window: Bounds,
    size: tuple[int, int],
    *,
    background: tuple[int, int, int] = (255, 255, 255),
    stroke_px: float = 1.4,
) -> Pixels:
    """The picture: meshes in their colours (red, green and blue from 0 to 255), with lines on top.

    `window` is the part of the picture's plane to show in mm, of the same proportions as `size`, the width
    and height in pixels; `lines` are in the picture's plane too.  Returns an array of (height, width, 3) with
    the top row first.  Faces are sampled four times a pixel; lines are smoothed by the share of each pixel
    that they cover.
    """
    width, height = size
    triangles = np.concatenate([mesh.triangles for mesh, _ in meshes])
    cut = np.concatenate([mesh.is_cut for mesh, _ in meshes])
    paint = np.concatenate([np.tile(np.array(rgb, float), (len(mesh.triangles), 1)) for mesh, rgb in meshes])
    normals = _normals(triangles)
    camera = np.array([outlook.right, outlook.up, outlook.viewer])
    to_lamp = np.array(_TO_LAMP) / np.linalg.norm(_TO_LAMP) @ camera

    facing = normals @ camera[2] > 1e-9
    shown, bright = triangles[facing], np.clip(normals[facing] @ to_lamp, 0.0, None)
    scale = 2.0 * width / (window[2] - window[0])
    shift = np.array([-window[0] * scale, 2.0 * height + window[1] * scale, 0.0])
    to_screen = np.array([[scale], [-scale], [1.0]]) * camera
    index, depth = _nearest(shown @ to_screen.T + shift, 2 * width, 2 * height)

    base = (255.0 * _WHITE + paint[facing] * (1.0 - _WHITE)) * np.where(cut[facing], _CUT_EDGE, 1.0)[:, None]
    casters = triangles[normals @ to_lamp > 1e-9]
    to_world = np.linalg.inv(to_screen).T
    rounded = np.concatenate([mesh.is_round for mesh, _ in meshes])[facing]
    at_corners = np.concatenate([mesh.normals for mesh, _ in meshes])[facing] @ to_lamp

    def light(points: Floats, which: Ints) -> Floats:
        spots = (points - shift) @ to_world
        lamp, slack = bright[which], np.full(len(which), 3.0)
        curved = np.flatnonzero(rounded[which])
        if len(curved):
            lamp[curved] = _smooth(spots[curved], shown, at_corners, which[curved])
            # where light grazes a round face, the face slants more and more steeply through a cell
            slack[curved] = np.maximum(3.0, 2.0 / np.maximum(lamp[curved], 0.05))
        lit = np.flatnonzero(lamp > 0.0)  # what looks away from the lamp needs no shadow
        lamp[lit] *= _reached(spots[lit], casters, to_lamp, scale, slack[lit])
        colors: Floats = np.minimum(base[which] * (_ROOM + _LAMP * lamp)[:, None], 255.0)
        return colors

    flat = _lit(index, depth, size, light, background)
    bare: Mask = np.asarray((index < 0).reshape(height, 2, width, 2).any(axis=(1, 3)))
    at_profile = _grown(bare, 1 + round(stroke_px))
    thin, wide = (_ink(lines, window, size, factor * stroke_px) for factor in (1.0, _PROFILE))
    cover = np.where(at_profile, wide, thin)[..., None]
    # A dark line cannot be seen on a dark plate: there it is a light one.
    line = np.where(flat.mean(axis=2, keepdims=True) < 66.0, flat + 80.0, flat * (1.0 - _INK))
    return np.rint(flat + (line - flat) * cover).astype(np.uint8)


def _by_pixel(values: npt.NDArray[Any], width: int, height: int) -> npt.NDArray[Any]:
    """Values of samples, two by two a pixel and row by row, as one row of four a pixel."""
    return values.reshape(height, 2, width, 2).transpose(0, 2, 1, 3).reshape(-1, 4)


def _lit(
    index: Ints,
    depth: Floats,
    size: tuple[int, int],
    light: Callable[[Floats, Ints], Floats],
    background: tuple[int, int, int],
) -> Floats:
    """The picture without its lines, from the triangle and depth of each sample; `light` gives points their colours.

    Most pixels show one triangle in all four samples: they are lit once, at their middle.
    """
    width, height = size
    four, depths = (_by_pixel(values, width, height) for values in (index, depth))
    is_plain = np.asarray((four == four[:, :1]).all(axis=1))
    plain, mixed = np.flatnonzero(is_plain & (four[:, 0] >= 0)), np.flatnonzero(~is_plain)
    owners = four[mixed].ravel()
    sample = np.flatnonzero(owners >= 0)
    pixel, corner = mixed[sample // 4], sample % 4
    column = np.concatenate([plain % width * 2 + 1.0, pixel % width * 2 + corner % 2 + 0.5])
    row = np.concatenate([plain // width * 2 + 1.0, pixel // width * 2 + corner // 2 + 0.5])
    level = np.concatenate([depths[plain].mean(axis=1), depths[mixed].ravel()[sample]])
    colors = light(np.stack([column, row, level], axis=1), np.concatenate([four[plain, 0], owners[sample]]))  # pyright: ignore[reportArgumentType]  numpy loses the width of numbers
    blend = np.tile(np.array(background, float), (4 * len(mixed), 1))
    blend[sample] = colors[len(plain) :]
    flat = np.tile(np.array(background, float), (width * height, 1))
    flat[plain] = colors[: len(plain)]
    flat[mixed] = blend.reshape(-1, 4, 3).mean(axis=1)
    return flat.reshape(height, width, 3)


def _grown(mask: Mask, pixels: int) -> Mask:
    """The mask, with everything within a number of pixels (along rows and columns) added."""
    grown = mask.copy()
    for _ in range(pixels):
        once = grown.copy()
        once[1:] |= grown[:-1]
        once[:-1] |= grown[1:]
        once[:, 1:] |= grown[:, :-1]
        once[:, :-1] |= grown[:, 1:]
        grown = once
    return grown


def _normals(triangles: Floats) -> Floats:
    """Unit normals; a triangle without area has the normal 0 and is never drawn."""
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(across, axis=1, keepdims=True)
    unit: Floats = across / np.where(size > 0.0, size, 1.0)
    return unit


def _smooth(spots: Floats, triangles: Floats, bright: Floats, which: Ints) -> Floats:
    """How squarely the lamp shines on spots of round faces: what it is at the corners of their triangles, between them.

    `bright` is the share at each corner of each triangle, below 0 where a corner looks away.
    """
    a, b, c = (triangles[:, i] for i in range(3))
    u, v = b - a, c - a
    uu, uv, vv = ((p * q).sum(axis=1) for p, q in ((u, u), (u, v), (v, v)))
    area = np.maximum(uu * vv - uv * uv, 1e-30)
    off = spots - a[which]
    along, across = (off * u[which]).sum(axis=1), (off * v[which]).sum(axis=1)
    second = (vv[which] * along - uv[which] * across) / area[which]
    third = (uu[which] * across - uv[which] * along) / area[which]
    # a pixel's middle may lie a little outside of the triangle that it shows
    second, third = np.clip(second, 0.0, 1.0), np.clip(third, 0.0, 1.0)
    first = np.clip(1.0 - second - third, 0.0, 1.0)
    found = (np.stack([first, second, third], axis=1) * bright[which]).sum(axis=1)
    share: Floats = np.clip(found, 0.0, 1.0)
    return share


def _reached(points: Floats, casters: Floats, to_lamp: Floats, scale: float, slack: Floats) -> Floats:
    """The share of the lamp's light that gets to each world point, from a depth map seen from the lamp.

    Nine neighbouring cells of the map are asked, which softens the shadow's border.  `slack` is how many cells nearer to the
    lamp something must be to shade each point.
    """
    if not len(points) or not len(casters):
        return np.ones(len(points))
    side = np.cross(to_lamp, np.eye(3)[np.argmin(np.abs(to_lamp))])
    side /= np.linalg.norm(side)
    view = np.array([side, np.cross(to_lamp, side), to_lamp])
    cell = 2.0 / scale  # one cell a pixel of the finished picture
    map_of = casters @ view.T
    low = map_of.reshape(-1, 3).min(axis=0) - 2.0 * cell
    spread = map_of.reshape(-1, 3).max(axis=0) + 2.0 * cell - low
    columns, rows = (int(np.ceil(spread[axis] / cell)) for axis in (0, 1))
    to_cells = np.array([1.0 / cell, 1.0 / cell, 1.0])
    _, height = _nearest((map_of - low) * to_cells, columns, rows)
    spot = (points @ view.T - low) * to_cells
    total = np.zeros(len(points))
    for across, along in product((-1, 0, 1), repeat=2):
        column = np.clip((spot[:, 0] + across).astype(np.int64), 0, columns - 1)
        row = np.clip((spot[:, 1] + along).astype(np.int64), 0, rows - 1)
        # A face slants through a cell, so only what is clearly nearer to the lamp shades it.
        total += spot[:, 2] + slack * cell >= height[row * columns + column]
    share: Floats = total / 9.0
    return share


def _nearest(screen: Floats, width: int, height: int) -> tuple[Ints, Floats]:
    """Z-buffer: for each pixel, row by row, the index of the triangle with the largest z there, and that z.

    `screen` holds corners as (column, row, z).  A pixel belongs to a triangle if its centre does, borders
    half open so that neighbours leave no gap.  Where there is no triangle the index is −1 and z is −infinity.
    """
    buffer = np.full(width * height, -1, np.int64)
    floor = float(screen[..., 2].min(initial=0.0))
    reach = max(float(screen[..., 2].max(initial=0.0)) - floor, 1e-9)
    steps = (2**_DEPTH_BITS - 1) / reach
    last = 2**_INDEX_BITS - 1
    for pixel, owner, z in _fragments(screen, width, height):
        # Earlier triangles win a tie, hence the index counted down.
        key = (((z - floor) * steps).astype(np.int64) << _INDEX_BITS) | (last - owner)
        np.maximum.at(buffer, pixel, key)
    empty = buffer < 0
    index = np.where(empty, -1, last - (buffer & last))
    depth = np.where(empty, -np.inf, (buffer >> _INDEX_BITS) / steps + floor)
    return index, depth


def _fragments(screen: Floats, width: int, height: int) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Pixels that triangles cover, in portions: (pixel, triangle, z) arrays."""
    order = np.argsort(screen[..., 1], axis=1, kind="stable")
    corners = np.take_along_axis(screen, order[..., None], axis=1)
    top, middle, bottom = corners[:, 0], corners[:, 1], corners[:, 2]
    first, beyond = (np.clip(np.ceil(y - 0.5), 0, height).astype(np.int64) for y in (top[:, 1], bottom[:, 1]))
    owner, row = _runs(first, beyond)
    level = row.astype(np.float64) + 0.5
    a, b, c = top[owner], middle[owner], bottom[owner]
    long_side = _x_at(a, c, level)
    short_side = np.where(level < b[:, 1], _x_at(a, b, level), _x_at(b, c, level))
    left, right = np.minimum(long_side, short_side), np.maximum(long_side, short_side)
    start, stop = (np.clip(np.ceil(x - 0.5), 0, width).astype(np.int64) for x in (left, right))

    slope_x, slope_y = _slopes(screen)
    lowest, highest = screen[..., 2].min(axis=1), screen[..., 2].max(axis=1)
    sums = np.cumsum(np.maximum(stop - start, 0))
    total = int(sums[-1]) if len(sums) else 0
    ends = np.searchsorted(sums, np.arange(_CHUNK, total + _CHUNK, _CHUNK)) + 1
    begin = 0
    for end in np.unique(np.minimum(ends, len(sums))):
        span, column = _runs(start[begin:end], stop[begin:end])
        span += begin
        begin = int(end)
        who = owner[span]
        z = (screen[:, 0, 2] - slope_x * screen[:, 0, 0] - slope_y * screen[:, 0, 1])[who]
        z += slope_x[who] * (column + 0.5) + slope_y[who] * level[span]
        # Triangles seen almost edge on have steep slopes; the corners bound what they can say.
        yield row[span] * width + column, who, np.clip(z, lowest[who], highest[who])


def _runs(start: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """The whole numbers of half-open ranges, one range after the other, each with its range's index."""
    count = np.maximum(stop - start, 0)
    which = np.repeat(np.arange(len(count)), count)
    offset = np.cumsum(count) - count
    return which, np.arange(len(which)) - offset[which] + start[which]


def _x_at(p: Floats, q: Floats, level: Floats) -> Floats:
    """Where the side from p to q crosses a row."""
    drop = q[:, 1] - p[:, 1]
    share = np.clip((level - p[:, 1]) / np.where(drop > 0.0, drop, 1.0), 0.0, 1.0)
    crossing: Floats = p[:, 0] + (q[:, 0] - p[:, 0]) * share
    return crossing


def _slopes(screen: Floats) -> tuple[Floats, Floats]:
    """Change of z from one column, and one row, to the next."""
    u, v = screen[:, 1] - screen[:, 0], screen[:, 2] - screen[:, 0]
    area = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    area = np.where(np.abs(area) > 1e-12, area, np.inf)
    return (u[:, 2] * v[:, 1] - u[:, 1] * v[:, 2]) / area, (u[:, 0] * v[:, 2] - u[:, 2] * v[:, 0]) / area


def _ink(lines: Sequence[Segment], window: Bounds, size: tuple[int, int], stroke_px: float) -> Floats:
    """How much of each pixel lines of a width in pixels cover, 0 to 1, as (height, width)."""
    width, height = size
    scale = width / (window[2] - window[0])
    pairs: list[tuple[Point, Point]] = []
    for segment in lines:
        pairs += pairwise(points_along([segment], 0.1 / scale))
    cover = np.zeros(width * height)
    if not pairs:
        return cover.reshape(height, width)
    ends = (np.array(pairs) - np.array(window[:2])) * np.array([scale, -scale]) + np.array([0.0, height])
    steep = np.abs(ends[:, 1, 1] - ends[:, 0, 1]) > np.abs(ends[:, 1, 0] - ends[:, 0, 0])
    ends = np.where(steep[:, None, None], ends[..., ::-1], ends)
    p, q = ends[:, 0], ends[:, 1]
    half = stroke_px / 2.0
    low, high = np.minimum(p[:, 0], q[:, 0]), np.maximum(p[:, 0], q[:, 0])
    which, step = _runs(np.floor(low - half - 0.5).astype(np.int64), np.ceil(high + half + 0.5).astype(np.int64))
    run = q - p
    long2 = np.maximum((run**2).sum(axis=1), 1e-18)
    on_line = p[which, 1] + run[which, 1] * np.clip(
        (step + 0.5 - p[which, 0]) / np.where(np.abs(run[which, 0]) > 1e-12, run[which, 0], 1.0), 0.0, 1.0
    )
    band = int(np.ceil(half * np.sqrt(2.0))) + 1
    for offset in range(-band, band + 1):
        place = np.floor(on_line) + offset
        away = np.stack([step + 0.5, place + 0.5], axis=1) - p[which]
        share = np.clip((away * run[which]).sum(axis=1) / long2[which], 0.0, 1.0)
        distance = np.linalg.norm(away - share[:, None] * run[which], axis=1)
        column = np.where(steep[which], place, step).astype(np.int64)
        row = np.where(steep[which], step, place).astype(np.int64)
        inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        amount = np.clip(half + 0.5 - distance, 0.0, min(1.0, stroke_px))
        np.maximum.at(cover, row[inside] * width + column[inside], amount[inside])
    return cover.reshape(height, width)
