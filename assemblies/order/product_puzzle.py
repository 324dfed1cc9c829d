"""A product as a puzzle: its parts on the bench, what holds them, and the directions worth trying."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.plates.geometry.congruence import centroid
from panelwright.plates.geometry.frame import Frame, plus, scaled

from .bench import Standing, bench_of
from .drivers import hiding
from .part_bodies import part_body
from .puzzle import Closing, Puzzle
from .rigid import SKIN, Body, Floats

__all__ = ["Setup", "puzzle_of"]

LEAST_WALL = 1.0
"""Faces shorter than their plate is thick, or than this in mm, decide nothing that longer ones don't."""

MOST_NORMALS = 30
"""Normals of faces that are looked at, those of the longest faces first."""

ROUGH = 1e6
"""Directions are told apart to one part in so many."""

BROAD = 1e6
"""Broad faces come first, as if they were so long, mm."""

SHAKY = 0.25
"""What speaks for building on a part that is screwed on, bent or loose is worth so much of what it else would be."""


@dataclass(frozen=True, eq=False)
class Setup:
    """A puzzle and how its numbers belong to the product.

    `parts` are the product's in the puzzle's order; `bench` takes the product's coordinates to the bench; `hidden` tells for
    each of the product's bought parts, of each way out, the numbers of the parts in that way.
    """

    puzzle: Puzzle
    parts: tuple[Part, ...]
    bench: Frame
    hidden: tuple[tuple[frozenset[int], ...], ...]
    home: dict[str, int]


def puzzle_of(product: Product, loose: Sequence[frozenset[str]] = (), units: Sequence[frozenset[str]] = ()) -> Setup:
    """What the search for an order is given of a product.

    `loose` are plates and sub-assemblies that lie or swing, `units` all sub-assemblies, by the names of their plates.  Pairs
    that share material already, as a finding says, are not asked about each other.
    """
    standing = product.parts
    if len(standing) == 1 and not product.bought:  # nobody is in the way of what is alone, so its holes say nothing
        standing = tuple(replace(part, loops=tuple(loop for loop in part.loops if loop.area > 0)) for part in standing)
    given = {name: i for i, part in enumerate(product.parts) for name in part.plates}
    lying = {name for group in loose for name in group}
    joints = [(given[joint.plates[0]], given[joint.plates[1]], joint) for joint in product.joints]
    screwed = {given[item.carrier] for item in product.bought if item.fastener.kind == "screw"}
    linked = [{a, b} for a, b, _ in joints if a != b]
    rough: list[Standing] = []
    for i, part in enumerate(standing):
        neighbours = len(set().union(*(pair for pair in linked if i in pair)) - {i})
        weight = part.area_mm2 * max(1, neighbours)
        if i in screwed or part.unrolled is not None or not lying.isdisjoint(part.plates):
            weight *= SHAKY
        x, y = centroid(part.loops)
        middle = plus(part.frame.point((x, y, 0.0)), scaled(part.frame.z, part.stock.t / 2))
        rough.append(Standing(part.frame, middle, part.area_mm2, weight))
    bench, order = bench_of(rough)
    parts = tuple(product.parts[i] for i in order)
    shapes = tuple(standing[i] for i in order)
    home = {name: i for i, part in enumerate(parts) for name in part.plates}
    press = [0.0] * len(parts)
    for joint in product.joints:
        for name in joint.plates:
            press[home[name]] = max(press[home[name]], -joint.clearance_mm)
    known: dict[Any, Any] = {}
    bodies = tuple(part_body(part, bench, SKIN + press[i] / 2, known) for i, part in enumerate(shapes))
    hidden = tuple(hiding(bodies, product.bought, bench)) if product.bought else ()
    closings: list[Closing] = []
    for item, ways in zip(product.bought, hidden, strict=True):
        if item.fastener.kind == "screw" and len(held := sorted({home[name] for name in item.plates})) == 2:
            closings.append(Closing((held[0], held[1]), ways[0]))
    panel = {name: i for i, panel in enumerate(product.panels) for name in panel.plates}
    first = {
        number: i for i, number in reversed(list(enumerate(panel.get(part.plates[0], -1 - i) for i, part in enumerate(parts))))
    }
    in_order = [(home[joint.plates[0]], home[joint.plates[1]], joint.ways) for joint in product.joints]
    closing_ways = [(a, b, np.array(bench.direction(way))) for a, b, ways in in_order for way in ways]
    puzzle = Puzzle(
        bodies,
        frozenset(pair for joint in product.joints if (pair := _pair(joint, home))[0] != pair[1]),
        tuple(first[panel.get(part.plates[0], -1 - i)] for i, part in enumerate(parts)),
        tuple(float(f"{rough[i].weight:.5g}") for i in order),
        _units(units, home, len(parts)),
        tuple(closing_ways),
        _normals(bodies),
        tuple(closings),
        frozenset((min(a, b), max(a, b)) for a, b in _sharing(product, home)),
        _screwed(product, home, closings),
    )
    return Setup(puzzle, parts, bench, hidden, home)


def _pair(joint: JointRecord, home: dict[str, int]) -> tuple[int, int]:
    a, b = (home[name] for name in joint.plates)
    return min(a, b), max(a, b)


def _screwed(product: Product, home: dict[str, int], closings: Sequence[Closing]) -> frozenset[tuple[int, int]]:
    """Pairs of which every joint has screws: with those out nothing holds them, but that they may be in each other's way."""
    glued = {_pair(joint, home) for joint in product.joints if not joint.hardware}
    return frozenset(closing.parts for closing in closings) - glued


def _units(units: Sequence[frozenset[str]], home: dict[str, int], count: int) -> tuple[frozenset[int], ...]:
    found = {frozenset(home[name] for name in unit if name in home) for unit in units}
    return tuple(sorted((unit for unit in found if 1 < len(unit) < count), key=lambda unit: (len(unit), sorted(unit))))


def _sharing(product: Product, home: dict[str, int]) -> list[tuple[int, int]]:
    """Pairs of parts that share material, as the proof found."""
    pairs = [finding.plates for finding in product.findings if finding.code == "OVERLAP" and len(finding.plates) == 2]
    return [(home[a], home[b]) for a, b in pairs if a in home and b in home and home[a] != home[b]]


def _normals(bodies: Sequence[Body]) -> tuple[Floats, ...]:
    """Normals of flat faces, each once up to its sign, those of long faces first."""
    normals: list[Floats] = []
    lengths: list[Floats] = []
    for body in bodies:
        for prism in body.prisms:
            rings = [ring for shape in prism.shapes for ring in shape]
            run = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
            size = np.hypot(*run.T)
            some = size >= max(LEAST_WALL, prism.high - prism.low)
            flat = np.column_stack([run[some, 1], -run[some, 0]]) / size[some, None]
            normals += [prism.axes[2:], flat @ prism.axes[:2]]
            lengths += [np.array([BROAD]), size[some]]
    if not normals:
        return ()
    every, long = np.concatenate(normals), np.round(np.concatenate(lengths), 3)
    # one of both signs: that whose first component that is not zero is positive
    rough = np.floor(every * ROUGH + 0.37)
    first = np.argmax(np.abs(rough) > 1, axis=1)
    sign = np.sign(rough[np.arange(len(rough)), first])
    _, place = np.unique(np.floor(every * sign[:, None] * ROUGH + 0.37), axis=0, return_inverse=True)
    longest = np.zeros(place.max() + 1)
    np.maximum.at(longest, place.ravel(), long)
    one = np.zeros(len(longest), int)
    one[place.ravel()] = np.arange(len(every))
    found = every[one] * sign[one, None]
    rank = np.lexsort((*np.floor(found * ROUGH + 0.37).T, -longest))
    return tuple(found[k] for k in rank[:MOST_NORMALS])
