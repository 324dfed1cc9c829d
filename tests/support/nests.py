"""Pieces and jobs for the tests of nesting, and a second opinion on layouts that shares nothing with the verifier."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator

import shapely
from panelwright.assemblies.nest import Nest, NestJob, Piece, Sheet
from panelwright.plates.geometry.curves import Point

__all__ = ["box_piece", "box_ring", "placed_shapes", "second_opinion", "studio_job"]


def box_ring(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    """A rectangle's corners."""
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def box_piece(name: str, width: float, height: float, quantity: int = 1, **options: object) -> Piece:
    """A rectangular piece with its corner in the origin."""
    return Piece.from_rings(name, [box_ring(0, 0, width, height)], quantity, **options)  # type: ignore[arg-type]  # options of any type


def studio_job(**options: object) -> NestJob:
    """Panels of a pottery studio: a frame with a window, an L, a wedge, tiles and strips, on two kinds of sheets."""
    frame = Piece.from_rings("stand frame", [box_ring(0, 0, 220, 160), box_ring(30, 30, 190, 130)])
    bracket = Piece.from_rings("shelf bracket", [[(0, 0), (150, 0), (150, 40), (40, 40), (40, 120), (0, 120)]], 2)
    wedge = Piece.from_rings("wedge", [[(0, 0), (90, 0), (0, 60)]], 2, turn_step_deg=45, may_flip=True)
    pieces = (frame, bracket, wedge, box_piece("tile", 48, 48, 6), box_piece("slat", 180, 22, 2, turn_step_deg=180))
    corner = Sheet.from_rings("corner offcut", [[(0, 0), (300, 0), (300, 90), (110, 90), (110, 250), (0, 250)]])
    sheets = (Sheet.rectangle("birch 400 × 300", 400, 300, 3), corner)
    return NestJob(pieces, sheets, **{"effort": 20, **options})  # type: ignore[arg-type]  # options of any type


def placed_shapes(job: NestJob, nest: Nest) -> Iterator[tuple[tuple[str, int], shapely.Polygon]]:
    """Each piece's polygon where it lies, moved by complex arithmetic, with its sheet.  For outlines of straight lines."""
    pieces = {piece.id: piece for piece in job.pieces}
    for placement in nest.placements:
        turn = cmath.exp(1j * math.radians(placement.turn_deg))
        rings = []
        for loop in pieces[placement.piece].loops:
            corners = [complex(*segment.start) for segment in loop]
            if placement.flipped:
                corners = [complex(-corner.real, corner.imag) for corner in corners]
            moved = [turn * corner + complex(placement.x, placement.y) for corner in corners]
            rings.append([(corner.real, corner.imag) for corner in moved])
        yield (placement.sheet, placement.sheet_copy), shapely.Polygon(rings[0], rings[1:])


def second_opinion(job: NestJob, nest: Nest, slack: float = 1e-6) -> int:
    """Assert that distances are kept, pair by pair, and count the pairs and borders that were measured."""
    borders = {}
    for sheet in job.sheets:
        outer, *holes = [[segment.start for segment in loop] for loop in sheet.loops]
        borders[sheet.id] = shapely.Polygon(outer, holes)
    placed = list(placed_shapes(job, nest))
    measured = 0
    for (sheet, _), shape in placed:
        measured += 1
        assert borders[sheet].buffer(slack).covers(shape)
        assert shape.distance(borders[sheet].boundary) >= job.margin - slack
    for (here, a), (there, b) in itertools.combinations(placed, 2):
        if here == there:
            measured += 1
            assert a.distance(b) >= job.spacing - slack
            assert a.intersection(b).area <= slack * (a.length + b.length)
    return measured
