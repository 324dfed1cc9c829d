"""Segments out of the commands of an SVG path, as `svg_path.py` writes them: the way back.

Only what the pen writes is read: `M`, `L`, `A`, `C` and `Z`, absolute and parted by blanks.  Arcs of one circle or one ellipse
in a row become one arc again, since the pen writes those that turn far as several.  Source of the arc's centre from its ends:
SVG 1.1 (W3C), appendix F.6.5.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Point, Segment, Spline
from panelwright.plates.tolerances import CONTACT_TOLERANCE, WRITTEN

__all__ = ["chain_of_path", "loop_of_path"]

_NUMBERS = {"M": 2, "L": 2, "A": 7, "C": 6, "Z": 0}
"""How many numbers follow each command."""


def loop_of_path(path: str, top: float) -> Loop:
    """The closed loop that a path draws; `top` is the height of the page in mm, whose y axis points down.

    Raises `OutlineError` for what the pen does not write and for a path that does not close.

    >>> from panelwright.plates import disc
    >>> from panelwright.plates.outlines.svg_path import Pen
    >>> lid = disc(30).loops[0]
    >>> read = loop_of_path(Pen(-15.0, 15.0).path(lid.segments), 30.0)
    >>> read.is_circle, round(read.area, 3) == round(lid.area, 3)
    (True, True)
    >>> loop_of_path("M 0 0 L 5 0", 10.0)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.OutlineError: the path 'M 0 0 L 5 0' does not close; end it with Z
    """
    if not path.endswith("Z"):
        raise OutlineError(f"the path {_short(path)} does not close; end it with Z", value=path)
    return Loop(chain_of_path(path, top))


def chain_of_path(path: str, top: float) -> tuple[Segment, ...]:
    """The segments that a path draws, closed or not; `top` as for `loop_of_path`.

    >>> [segment.end for segment in chain_of_path("M 0 10 L 5 10 L 5 0", 10.0)]
    [(5.0, 0.0), (5.0, 10.0)]
    """
    chain: list[Segment] = []
    first = here = (0.0, 0.0)
    for command, given in _steps(path):
        if command == "M":
            if chain:
                raise OutlineError(f"the path {_short(path)} is lifted on its way; write each chain by itself", value=path)
            first = here = (given[0], top - given[1])
            continue
        there = first if command == "Z" else (given[-2], top - given[-1])
        if command == "C":
            poles = (here, (given[0], top - given[1]), (given[2], top - given[3]), there)
            chain.append(Spline(3, poles, (0.0,) * 4 + (1.0,) * 4))
        elif command == "A":
            _add_arc(chain, _arc(here, there, given, path))
        elif math.dist(here, there) > WRITTEN:
            chain.append(Line(here, there))
        here = there
    if len(chain) > 1 and math.dist(chain[0].start, chain[-1].end) <= WRITTEN:
        _close_round(chain)
    if not chain:
        raise OutlineError(f"the path {_short(path)} draws nothing; give one that does", value=path)
    return tuple(chain)


def _steps(path: str) -> Iterator[tuple[str, list[float]]]:
    words = path.split()
    at = 0
    while at < len(words):
        count = _NUMBERS.get(words[at])
        given = words[at + 1 : at + 1 + (count or 0)]
        numbers: list[float] = []
        try:
            numbers += map(float, given)
        except ValueError:
            count = None
        if count is None or len(given) < count or not all(map(math.isfinite, numbers)):
            raise OutlineError(f"the path {_short(path)} has something at {words[at]!r} that cannot be read", value=path)
        yield words[at], numbers
        at += 1 + count


def _arc(here: Point, there: Point, given: list[float], path: str) -> Arc | EllipseArc:
    """The arc of an `A` command, by its centre: y points up here, so it runs the other way round than its flag says."""
    rx, ry, lean_deg, is_large, is_clockwise = given[:5]
    if rx <= 0 or ry <= 0 or math.dist(here, there) <= 0:
        raise OutlineError(f"the path {_short(path)} has an arc without radius or length", value=path)
    lean = -math.radians(lean_deg)
    cosine, sine = math.cos(lean), math.sin(lean)
    half = ((here[0] - there[0]) / 2, (here[1] - there[1]) / 2)
    u, v = (cosine * half[0] + sine * half[1]) / rx, (-sine * half[0] + cosine * half[1]) / ry
    square = u * u + v * v
    if square > 1:  # ends a little too far apart for the radius, by what rounding left
        rx, ry, u, v, square = rx * math.sqrt(square), ry * math.sqrt(square), u / math.sqrt(square), v / math.sqrt(square), 1.0
    reach = math.sqrt(max(0.0, 1 / square - 1))
    sign = 1.0 if bool(is_large) == bool(is_clockwise) else -1.0
    cu, cv = sign * reach * v * rx, -sign * reach * u * ry
    center = (
        cosine * cu - sine * cv + (here[0] + there[0]) / 2,
        sine * cu + cosine * cv + (here[1] + there[1]) / 2,
    )

    def angle(point: Point) -> float:
        x, y = point[0] - center[0], point[1] - center[1]
        return math.atan2((-sine * x + cosine * y) / ry, (cosine * x + sine * y) / rx)

    first = angle(here)
    turn = (angle(there) - first) % math.tau
    sweep = turn - math.tau if is_clockwise else turn
    if rx == ry:
        return Arc(here, there, center, sweep)
    if rx > ry:
        return EllipseArc(center, (rx * cosine, rx * sine), ry / rx, first, first + sweep)
    return EllipseArc(center, (-ry * sine, ry * cosine), rx / ry, first - math.pi / 2, first - math.pi / 2 + sweep)


def _add_arc(chain: list[Segment], arc: Arc | EllipseArc) -> None:
    """Add an arc, joined to the one before if both are of one circle or one ellipse."""
    joined = _joined(chain[-1], arc) if chain else None
    if joined is None:
        chain.append(arc)
    else:
        chain[-1] = joined


def _close_round(chain: list[Segment]) -> None:
    """Join what closes the loop to what begins it, where both are of one circle."""
    joined = _joined(chain[-1], chain[0])
    if joined is not None:
        chain[0] = joined
        chain.pop()


def _joined(a: Segment, b: Segment) -> Arc | EllipseArc | None:
    if isinstance(a, Arc) and isinstance(b, Arc):
        sweep = a.sweep + b.sweep
        off = max(math.dist(a.center, b.center), abs(a.radius - b.radius))
        if off > CONTACT_TOLERANCE or a.sweep * b.sweep < 0:
            return None
        if abs(sweep) > math.pi and math.dist(a.start, b.end) <= WRITTEN:
            return Arc(a.start, a.start, a.center, math.copysign(math.tau, sweep))
        return Arc(a.start, b.end, a.center, sweep) if abs(sweep) < math.tau else None
    if isinstance(a, EllipseArc) and isinstance(b, EllipseArc):
        turn, more = a.last - a.first, b.last - b.first
        off = max(math.dist(a.center, b.center), math.dist(a.major, b.major), abs(a.ratio - b.ratio) * math.hypot(*a.major))
        if off > CONTACT_TOLERANCE or turn * more < 0:
            return None
        if abs(turn + more) > math.pi and math.dist(a.start, b.end) <= WRITTEN:
            return EllipseArc(a.center, a.major, a.ratio, a.first, a.first + math.copysign(math.tau, turn))
        return EllipseArc(a.center, a.major, a.ratio, a.first, a.first + turn + more) if abs(turn + more) < math.tau else None
    return None


def _short(path: str) -> str:
    return repr(path if len(path) <= 40 else f"{path[:37]}...")
