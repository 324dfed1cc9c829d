"""Paths by layer of the files: machines run one layer after the other, and what is on one in the order of the file.

`MARK` comes first, then `CUT-INSIDE`, then `CUT-OUTSIDE`.  A part that lies in a window of another one has to be cut before
that window is, so all of it is on `CUT-INSIDE`; on `CUT-OUTSIDE` are the outlines that lie in nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.assemblies.files.dxf import CUT_INSIDE, CUT_OUTSIDE, MARK

from .nesting_depth import is_inside_another
from .path import CutPath

__all__ = ["by_layer"]


def by_layer(paths: Sequence[CutPath]) -> dict[str, list[CutPath]]:
    """The paths of each layer, in the order given; all three layers are there, in cutting order.

    >>> from panelwright.plates import disc
    >>> ring = [CutPath(kind, disc(d).loops[0].segments, 0) for kind, d in (("outside", 50), ("inside", 40))]
    >>> lid = CutPath("outside", disc(30).loops[0].segments, 1)
    >>> {layer: len(some) for layer, some in by_layer([*ring, lid]).items()}
    {'MARK': 0, 'CUT-INSIDE': 2, 'CUT-OUTSIDE': 1}
    """
    layers: dict[str, list[CutPath]] = {MARK: [], CUT_INSIDE: [], CUT_OUTSIDE: []}
    for path, is_inside in zip(paths, is_inside_another(paths), strict=True):
        layers[MARK if path.kind == "mark" else CUT_INSIDE if is_inside else CUT_OUTSIDE].append(path)
    return layers
