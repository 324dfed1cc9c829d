"""The product that users build: what a design collects, resolved, proven and shown when asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.assemblies.data.acceptances import Acceptance
from panelwright.assemblies.design.caller import design_line
from panelwright.assemblies.design.collected import Collected
from panelwright.plates.placing.plate import PlacedPlate

from .accepting import acceptance, settled

if TYPE_CHECKING:
    import cadquery as cq
    from panelwright.assemblies.data.findings import Finding
    from panelwright.assemblies.data.parts import Bought, Part
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.resolve.resolve import Resolved

__all__ = ["Assembly"]


class Assembly(Collected):
    """Named plates, each standing somewhere, and how they are joined.

    - `name`: what the product is called, in files too.
    - `stock`: what plates are made of unless they say otherwise.
    - `clearance`: mm, for all joints made here, or in what stands in it, that give none of their own; by default the larger of
      the two stocks'.
    - `relief`: corner relief for all joints made here, or in what stands in it, that are given none.
    - `show_hardware`: whether screws and nuts stand in the STEP and in `to_cadquery()`; they are proven and counted anyway.

    `resolve`, `check` and `product` work on what has been collected so far and change nothing.  Raises `NamingError` for a name
    that no file can carry, `DesignError` for what is no stock, `SizeError` for a clearance or a relief that is none.

    >>> from panelwright.joints import join, tabs
    >>> from panelwright.plates import Stock, rectangle, standing
    >>> stand = Assembly("card stand", stock=Stock("birch plywood", 4, measured=3.95, kerf=0.2, clearance=0.1))
    >>> base = stand.add("base", rectangle(120, 60))
    >>> back = stand.add("back", rectangle(120, 80), standing(base.face(">Z"), facing="-Y", inset=None))
    >>> join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    >>> stand.check()
    ()
    """

    _accepted: tuple[Acceptance, ...] = ()

    def accept(self, code: str, *plates: str | PlacedPlate, because: str) -> None:
        """Let a finding stand: it becomes a note that tells why, and is no warning any more.

        - `code`: the finding's, such as "WEB".
        - `plates`: its plates, as names or as `add` gave them; without one, every finding of that code.  One is enough for a
          finding about two plates; of a finding about more all must be named, here or in further calls.
        - `because`: the reason, told wherever the finding is.

        An error cannot be accepted.  What there is nothing to accept of is told as `ACCEPT`.  Raises `DesignError` for a code
        that no finding has, something else than plates, or no reason.

        >>> from panelwright.joints import join, tabs
        >>> from panelwright.plates import Stock, rectangle, standing
        >>> stand = Assembly("card stand", stock=Stock("birch plywood", 4, measured=3.95, kerf=0.2, clearance=0.1))
        >>> base = stand.add("base", rectangle(120, 60))
        >>> back = stand.add("back", rectangle(120, 80), standing(base.show, facing="-Y", inset=None))
        >>> join(back.face("<Z"), base.show, tabs(count=2, width=15, clearance=0.6))
        >>> [(finding.level, finding.code) for finding in stand.check()]
        [('warning', 'CLEARANCE')]
        >>> stand.accept("CLEARANCE", back, because="it is lifted out every day")
        >>> [(finding.level, finding.accepted) for finding in stand.check()]
        [('note', 'it is lifted out every day')]
        """
        self._accepted = (*self._accepted, acceptance(self.name, code, plates, because, design_line()))

    def acceptances(self) -> tuple[Acceptance, ...]:
        """What the design accepts here and in its sub-assemblies, plates' names in full."""
        inner = [(sub.name, sub.assembly) for sub in self.sub_assemblies]
        return (
            *self._accepted,
            *(one.inside(name) for name, sub in inner if isinstance(sub, Assembly) for one in sub.acceptances()),
        )

    def resolve(self) -> Resolved:
        """Compute every joint and build every solid.

        Raises the first `JointError` if a joint cannot be made; others are attached to it as notes.
        """
        from panelwright.assemblies.resolve.resolve import resolve

        resolved = resolve(self)
        if resolved.failures:
            error = resolved.failures[0]
            for other in resolved.failures[1:]:
                error.add_note(f"also: {other}")
            raise error
        return resolved

    def check(self) -> tuple[Finding, ...]:
        """Everything that the proof finds, errors first; empty if the product is ready to cut."""
        return self.product().findings

    def product(self) -> Product:
        """The resolved and checked product: parts, panels, joints, the order in which they go together, and all findings."""
        from panelwright.assemblies.order.planning import with_plan
        from panelwright.assemblies.proof.prove import prove

        return settled(with_plan(prove(self), self), self.acceptances())

    def to_cadquery(self) -> cq.Assembly:
        """The resolved product as a CadQuery assembly: one named, coloured, placed object for each plate, screw and nut."""
        from panelwright.assemblies.resolve.bought_parts import bought_parts
        from panelwright.plates._kernel.files.export import cadquery_assembly

        resolved = self.resolve()
        parts: list[Part | Bought] = [*resolved.parts]
        if self.show_hardware:
            parts += bought_parts(resolved.made)
        return cadquery_assembly(self.name, [(p.name, p.solid, p.frame, p.stock.rgb) for p in parts])

    def _repr_svg_(self) -> str:
        """A line drawing for notebooks."""
        from panelwright.assemblies.pictures.picture import line_drawing

        return line_drawing(self.resolve().parts).decode("utf-8")
