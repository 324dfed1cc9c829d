"""Two versions of a product of a hundred plates, no two alike, compared; beside it what both have to be loaded by anyway."""

from __future__ import annotations

import json

from panelwright.assemblies import Assembly
from panelwright.assemblies.compare.differences import Comparison, compare
from panelwright.assemblies.compare.version import Version, version_of
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.resolve.panels import panels_of
from panelwright.plates import Frame, Stock, hole, rectangle, row
from timing import Row, timed_beside

__all__ = ["rows"]

PLATES = 100
MOST_S = 1.0
"""All that comparing may take beyond loading."""


def rows() -> list[Row]:
    """One case: every hole of every plate moved, so that all panels are laid on each other."""
    texts = [_manifest(shift) for shift in (0.0, 1.5)]

    def compared() -> Comparison:
        before, after = (_version(text) for text in texts)
        return compare(before, after)

    found = compared()
    if len(found.panels) != PLATES or found.must_cut != PLATES:
        raise AssertionError(f"{len(found.panels)} panels changed and {found.must_cut} pieces are to be cut")
    mine, theirs = timed_beside(compared, lambda: [_version(text) for text in texts], 3)
    beyond = mine.best - theirs.best
    return [
        Row(
            f"compare two products of {PLATES} plates",
            str(mine),
            f"both manifests read {theirs}",
            f"{mine.best / theirs.best:.1f} x, {beyond:.2f} s beyond",
            f"<= {MOST_S:g} s beyond",
            beyond <= MOST_S,
        )
    ]


def _manifest(shift: float) -> str:
    rack = Assembly("tile rack", stock=Stock("birch plywood", 3.0, measured=3.0, kerf=0.2))
    for number in range(PLATES):
        holes = row(hole(6), count=4, pitch=20 + shift)
        rack.add(f"tile {number}", rectangle(100 + number, 40).cut(holes), Frame((0.0, 0.0, 10.0 * number)), loose=True)
    parts = tuple(rack.resolve().parts)  # nobody asks for its proof here
    return json.dumps(manifest_of(Product(rack.name, parts, panels_of(parts)[0], (), (), ()), {}))


def _version(text: str) -> Version:
    return version_of(json.loads(text), "tile rack")
