"""Which plate of the new version is which of the old one: by shape and place first, by name only where these say nothing.

In this order: a plate of the same shape in the same place; one of the same shape and name, elsewhere; one of the same shape;
one of the same name; one that is mostly the same material in nearly the same place.  Whatever is left is new, or gone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .overlay_match import laid_over
from .same_shape import Likeness
from .version import Standing, Version
from .whole_motion import WholeMotion, lies_there

__all__ = ["Pair", "pairs_of"]

ALIKE = 0.8
"""Share of material in common from which on a plate of another name is taken for the old one, changed."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A plate before and after, None where it is not there; `is_same_shape` and `is_there` say how they match.

    `is_there` is true where it stands where it stood, the motion of the whole product taken off.
    """

    before: Standing | None
    after: Standing | None
    is_same_shape: bool = False
    is_there: bool = False


def pairs_of(before: Version, after: Version, whole: WholeMotion, likeness: Likeness) -> tuple[Pair, ...]:
    """Every plate of both versions once: in the order of the new one, then those that are gone."""
    olds, news = list(before.standing), list(after.standing)
    found: dict[int, Pair] = {}
    number = {id(plate): k for k, plate in enumerate(after.standing)}

    def take(allowed: Callable[[Standing, Standing], bool], made: Callable[[Standing, Standing], Pair], names: bool) -> None:
        """Pair what is allowed, those of one name first if `names`, then in order."""
        for same_name in (True, False) if names else (False,):
            for old in tuple(olds):
                near = (new for new in news if (new.plate == old.plate or not same_name) and allowed(old, new))
                new = next(near, None)
                if new is not None:
                    olds.remove(old)
                    news.remove(new)
                    found[number[id(new)]] = made(old, new)

    moved = {id(old): whole.point(old.middle) for old in olds}

    def is_there(old: Standing, new: Standing) -> bool:
        return math.dist(moved[id(old)], new.middle) < 1.0 and lies_there(old, new, likeness.of(old.shape, new.shape), whole)

    def is_shape(old: Standing, new: Standing) -> bool:
        return likeness.of(old.shape, new.shape).is_same_shape

    take(is_there, lambda old, new: Pair(old, new, is_same_shape=True, is_there=True), names=True)
    take(
        lambda old, new: old.plate == new.plate and is_shape(old, new),
        lambda old, new: Pair(old, new, is_same_shape=True),
        names=False,
    )
    names = {plate.plate for plate in olds} & {plate.plate for plate in news}
    take(
        lambda old, new: not {old.plate, new.plate} & names and is_shape(old, new),
        lambda old, new: Pair(old, new, is_same_shape=True),
        names=False,
    )
    take(lambda old, new: old.plate == new.plate, Pair, names=False)
    for old, new in _alike(olds, news, moved):
        olds.remove(old)
        news.remove(new)
        found[number[id(new)]] = Pair(old, new)
    for new in news:
        found[number[id(new)]] = Pair(None, new)
    return (*(found[k] for k in sorted(found)), *(Pair(old, None) for old in olds))


def _alike(
    olds: Sequence[Standing], news: Sequence[Standing], moved: dict[int, tuple[float, float, float]]
) -> list[tuple[Standing, Standing]]:
    """Pairs of other names with at least `ALIKE` of their material in common, the nearest first."""
    known: dict[tuple[int, int], float] = {}
    near = []
    for i, old in enumerate(olds):
        for k, new in enumerate(news):
            a, b = old.shape, new.shape
            if not a.sheet.is_like(b.sheet) or not ALIKE < a.area_mm2 / b.area_mm2 < 1 / ALIKE:
                continue
            if not all(ALIKE**2 < p / q < 1 / ALIKE**2 for p, q in zip(sorted(a.size_mm), sorted(b.size_mm), strict=True)):
                continue
            key = (id(a), id(b))
            if key not in known:
                overlay = laid_over(a, b)
                known[key] = overlay.kept.area / (overlay.kept.area + overlay.added.area + overlay.removed.area)
            if known[key] >= ALIKE:
                near.append((round(math.dist(moved[id(old)], new.middle), 3), i, k))
    found, ones, others = [], set(), set()
    for _, i, k in sorted(near):
        if i not in ones and k not in others:
            ones.add(i)
            others.add(k)
            found.append((olds[i], news[k]))
    return found
