"""What everybody who is about to cut should read: told by the command line and kept in the manifest."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panelwright.plates.materials.stock import Stock

__all__ = ["CAUTION", "caution_for", "cautions_for"]

CAUTION = (
    "caution: cutting makes fire, fumes and light that blinds.  Never leave a running laser alone; follow the "
    "machine's manual and the rules of your place."
)
"""For every output that people cut from by laser: in a few words, what can go wrong and who has the last word."""

_TOOL_CAUTION = (
    "caution: chips fly, tools break and dust harms lungs.  Guard eyes and ears and extract the dust; follow the machine's "
    "manual and the rules of your place."
)

_LASER = (
    "fire: never leave a running laser alone, keep an extinguisher at hand, and keep the bed free of scraps",
    "fumes: cut only with extraction on, and only materials that the machine's manual allows; cut nothing whose maker cannot "
    "say what it is made of",
    "eyes: keep the lid shut and its interlocks working; an open beam, or its reflection, blinds",
)
_TOOL = ("eyes and ears: chips fly and tools break; wear protection", "dust: cut only with extraction on")
_LAST_WORD = (
    "the machine's manual, the material's safety sheet and the rules of your place go before anything said here",
    "loads are for you to judge: nothing here knows what the product will carry, or who will stand under it",
)


def caution_for(stocks: Iterable[Stock]) -> str:
    """The same for cutting these stocks: by laser unless a router or a knife cuts all of them.

    >>> from panelwright.plates import Stock
    >>> caution_for([Stock("MDF", 6, cutter="router")])[:22]
    'caution: chips fly, to'
    >>> caution_for([Stock("MDF", 6)]) == CAUTION
    True
    """
    cutters = {stock.cutter for stock in stocks}
    return _TOOL_CAUTION if cutters and "laser" not in cutters else CAUTION


def cautions_for(stocks: Iterable[Stock]) -> list[str]:
    """Cautions for cutting these stocks, each one sentence, in a fixed order.

    >>> from panelwright.plates import Stock
    >>> [caution.partition(":")[0] for caution in cautions_for([Stock("MDF", 6, cutter="router")])][:2]
    ['eyes and ears', 'dust']
    """
    cutters = {stock.cutter for stock in stocks}
    listed: list[str] = []
    if "laser" in cutters:
        listed += _LASER
    if cutters - {"laser"}:
        listed += _TOOL
    return [*listed, *_LAST_WORD]
