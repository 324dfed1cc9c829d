"""Which cuts of a sheet get holding bridges: all outlines, windows in which parts lie, and other windows on request."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from panelwright.assemblies.cutting import CutPath, holders_of, with_bridges
from panelwright.plates.errors import SizeError
from panelwright.plates.tolerances import SHEET_SLACK

from .plan import LaidPart
from .request import Bridges

__all__ = ["held_by_bridges"]


def held_by_bridges(paths: Sequence[CutPath], parts: Sequence[LaidPart], bridges: Bridges) -> Iterator[CutPath]:
    """The paths of a sheet with bridges in them, in the order given; `piece` of each numbers its part in `parts`.

    A part in a window would fall out with the waste around it, so that window is held too.  Raises `SizeError`, with the
    panel's name, for a cut that has no room for its bridges.
    """
    full = {
        holder
        for path, holders in zip(paths, holders_of(paths), strict=True)
        for holder in holders
        if paths[holder].kind == "inside" and paths[holder].piece != path.piece
    }
    for k, path in enumerate(paths):
        kerf = parts[path.piece].source.panel.stock.kerf
        is_held = path.kind == "outside" or k in full or (path.kind == "inside" and _is_large(path, bridges, kerf))
        if not is_held:
            yield path
            continue
        part = parts[path.piece]
        panel = part.source.panel
        try:
            yield from with_bridges(path, width_mm=bridges.width_mm, kerf_mm=panel.stock.kerf, count=bridges.count)
        except SizeError as error:
            raise SizeError(
                f"panel {part.name!r}: {error}", plates=panel.plates, value=error.value, limit=error.limit
            ) from error


def _is_large(path: CutPath, bridges: Bridges, kerf: float) -> bool:
    """Whether a window is one to be held, by its finished size: the beam runs half a kerf inside it."""
    if bridges.least_window_mm is None or not path.is_closed:
        return False
    x0, y0, x1, y1 = path.bounds
    return min(x1 - x0, y1 - y0) + kerf >= bridges.least_window_mm - SHEET_SLACK
