"""A plate that passes right through another one: a rail through its ribs, a tongue with a stop.

The plate that passes, the *owner*, keeps its whole cross-section; the other one, its *mate*, gets a through mortise: for each
piece of the owner that crosses it, an opening as long as that piece is wide and as wide as its shadow, grown by the clearance.
Seen along the owner::

        ┌───────────────┐ mate
        │               │
        │   ┌───────┐   │ opening: the owner's section and half the clearance all round
        │   └───────┘   │
        │               │
        └───────────────┘
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from panelwright.joints.meeting.contact import Contact, Hold, Side, crossing_contact, joint_error
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import Claim, Fit, Layout, Setting
from panelwright.joints.spec.relief import Relief
from panelwright.joints.spec.ways_out import way_of_first
from panelwright.plates._validate import finite, one_of
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Vector, scaled
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.probe import Interval, joined
from panelwright.plates.tolerances import INSIDE, MEASURED_CHORD

__all__ = ["PassThrough", "pass_through"]


@dataclass(frozen=True, slots=True)
class PassThrough:
    """Spec of a plate that passes through another; make one with `pass_through`."""

    owner: Literal["first", "second"]
    clearance: float | None
    relief: Relief | None

    kind: ClassVar[str] = "pass_through"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words("pass through", "Push {parts} into {mates}.")

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The line in which the two plates cross; the owner is the first side, whichever it was named."""
        for hold in (first, second):
            if hold.body.roll is not None:
                raise JointError(
                    f"{self.kind} between {first.body.name!r} and {second.body.name!r}: {hold.body.name!r} is bent there, and "
                    "only flat plates pass through each other; move the crossing to a flat part",
                    plates=(first.body.name, second.body.name),
                    face=hold.described,
                )
        return crossing_contact(*((first, second) if self.owner == "first" else (second, first)), self.kind)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """One opening for each piece of the owner that crosses the mate."""
        owner, mate = contact.first, contact.second
        c, across = setting.clearance, contact.footprint
        width = across[1] - across[0]
        pieces = self._pieces(contact, max(0.0, c) / 2)
        self._require_a_way_in(contact, pieces)
        claims: list[Claim] = []
        fits: list[Fit] = []
        webs: list[float] = []
        press = 0.0
        for u in pieces:
            length = u[1] - u[0]
            webs.append(self._web(contact, u, max(0.0, c) / 2))
            opening = mate.rectangle((u[0] - c / 2, u[1] + c / 2), (across[0] - c / 2, across[1] + c / 2))
            claims.append(Claim(mate, "cut", opening, must_bite=True))
            spot, widest = _widest(owner, u, contact.slab)
            at = (sum(u) / 2, sum(across) / 2)
            # a piece whose width changes on its way through has more room wherever it is narrower
            spare = length - (widest[1] - widest[0])
            inside = (sum(widest) / 2, spot)
            fits.append(Fit(mate, at, "along", owner, inside, c + spare, width / 2, is_clearance=spare < INSIDE))
            fits.append(Fit(mate, at, "across", width, (0.0, 0.0), c, length / 2))
            press += max(0.0, -c) * (length + width) * mate.body.t
        numbers: dict[str, Any] = {
            "owner": owner.body.name,
            "count": len(pieces),
            "openings_mm": [[round(u[1] - u[0] + c, 6), round(width + c, 6)] for u in pieces],
            "web_mm": round(min(webs), 6),
            **contact.numbers,
        }
        return Layout(tuple(claims), tuple(fits), numbers, press)

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """The owner may come from either side."""
        out = way_of_first(contact)
        return (out, scaled(out, -1.0))

    def _pieces(self, contact: Contact, gap: float) -> list[Interval]:
        """Where along the line the owner crosses the mate, as intervals of u."""
        import shapely

        owner, mate = contact.first, contact.second
        outline = owner.body.plate.outline
        region = polygon_of(outline.outer, outline.holes, MEASURED_CHORD, seen=owner.seen)
        low, high = contact.slab[0] + INSIDE, contact.slab[1] - INSIDE
        x0, _, x1, _ = region.bounds
        crossing = region.intersection(shapely.box(x0 - 1, low, x1 + 1, high))
        found: list[Interval] = []
        border = _outer(mate)
        for piece in getattr(crossing, "geoms", [crossing]):
            u0, v0, u1, v1 = piece.bounds
            if not border.intersects(_rectangle((u0 - gap, u1 + gap), contact.footprint)):
                continue  # beside the mate: none of its business
            short = max(v0 - contact.slab[0], contact.slab[1] - v1)
            if short > 2 * INSIDE:
                raise joint_error(
                    contact,
                    self.kind,
                    f"{owner.body.name!r} stops {short:.3f} mm short of going through {mate.body.name!r}, which is "
                    f"{contact.slab[1] - contact.slab[0]:.3f} mm through there; make it longer, or use tabs(depth=) for blind "
                    "tabs",
                    value=short,
                    limit=0.0,
                )
            found.append((u0, u1))
        return joined(found)

    def _web(self, contact: Contact, u: Interval, gap: float) -> float:
        """The least material left round an opening, mm.  Raises `JointError` if it isn't closed all round."""
        import shapely

        owner, mate = contact.first.body.name, contact.second.body.name
        across = contact.footprint
        needed = _rectangle((u[0] - gap, u[1] + gap), (across[0] - gap, across[1] + gap))
        size = f"the opening for {owner!r}, {u[1] - u[0] + 2 * gap:.3f} × {across[1] - across[0] + 2 * gap:.3f} mm,"
        outline = _outer(contact.second)
        outside = needed.difference(outline)
        if outside.area > INSIDE**2:
            out = max(outline.distance(shapely.Point(p)) for p in shapely.get_coordinates(outside))
            raise joint_error(
                contact,
                self.kind,
                f"{size} reaches {out:.3f} mm beyond the border of {mate!r}; move it in, make {mate!r} larger there, or use "
                "cross_lap() for plates that are slotted from their borders",
                value=out,
                limit=0.0,
            )
        web = float(outline.exterior.distance(needed))
        if web < INSIDE:
            raise joint_error(
                contact,
                self.kind,
                f"{size} lies right on the border of {mate!r}, with nothing left beside it; move it in, or make "
                f"{mate!r} larger there",
                value=web,
                limit=contact.second.body.t,
            )
        for loop in contact.second.body.plate.outline.holes:
            hole: Any = polygon_of(loop, tolerance=MEASURED_CHORD, seen=contact.second.seen)
            taken = float(hole.intersection(needed).area)
            if taken > INSIDE**2:
                raise joint_error(
                    contact,
                    self.kind,
                    f"{size} runs into a cut-out of {mate!r} that takes {taken:.3f} mm² of it; move one of them, or leave the "
                    "cut-out to this joint",
                    value=taken,
                    limit=0.0,
                )
            web = min(web, float(hole.distance(needed)))
        return web

    def _require_a_way_in(self, contact: Contact, pieces: list[Interval]) -> None:
        """Refuse an owner that is wider than its openings on both sides of the mate: it could never have come there."""
        owner = contact.first
        longest = max(high - low for low, high in pieces)
        (before, after) = (
            _broadest(owner, (-float("inf"), contact.slab[0])),
            _broadest(owner, (contact.slab[1], float("inf"))),
        )
        if min(before, after) > longest + INSIDE:
            name, mate = owner.body.name, contact.second.body.name
            raise joint_error(
                contact,
                self.kind,
                f"{name!r} is {before:.3f} mm wide on one side of {mate!r} and {after:.3f} mm on the other, but only "
                f"{longest:.3f} mm in it, so it can't be put through; make one side no wider than that",
                value=min(before, after),
                limit=longest,
            )


def _outer(side: Side) -> Any:
    """A plate without its holes in (u, v) as a shapely polygon."""
    return polygon_of(side.body.plate.outline.outer, tolerance=MEASURED_CHORD, seen=side.seen)


def _rectangle(u: Interval, v: Interval) -> Any:
    import shapely

    return shapely.box(u[0], v[0], u[1], v[1])


def _levels(side: Side, across: Interval) -> list[float]:
    """Distances from the line, just inside both ends of an interval and beside each corner and middle of a curve within it."""
    low, high = across[0] + INSIDE, across[1] - INSIDE
    corners: list[float] = []
    for loop in side.body.plate.outline.loops:
        for segment in loop:
            points = [segment.start] if isinstance(segment, Line) else [segment.start, segment.point_at(0.5)]
            corners += [side.seen(point)[1] for point in points]
    near = {corner + step for corner in corners for step in (-INSIDE, INSIDE)}
    ends = {level for level in (low, high, (low + high) / 2) if abs(level) < float("inf")}
    return sorted(level for level in near | ends if low <= level <= high)


def _widest(side: Side, u: Interval, across: Interval) -> tuple[float, Interval]:
    """The level at which a piece is widest, the one nearest to the middle if there are several, and its stretch there."""
    middle = sum(across) / 2
    best: tuple[float, Interval] | None = None
    for level in sorted(_levels(side, across), key=lambda level: abs(level - middle)):
        for low, high in side.stretches(level):
            inside = low > u[0] - INSIDE and high < u[1] + INSIDE
            if inside and (best is None or high - low > best[1][1] - best[1][0] + INSIDE):
                best = (level, (low, high))
    assert best is not None  # the piece spans the whole interval
    return best


def _broadest(side: Side, across: Interval) -> float:
    """The longest stretch of a plate along the line anywhere in an interval; 0 where there is none."""
    found = [high - low for level in _levels(side, across) for low, high in side.stretches(level)]
    return max(found, default=0.0)


def pass_through(
    *,
    owner: Literal["first", "second"] = "first",
    clearance: float | None = None,
    relief: Relief | None = None,
) -> PassThrough:
    """A plate that passes right through another one, such as a rail through its ribs or a tongue through a wall.

    Name the plates themselves; any of their faces will do.  The owner stays as it is: draw a tongue, and shoulders where it
    shall stop.  Its mate gets an opening, closed all round, for each piece of it that crosses.

    - `owner`: which of the two named plates passes, "first" or "second".
    - `clearance`: opening minus the owner's section, mm, in both directions; negative for a press fit; by default the
      assembly's or stock's.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    The plates may meet at 30° to 150°; at other angles than 90° the opening is longer across the owner, as its shadow is.
    Raises `JointError`, when resolved, where the owner stops inside the mate, the opening would reach the mate's border or a
    cut-out, or the owner is wider than it on both sides.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import join
    >>> from panelwright.plates import Frame, Stock, rectangle
    >>> stand = Assembly("display stand", stock=Stock("birch plywood", 4, measured=4, kerf=0.2, clearance=0.1))
    >>> rail = stand.add("rail", rectangle(160, 20))
    >>> rib = stand.add("rib", rectangle(60, 50), Frame.facing((0, 0, 5), show=(1, 0, 0), right=(0, 1, 0)))
    >>> join(rail, rib, pass_through())
    >>> product = stand.product()
    >>> product.joints[0].numbers["openings_mm"], product.findings
    ([[20.1, 4.1]], ())
    >>> pass_through(owner="rail")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: owner of pass_through is 'rail'; give 'first' or 'second'
    """
    one_of(owner, ("first", "second"), "owner of pass_through")
    gap = None if clearance is None else finite(clearance, "clearance of pass_through")
    return PassThrough(owner, gap, relief)
