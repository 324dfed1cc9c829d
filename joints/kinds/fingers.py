"""Fingers: two plates interlock over the whole of the line in which they meet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar, Literal

from panelwright.joints.meeting.contact import Contact, Hold, joint_error
from panelwright.joints.meeting.edge_contacts import edge_contact
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import RUN_OUT_SHARE, Claim, Fit, Layout, Setting, opening
from panelwright.joints.spec.relief import Relief
from panelwright.joints.spec.ways_out import way_of_first, way_of_second
from panelwright.plates._validate import MOST_IN_A_ROW, finite, one_of, positive, whole
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import COUNT_TIE, FILM, LEAST_LINE, ROUNDING, SAME_PLACE

__all__ = ["Fingers", "fingers"]

Ends = Literal["first", "second", "mixed"]


@dataclass(frozen=True, slots=True)
class Fingers:
    """Spec of a finger joint; make one with `fingers`."""

    count: int | None
    width: float | None
    ends: Ends
    clearance: float | None
    relief: Relief | None

    kind: ClassVar[str] = "fingers"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = True
    words: ClassVar[Words] = Words("fingers", "Push {parts} into {mates}.")

    def meet(self, first: Hold, second: Hold) -> Contact:
        """An edge on a broad face, or two edges at a corner."""
        return edge_contact(first, second, self.kind, corner=True)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """Cells of equal width along the line, owned in turn."""
        if len(contact.stretches) > 1:
            listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in contact.stretches)
            raise joint_error(
                contact,
                self.kind,
                f"the line is broken into {listed} mm; fingers need one unbroken line: use tabs, or move the cut-out",
                value=len(contact.stretches),
                limit=1,
            )
        start, stop = contact.stretches[0]  # pyright: ignore[reportGeneralTypeIssues]  a contact has one
        settled: set[str] = set()
        for low, high in setting.trimmed:
            if low <= start + SAME_PLACE:
                start = max(start, high)
                settled.add("u-")
            if high >= stop - SAME_PLACE:
                stop = min(stop, low)
                settled.add("u+")
        line = stop - start
        if line <= SAME_PLACE:
            raise joint_error(contact, self.kind, f"no length is left between the corners ({line:.3f} mm)", value=line)
        number = self._cells(contact, line)
        owner = 0 if self.ends in ("first", "mixed") else 1
        if contact.swapped:
            owner = 1 - owner
        step = line / number
        cells = tuple(((start + step * i, start + step * (i + 1)), (owner + i) % 2) for i in range(number))
        claims: list[Claim] = []
        fits: list[Fit] = []
        thickness, depth = contact.first.body.t, contact.slab[1] - contact.slab[0]
        pressed_area = 0.0
        for i, (u, who) in enumerate(cells):
            ends = (("u-", i == 0), ("u+", i == number - 1))
            # an end that runs into a corner of three plates is closed by that corner, whoever gets it
            at_end = tuple(name for name, is_end in ends if is_end and name not in settled)
            # a side presses if the finger beyond it is held from its other side as well
            pressed = tuple(name for name, n in (("u-", i - 1), ("u+", i + 1)) if 0 < n < number - 1)
            cell_claims, is_round = _cell_claims(contact, u, who, setting.clearance, at_end, pressed)
            claims += cell_claims
            fits += _cell_fits(contact, u, who, setting.clearance, between=0 < i < number - 1, all_round=is_round)
            # both ends of the finger and, where its opening closes round it, both its broad faces
            pressed_area += depth * (thickness + (step if is_round else 0.0))
        press = max(0.0, -setting.clearance) * pressed_area
        numbers = {"count": number, "width_mm": step, "ends": self.ends, "line_mm": line, **contact.numbers}
        return Layout(tuple(claims), tuple(fits), numbers, press, cells)

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """At a T the edge goes into the openings; at a corner the other plate's edge may come instead."""
        out = way_of_first(contact)
        return (out,) if contact.reach is None else (out, way_of_second(contact))

    def _cells(self, contact: Contact, line: float) -> int:
        """Number of cells of both plates together."""
        extra = {"first": -1, "second": 1, "mixed": 0}[self.ends]
        if self.count is not None:
            number = 2 * self.count + extra
        else:
            width = self.width if self.width is not None else 3 * max(contact.first.body.t, contact.second.body.t)
            if width > line + ROUNDING:
                if self.width is not None:
                    raise joint_error(
                        contact,
                        self.kind,
                        f"fingers are {width:g} mm wide, but the line is only {line:.3f} mm long; make them narrower",
                        value=width,
                        limit=line,
                    )
                width = line
            odd = self.ends != "mixed"
            if width * 2 * MOST_IN_A_ROW < line:
                least = line / (2 * MOST_IN_A_ROW)
                raise joint_error(
                    contact,
                    self.kind,
                    f"fingers {width:g} mm wide on a line of {line:.2f} mm are more than {MOST_IN_A_ROW} fingers of each "
                    f"plate; make them at least {least:.3g} mm wide",
                    value=width,
                    limit=least,
                )
            # the nearest number of the right parity, never none; a tie goes up, whatever rounding makes of it
            number = 2 * math.floor((line / width - int(odd)) / 2 + 0.5 + COUNT_TIE) + int(odd)
            if self.ends != "first":
                number = max(number, 3 if odd else 2)
        if line / number < LEAST_LINE:
            raise joint_error(contact, self.kind, f"{number} fingers on {line:.3f} mm are too narrow", value=number, limit=line)
        return number


def _cell_claims(
    contact: Contact,
    u: Interval,
    owner: int,
    clearance: float,
    at_end: tuple[str, ...],
    pressed: tuple[str, ...],
) -> tuple[list[Claim], bool]:
    """The owner keeps the cell or gains it; the other is cut there, with clearance.

    Also says whether the opening in the second plate closes on both sides of the first one's thickness, as at a T.
    """
    first, second = contact.first, contact.second
    reach, high = contact.reach, contact.slab[1]
    claims: list[Claim] = []
    if owner == 0:
        if high > ROUNDING:
            claims.append(Claim(first, "add", first.grown(u, (min(0.0, contact.slab[0]), high))))
        # at a corner the second plate gives way right out to its border
        across = contact.footprint if reach is None else reach.beyond(contact.footprint)
        cut, open_sides = opening(
            second,
            u,
            across,
            clearance,
            run_out=RUN_OUT_SHARE * first.body.t,
            may_open=(*at_end, "v-", "v+"),
            pressed=pressed,
        )
        claims.append(Claim(second, "cut", cut))
        return claims, not open_sides & {"v-", "v+"}
    missing = None if reach is None else reach.missing
    if missing is not None:
        # an open corner: the second plate stops short of it and reaches out with its fingers
        wider = max(0.0, -clearance / 2)
        grown = (
            u[0] - wider if "u-" not in at_end and ("u+" not in at_end or "u-" in pressed) else u[0],
            u[1] + wider if "u+" not in at_end and ("u-" not in at_end or "u+" in pressed) else u[1],
        )
        claims.append(Claim(second, "add", second.grown(grown, missing)))
    depth = max(0.0, clearance / 2)
    beyond = RUN_OUT_SHARE * second.body.t
    bite = contact.bite

    def outward(end: float, sign: float, name: str) -> float:
        if name not in at_end:
            return end
        # where the second plate ends and the first one goes on, they stand apart like any two facing surfaces
        return end + sign * (depth if first.has_material([(end + sign * FILM, bite - FILM)]) else beyond)

    ends = (outward(u[0], -1.0, "u-"), outward(u[1], 1.0, "u+"))
    # where the plates only touch and have no clearance this cuts nothing, but tells others who owns the cell
    claims.append(Claim(first, "cut", first.rectangle(ends, (bite - depth, high + beyond))))
    return claims, False


def _cell_fits(contact: Contact, u: Interval, owner: int, clearance: float, *, between: bool, all_round: bool) -> list[Fit]:
    """What can be measured: a finger between two others, and at a T the thickness too."""
    middle = (u[0] + u[1]) / 2
    # half way along what sticks out: there the neighbours stand on both sides
    in_first = (middle, (contact.bite + contact.slab[1]) / 2)
    root, tip = contact.footprint
    if contact.reach is not None:
        root, tip = (root if contact.reach.rises else tip), contact.reach.end
    in_second = (middle, (root + tip) / 2)
    reaches = (abs(tip - root) / 2, (contact.slab[1] - contact.bite) / 2)
    fits: list[Fit] = []
    if between and owner == 0:
        fits.append(Fit(contact.second, in_second, "along", contact.first, in_first, clearance, *reaches))
    elif between:
        fits.append(Fit(contact.first, in_first, "along", contact.second, in_second, clearance, *reversed(reaches)))
    if all_round:
        through = contact.footprint[1] - contact.footprint[0]
        fits.append(Fit(contact.second, in_second, "across", through, in_first, clearance, (u[1] - u[0]) / 2))
    return fits


def fingers(
    count: int | None = None,
    *,
    width: float | None = None,
    ends: Ends = "first",
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Fingers:
    """Fingers over the whole line where two plates meet, along a corner or a T.

    Name an edge face and the broad face that it stands on, or two edge faces at a corner.  It makes no difference whether
    the plates are designed butting, overlapping in the corner, or both stopping short of it.

    - `ends`: which plate owns both ends of the line: the "first" one named or the "second"; "mixed" gives it one end each.
      The first two are symmetric.
    - `count`: fingers of the first plate named; or `width`, about how wide each is, mm (the line is divided into equal
      ones).  By default about three thicknesses wide.
    - `clearance`: gap between a finger and the opening it goes into, mm, half on each side; negative for a press fit.
      Facing surfaces at the bottom of an opening stand half of it apart.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    Where three plates meet in a corner, the corner cube goes to the plate that owns the most of its two adjacent end
    fingers, ties to the plate that was added first.

    Raises `SizeError` for a count or width that is none, for both of them, and for other ends.

    >>> fingers(width=12).ends
    'first'
    """
    if count is not None and width is not None:
        raise SizeError("fingers are given count and width; give one of them", value=(count, width))
    one_of(ends, ("first", "second", "mixed"), "ends of fingers")
    return Fingers(
        None if count is None else whole(count, "count of fingers", most=MOST_IN_A_ROW),
        None if width is None else positive(width, "width of fingers"),
        ends,
        None if clearance is None else finite(clearance, "clearance of fingers"),
        relief,
    )
