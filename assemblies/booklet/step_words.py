"""What the booklet says in words: titles and sentences of the steps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from panelwright.assemblies.data.assembly_plan import Travel
from panelwright.assemblies.data.name_lists import listed
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.order.order_findings import way_words
from panelwright.assemblies.product.steps import Step

__all__ = ["hardware_words", "step_lines", "step_title"]


def hardware_words(hardware: Sequence[tuple[str, int]]) -> str:
    """Screws and nuts with their numbers.

    >>> hardware_words([("ISO 4032 M3", 8), ("ISO 7380-1 M3 × 12", 8)])
    '8 × ISO 4032 M3 and 8 × ISO 7380-1 M3 × 12'
    """
    return listed([f"{count} × {designation}" for designation, count in hardware])


def step_title(step: Step, product: Product, letters: Mapping[str, str]) -> str:
    """How many of which panels, such as "2 × B"; of a group that was built before, all that it holds."""
    of = {name: letters[panel.name] for panel in product.panels for name in panel.plates}
    counts = Counter(of[part.name] for part in step.parts)
    return " + ".join(f"{count} × {letter}" for letter, count in sorted(counts.items(), key=lambda one: (len(one[0]), one[0])))


def step_lines(step: Step, product: Product) -> list[tuple[str, bool]]:
    """The sentences of a step, each with whether it is one to be careful about.  Every part of the step is named.

    What is said of a joint are its kind's own words, one sentence for all that say the same.
    """
    names = [part.name for part in step.parts]
    lines: list[tuple[str, bool]] = []
    if step.is_turned:
        lines.append(("Turn what is there over first.", False))
    if step.is_group:
        lines.append((f"What goes in, {len(names)} parts, is together already: lift it in as one.", False))
    lines += [(sentence, False) for sentence in _closing(step)]
    free = [part.name for move in step.moves if not move.into for part in move.parts]
    if step.is_locked:
        lines.append((f"{listed(names, limit=6)} lock each other: no way is known to put them together.", True))
    elif free and not step.onto:
        lines.append((f"Begin with {listed(free)}.", False))
        if step.number == 1:
            lines += [(sentence, False) for sentence in _pose(product)]
    elif free:
        what = "Set it" if step.is_group else f"Put {listed(free)}"
        lines.append((f"{what} where the picture shows: nothing holds it there yet.", False))
    lines += [(sentence, False) for move in step.moves if (sentence := _in_two(move.travels))]
    lines += [(sentence, False) for sentence in dict.fromkeys(joint.words.prepare for joint in step.within) if sentence]
    lines += [(sentence, False) for sentence in _seams(step)]
    turned = [name for panel in product.panels for name in panel.turned_over if name in names]
    if turned:
        which = "It is a mirror image" if len(names) == 1 else f"{len(turned)} of them are mirror images"
        lines.append((f"{which} of what is drawn: turn over.", False))
    kinds = [joint.words for joint in (*step.joints, *step.within)]
    lines += [(sentence, False) for sentence in dict.fromkeys(words.finish for words in kinds) if sentence]
    return lines


def _seams(step: Step) -> list[str]:
    """One sentence for each joint that a bent panel has with itself: its ends meet once it is bent round, and are closed."""
    told: list[str] = []
    for joint in step.within:
        if not joint.words.prepare:  # a bend says how it is made ready, what closes a seam doesn't
            first, second = joint.plates
            close = joint.words.close.format(parts=first, mates=second)
            told.append(f"Bend it round until its ends meet, and close the seam: {close[0].lower()}{close[1:]}")
    return list(dict.fromkeys(told))


def _in_two(travels: Sequence[Travel]) -> str:
    """What to say of something that goes in by more than one move."""
    if len(travels) < 2:
        return ""
    told = [f"{travel.far_mm:.0f} mm {way_words(travel.way)}" for travel in travels]
    return f"It goes in by {len(told)} moves: {', then '.join(told)}."


def _pose(product: Product) -> list[str]:
    """How the first part lies, where that is not as the product will stand."""
    rise = product.plan.up[2]
    if rise < -0.5:
        return ["The product is built upside down."]
    return [] if rise > 0.5 else ["The product is built lying on one side."]


def _closing(step: Step) -> list[str]:
    """One sentence for each way of putting it: which parts of the step go in, and what they are joined to."""
    told = [closing for move in step.moves for closing in move.closing]
    found: list[str] = []
    for sentence in dict.fromkeys(sentence for sentence, _, _ in told):
        parts = dict.fromkeys(own for said, own, _ in told if said == sentence)
        mates = dict.fromkeys(mate for said, _, mate in told if said == sentence)
        found.append(sentence.format(parts=listed(list(parts)), mates=listed(list(mates), limit=6)))
    return found
