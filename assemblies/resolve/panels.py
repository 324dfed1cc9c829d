"""From finished parts to the distinct panels to cut, with their quantities and their cut paths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel, Part
from panelwright.plates.errors import KerfError
from panelwright.plates.geometry.congruence import same_panel
from panelwright.plates.geometry.curves import Loop, Motion
from panelwright.plates.geometry.offset import cut_paths

__all__ = ["grouped", "panels_of"]


def grouped(parts: Sequence[Part]) -> list[list[Part]]:
    """Parts of one stock that are the same panel, in the order of the first of each.

    Mirror images are the same panel where both faces of the stock are good; parts with marks only if nothing is flipped
    and the marks are the same.
    """
    groups: list[list[Part]] = []
    by_key: dict[tuple[object, ...], list[list[Part]]] = defaultdict(list)
    for part in parts:
        key = (part.stock, len(part.loops), sum(len(loop) for loop in part.loops), round(part.area_mm2, 1))
        # an area on the border between two tenths must find its like on either side
        areas = sorted({round(part.area_mm2 + off, 1) for off in (-0.02, 0.0, 0.02)})
        nearby = [group for area in areas for group in by_key[(*key[:3], area)]]
        home = next((group for group in nearby if _same(group[0], part)), None)
        if home is None:
            home = list[Part]()
            groups.append(home)
            by_key[key].append(home)
        home.append(part)
    return groups


def _same(a: Part, b: Part) -> bool:
    if a.marks or b.marks:
        return a.marks == b.marks and a.loops == b.loops
    return same_panel(a.loops, b.loops, may_flip=a.stock.both_faces_good, has_grain=a.stock.grain is not None)


def _is_turned_over(first: Part, other: Part) -> bool:
    """Whether a part of one group with another is its mirror image, and not the same without being turned over as well."""
    return first.loops != other.loops and not same_panel(
        first.loops, other.loops, may_flip=False, has_grain=first.stock.grain is not None
    )


def panels_of(parts: Sequence[Part]) -> tuple[tuple[Panel, ...], tuple[Finding, ...]]:
    """One panel for each group, named after its first plate, and a finding for each loop that the kerf swallows."""
    panels: list[Panel] = []
    findings: list[Finding] = []
    for group in grouped(parts):
        part = group[0]
        names = tuple(member.name for member in group)
        unrolled = part.unrolled
        x0, y0 = min(loop.bounds[0] for loop in part.loops), min(loop.bounds[1] for loop in part.loops)
        motion = Motion.shift(-x0, -y0)
        loops = tuple(loop.moved(motion) for loop in part.loops)
        cuts: tuple[Loop, ...]
        try:
            to_cut = loops if unrolled is None else tuple(loop.moved(motion) for loop in unrolled.loops)
            cuts = cut_paths(to_cut, part.stock.kerf, panel=part.name)
        except KerfError as error:
            findings.append(Finding("error", "KERF", names, str(error), numbers={"kerf_mm": part.stock.kerf}))
            cuts = loops
        panels.append(
            Panel(
                part.name,
                part.stock,
                names,
                loops,
                cuts,
                tuple(tuple(segment.moved(motion) for segment in mark) for mark in part.marks),
                part.area_mm2,
                part.mass_kg,
                () if unrolled is None else tuple(tuple(s.moved(motion) for s in stroke) for stroke in unrolled.strokes),
                () if unrolled is None else unrolled.members,
                tuple(member.name for member in group[1:] if _is_turned_over(part, member)),
                () if unrolled is None else tuple(loop.moved(motion) for loop in unrolled.bends),
            )
        )
    return tuple(panels), tuple(findings)
