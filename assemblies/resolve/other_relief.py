"""The same product with another corner relief and another cutter, to try what the proof is about to advise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from panelwright.assemblies.design.joins import Rule
from panelwright.joints.meeting.contact import Body
from panelwright.joints.spec.relief import Relief

__all__ = ["OtherRelief", "widest_cut"]


@dataclass(frozen=True, slots=True)
class OtherRelief:
    """`relief` for all joints between plates that are cut up to `kerf` mm wide, and a cutter of its tool for such plates.

    Joints cut narrower, by a beam beside a router, keep what they have; so does a joint whose kind takes no relief.
    """

    relief: Relief
    kerf: float

    def applied(self, bodies: Sequence[Body], rules: Sequence[Rule]) -> tuple[tuple[Body, ...], tuple[Rule, ...]]:
        """The plates and joins of a product as they would be."""
        changed = {body.number: self._cut_anew(body) for body in bodies}
        return tuple(changed.values()), tuple(self._relieved(rule, changed) for rule in rules)

    def _cut_anew(self, body: Body) -> Body:
        stock = body.plate.stock
        if stock.kerf != self.kerf or self.relief.tool >= self.kerf:
            return body
        return replace(body, plate=replace(body.plate, stock=replace(stock, kerf=self.relief.tool)))

    def _relieved(self, rule: Rule, changed: dict[int, Body]) -> Rule:
        first, second = (replace(hold, body=changed[hold.body.number]) for hold in (rule.first, rule.second))
        is_meant = widest_cut(rule.first.body, rule.second.body) == self.kerf
        return replace(rule, first=first, second=second, relief=self.relief if is_meant else rule.relief)


def widest_cut(first: Body, second: Body) -> float:
    """The width in mm of the wider of two plates' cuts."""
    return max(first.plate.stock.kerf, second.plate.stock.kerf)
