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
    """The sentences of a step, each with whether it is one to be careful about.  Every part of the step is named.

    What is said of a joint are its kind's own words, one sentence for all that say the same.
    """
    names = [part.name for part in step.parts]
    lines = [(sentence, False) for sentence in _closing(step)]
    free = [move.part.name for move in step.moves if not move.into]
    if free and step.number == 1:
        lines.append((f"Begin with {listed(free)}.", False))
    elif free:
        lines.append((f"Put {listed(free)} where the picture shows: nothing holds it there yet.", False))
    lines += [(sentence, False) for sentence in dict.fromkeys(joint.words.prepare for joint in step.within) if sentence]
    turned = [name for panel in product.panels for name in panel.turned_over if name in names]
    if turned:
        which = "It is a mirror image" if len(names) == 1 else f"{len(turned)} of them are mirror images"
        lines.append((f"{which} of what is drawn: turn over.", False))
    kinds = [joint.words for joint in (*step.joints, *step.within)]
    lines += [(sentence, False) for sentence in dict.fromkeys(words.finish for words in kinds) if sentence]
    across = list(dict.fromkeys(name for move in step.moves for name in move.across))
    if across:
        words = f"Joints with {listed(across, limit=6)} close another way: keep those parts loose, bring this in, and press all"
        lines.append((f"{words} together.", True))
    return lines


def _closing(step: Step) -> list[str]:
    """One sentence for each way of putting it: which parts of the step go in, and what they are joined to."""
    sentences = dict.fromkeys(sentence for move in step.moves for sentence, _ in move.closing)
    found = []
    for sentence in sentences:
        parts = [move.part.name for move in step.moves if any(own == sentence for own, _ in move.closing)]
        mates = dict.fromkeys(mate for move in step.moves for own, mate in move.closing if own == sentence)
        found.append(sentence.format(parts=listed(parts), mates=listed(list(mates), limit=6)))
    return found
