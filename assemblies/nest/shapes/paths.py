"""Closed paths on a grid of whole micrometres: the arithmetic that a layout rests on.

Sums and differences of whole numbers are exact, so two pieces that touch do so on every machine.  This is the one module
that calls pyclipper; what it takes and gives are plain lists of points.  A path that bounds material runs
counter-clockwise, one that bounds a hole in it clockwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from panelwright.plates.geometry.curves import cos_sin_deg

__all__ = [
    "MICRONS",
    "Box",
    "Path",
    "Spot",
    "area_of",
    "box_of",
    "grown",
    "is_outside",
    "is_strictly_inside",
    "rounded",
    "shifted",
    "swept",
    "turned",
    "united",
    "without",
    "without_repeats",
]

MICRONS: Final = 1000
"""Grid steps in a millimetre."""

Spot = tuple[int, int]
Path = list[Spot]
Box = tuple[int, int, int, int]


def rounded(points: Iterable[tuple[float, float]]) -> Path:
    """The nearest path on the grid through points given in mm; corners that fall on one grid point are one corner.

    >>> rounded([(0.0, 0.0), (1.5, 0.0), (1.5, 2.0004)])
    [(0, 0), (1500, 0), (1500, 2000)]
    >>> rounded([(0.0, 0.0), (1.5, 0.0), (1.5, 2.0), (1.5002, 2.0)])
    [(0, 0), (1500, 0), (1500, 2000)]
    """
    return without_repeats([(round(x * MICRONS), round(y * MICRONS)) for x, y in points])


def without_repeats(path: Path) -> Path:
    """The closed path with each corner once where it comes several times in a row."""
    return [spot for index, spot in enumerate(path) if spot != path[index - 1]] or path[:1]


def turned(path: Path, angle_deg: float) -> Path:
    """The path turned about the origin, counter-clockwise: exact at quarter turns, else to the nearest grid points.

    >>> turned([(3, 1)], 90), turned([(3, 1)], 180)
    ([(-1, 3)], [(-3, -1)])
    """
    quarter, rest = divmod(angle_deg % 360.0, 90.0)
    if rest == 0.0:
        match int(quarter):  # pyright: ignore[reportMatchNotExhaustive]  of 360° there are four quarters
            case 0:
                return path
            case 1:
                return [(-y, x) for x, y in path]
            case 2:
                return [(-x, -y) for x, y in path]
        return [(y, -x) for x, y in path]
    c, s = cos_sin_deg(angle_deg)
    return [(round(x * c - y * s), round(x * s + y * c)) for x, y in path]


def shifted(path: Path, dx: int, dy: int) -> Path:
    """The path moved by (dx, dy) grid steps."""
    return [(x + dx, y + dy) for x, y in path]


def box_of(path: Path) -> Box:
    """(x least, y least, x most, y most)."""
    xs = [x for x, _ in path]
    ys = [y for _, y in path]
    return (min(xs), min(ys), max(xs), max(ys))


def area_of(path: Path) -> float:
    """Signed area in square grid steps, positive for counter-clockwise paths."""
    import pyclipper

    return float(pyclipper.Area(path))


def united(paths: Sequence[Path]) -> list[Path]:
    """The union of paths that run counter-clockwise."""
    import pyclipper

    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(paths, pyclipper.PT_SUBJECT, True)
    found: list[Path] = clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return found


def without(paths: Sequence[Path], cuts: Sequence[Path]) -> list[Path]:
    """What is left of `paths` once `cuts` are taken away."""
    import pyclipper

    if not cuts:
        return list(paths)
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(paths, pyclipper.PT_SUBJECT, True)
    clipper.AddPaths(cuts, pyclipper.PT_CLIP, True)
    found: list[Path] = clipper.Execute(pyclipper.CT_DIFFERENCE, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return found


def swept(pattern: Path, path: Path) -> list[Path]:
    """All that the border of `pattern` passes over as its origin is drawn along the border of `path`."""
    import pyclipper

    found: list[Path] = pyclipper.MinkowskiSum(pattern, path, True)
    return found


def grown(paths: Sequence[Path], by: int) -> list[Path]:
    """The paths moved outwards by so many grid steps (inwards if negative), corners kept sharp."""
    import pyclipper

    offset = pyclipper.PyclipperOffset(2.0, 1.0)
    offset.AddPaths(paths, pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    found: list[Path] = offset.Execute(by)
    return found


def is_outside(spot: Spot, path: Path) -> bool:
    """Whether a point lies outside a path, and not on it.

    >>> [is_outside(spot, [(0, 0), (9, 0), (9, 9), (0, 9)]) for spot in [(1, 1), (9, 4), (10, 4)]]
    [False, False, True]
    """
    import pyclipper

    return bool(pyclipper.PointInPolygon(spot, path) == 0)


def is_strictly_inside(spot: Spot, paths: Iterable[Path]) -> bool:
    """Whether a point lies inside the region that outer paths and holes bound, and not on its border.

    >>> square, hole = [(0, 0), (9, 0), (9, 9), (0, 9)], [(3, 3), (3, 6), (6, 6), (6, 3)]
    >>> [is_strictly_inside(spot, [square, hole]) for spot in [(1, 1), (9, 4), (3, 4), (4, 4), (12, 4)]]
    [True, False, False, False, False]
    """
    import pyclipper

    inside = False
    for path in paths:
        where = pyclipper.PointInPolygon(spot, path)
        if where < 0:
            return False
        if where:
            inside = not inside
    return inside
