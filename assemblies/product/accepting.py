"""What a design accepts of the proof's findings: taken in as it is written, and settled with what was found."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import replace

from panelwright.assemblies.data.acceptances import Acceptance, after_acceptance, unmet
from panelwright.assemblies.data.finding_codes import FINDING_CODES
from panelwright.assemblies.data.product import Product
from panelwright.plates._validate import shown, text
from panelwright.plates.errors import DesignError
from panelwright.plates.placing.plate import PlacedPlate

__all__ = ["acceptance", "settled"]


def acceptance(of: str, code: str, plates: Sequence[str | PlacedPlate], because: str, line: str) -> Acceptance:
    """An acceptance in an assembly called `of`; raises `DesignError` for what names no finding, no plate or no reason."""
    known = text(code, f"code that assembly {of!r} accepts")
    if known not in FINDING_CODES:
        near = difflib.get_close_matches(known.upper(), FINDING_CODES, n=1)
        hint = f"did you mean {near[0]!r}?" if near else "`panelwright explain` lists them"
        raise DesignError(f"assembly {of!r} accepts {known!r}, which is no code of a finding; {hint}", value=code)
    names: list[str] = []
    for plate in plates:
        if not isinstance(plate, str | PlacedPlate):
            raise DesignError(
                f"assembly {of!r} accepts {known} of {shown(plate)}; give plates by name, or as add() gave them", value=plate
            )
        names.append(plate.name if isinstance(plate, PlacedPlate) else plate)
    if not isinstance(because, str) or not because.strip():
        raise DesignError(
            f"assembly {of!r} accepts {known} because of {shown(because)}; say why in words, for whoever reads the proof",
            value=because,
        )
    return Acceptance(known, tuple(names), " ".join(because.split()), line)


def settled(product: Product, acceptances: Sequence[Acceptance]) -> Product:
    """A proven product whose findings know what the design accepts."""
    if not acceptances:
        return product
    findings = (*product.findings, *unmet(acceptances, product.findings))
    return replace(product, findings=after_acceptance(findings, acceptances), acceptances=tuple(acceptances))
