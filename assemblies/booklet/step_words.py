"""What the booklet says in words: titles and sentences of the steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from panelwright.assemblies.data.product import Product
from panelwright.assemblies.product.steps import Step

__all__ = ["hardware_words", "listed", "step_lines", "step_title"]


def listed(names: Sequence[str], *, limit: int | None = None) -> str:
    """Names as a person lists them; beyond `limit` only how many more there are.

    >>> listed(["left", "right"]), listed(["base", "left", "right"]), listed(["a", "b", "c", "d"], limit=2), listed([])
    ('left and right', 'base, left and right', 'a, b and 2 more', '')
    """
    if limit is not None and len(names) > limit:
        return f"{', '.join(names[:limit])} and {len(names) - limit} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else list(names))


def hardware_words(hardware: Sequence[tuple[str, int]]) -> str:
    """Screws and nuts with their numbers.

    >>> hardware_words([("ISO 4032 M3", 8), ("ISO 7380-1 M3 × 12", 8)])
    '8 × ISO 4032 M3 and 8 × ISO 7380-1 M3 × 12'
    """
    return listed([f"{count} × {designation}" for designation, count in hardware])


def step_title(step: Step, product: Product, letters: Mapping[str, str]) -> str:
    """How many of which panel, such as "2 × B"."""
    name = step.parts[0].name
    letter = next(letters[panel.name] for panel in product.panels if name in panel.plates)
    return f"{len(step.parts)} × {letter}"


def step_lines(step: Step, product: Product) -> list[tuple[str, bool]]:
    """The sentences of a step, each with whether it is one to be careful about.  Every part of the step is named once."""
    names = [part.name for part in step.parts]
    into = list(dict.fromkeys(name for move in step.moves for name in move.into))
    lines: list[tuple[str, bool]] = []
    if into:
        lines.append((f"Push {listed(names)} into {listed(into, limit=6)}.", False))
    elif step.number == 1:
        lines.append((f"Begin with {listed(names)}.", False))
    else:
        lines.append((f"Put {listed(names)} where the picture shows: nothing holds it there yet.", False))
    if any(part.unrolled is not None for part in step.parts):
        lines.append(("Bend it along its slits first, a little at a time.", False))
    turned = [name for panel in product.panels for name in panel.turned_over if name in names]
    if turned:
        which = "It is a mirror image" if len(names) == 1 else f"{len(turned)} of them are mirror images"
        lines.append((f"{which} of what is drawn: turn over.", False))
    if step.hardware:
        lines.append(("Lay the nuts into their pockets, drive every screw until it just holds, then tighten all.", False))
    across = list(dict.fromkeys(name for move in step.moves for name in move.across))
    if across:
        words = f"Joints with {listed(across, limit=6)} close another way: keep those parts loose, bring this in, and press all"
        lines.append((f"{words} together.", True))
    return lines
