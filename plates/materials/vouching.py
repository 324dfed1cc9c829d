"""Which numbers of a stock its sources speak of, so that no source stands for a number that a copy has changed.

A stock is changed by copy, and a copy has the sources of its original.  So each stock carries what every source was said of;
where a copy has another number under the same words, the words become those of a number that the design states.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = ["CALIBRATED_BY", "STATED", "Vouched", "is_vouched", "true_sources", "vouched_by"]

STATED: Final = "stated in the design"
"""The source of a number that a design has put into a copy of a stock."""

FIELDS: Final = {
    "thickness_mm": "thickness",
    "measured_mm": "measured",
    "kerf_mm": "kerf",
    "snug_mm": "clearance",
    "press_mm": "press",
    "sliding_mm": "sliding",
    "tolerance_mm": "tolerance",
    "tolerance_standard": "tolerance",
    "density_kg_m3": "density",
    "shear_modulus_mpa": "shear_modulus",
    "shear_strength_mpa": "shear_strength",
    "youngs_modulus_mpa": "youngs_modulus",
    "poisson": "poisson",
}
"""Key of a source: the field of the stock that it speaks of."""

CALIBRATED_BY: Final = frozenset({"thickness_mm", "measured_mm", "kerf_mm"})
"""What a calibrated stock has measured."""

Vouched = tuple[str, str, object]
"""A key, the words of its source, "" if there are none, and the number that they were said of."""


def is_vouched(value: object) -> bool:
    """Whether a value is what `vouched_by` gives."""
    entries = value if isinstance(value, tuple) else (None,)
    return all(isinstance(entry, tuple) and len(entry) == 3 and entry[0] in tuple(FIELDS) for entry in entries)


def vouched_by(sources: Sequence[tuple[str, str]], stock: object) -> tuple[Vouched, ...]:
    """Every key with the words and the number that stand together in a stock; nothing if it has no sources."""
    said = dict(sources)
    return tuple((key, said.get(key, ""), getattr(stock, field)) for key, field in FIELDS.items()) if said else ()


def true_sources(
    sources: Sequence[tuple[str, str]], vouched: Sequence[Vouched], stock: object
) -> tuple[tuple[tuple[str, str], ...], frozenset[str]]:
    """The sources of a stock made with those of another, of which `vouched` tells; and which keys have been altered.

    A key with other words than before is taken at its word: whoever changes number and source together knows.
    """
    found = dict(sources)
    altered: set[str] = set()
    for key, said, value in vouched:
        if getattr(stock, FIELDS[key]) == value or found.get(key, "") != said:
            continue
        if not said and any(FIELDS[other] == FIELDS[key] for other in found):
            continue  # the tolerance has one key or the other
        altered.add(key)
        found[key] = STATED
    return tuple(found.items()), frozenset(altered)
