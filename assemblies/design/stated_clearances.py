"""How tight joints are where they say nothing of it themselves: what an assembly states for all of them, or for two stocks."""

from __future__ import annotations

from panelwright.joints.spec.pattern import Joint, require_joint
from panelwright.joints.spec.relief import Relief, require_relief
from panelwright.plates._validate import finite, instance
from panelwright.plates.errors import DesignError
from panelwright.plates.materials.stock import Stock

__all__ = ["StatesClearances"]


class StatesClearances:
    """The part of an assembly that says how tight its joints are, and which relief their corners get."""

    clearance: float | None
    relief: Relief | None

    def __init__(self, of: str, clearance: float | None, relief: Relief | None) -> None:
        self.clearance = None if clearance is None else finite(clearance, f"clearance of {of}")
        self.relief = require_relief(relief, f"relief of {of}")
        self._pairs: dict[frozenset[Stock], float] = {}

    def set_clearance(self, first: Stock, second: Stock, clearance: float) -> None:
        """Clearance in mm for all joints made here between two stocks that give none of their own."""
        for one in (first, second):
            instance(one, Stock, "stock given to set_clearance()", "give a Stock", DesignError)
        self._pairs[frozenset({first, second})] = finite(clearance, "clearance between two stocks")

    def clearance_of(self, joint: Joint, first: Stock, second: Stock) -> float:
        """The joint's own clearance, else that of the two stocks, else the assembly's, else the larger stock's."""
        require_joint(joint, "joint of two plates")
        for one in (first, second):
            instance(one, Stock, "stock of a joined plate", "give a Stock", DesignError)
        if joint.clearance is not None:
            return joint.clearance
        pair = self._pairs.get(frozenset({first, second}))
        if pair is not None:
            return pair
        return self.clearance if self.clearance is not None else max(first.clearance, second.clearance)

    def says_clearance(self, first: Stock, second: Stock) -> bool:
        """Whether it states a clearance itself: of the pair of stocks, or of all its joints."""
        for one in (first, second):
            instance(one, Stock, "stock of a joined plate", "give a Stock", DesignError)
        return self.clearance is not None or frozenset({first, second}) in self._pairs
