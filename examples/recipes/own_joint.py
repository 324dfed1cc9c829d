"""A throwing bench put together with wood screws: a kind of joint of one's own, all that is known of it in one class."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from panelwright.assemblies import Assembly
from panelwright.joints import Relief, join_touching
from panelwright.joints.meeting.contact import Contact, Hold
from panelwright.joints.meeting.edge_contacts import edge_contact
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import Claim, Fit, Layout, Setting
from panelwright.joints.spec.ways_out import way_of_first
from panelwright.plates import Frame, Range, Stock, hole, lying, rectangle

PLY = Stock("birch plywood", 18, measured=17.8, kerf=3.0, cutter="router", density=680)


@dataclass(frozen=True)
class WoodScrews:
    """Two wood screws through the mate into the edge: holes in the mate, none in the edge, `inset` mm from its ends."""

    inset: float = 22.0
    clearance: float | None = None
    relief: Relief | None = None
    kind: ClassVar[str] = "wood_screws"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words("wood screws", "Hold {parts} against {mates}.", finish="Drive the screws.")

    def meet(self, first: Hold, second: Hold) -> Contact:
        return edge_contact(first, second, self.kind)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        mate, middle = contact.second, sum(contact.footprint) / 2
        ends = (contact.stretches[0][0] + self.inset, contact.stretches[-1][1] - self.inset)
        holes = [hole(4.5).at(*mate.flat(u, middle)).outer for u in ends]
        cuts = tuple(Claim(mate, "cut", loop, must_bite=True) for loop in holes)
        shanks = tuple(Fit(mate, (u, middle), "along", 4.0, (u, 0), 0.5, is_clearance=False) for u in ends)
        return Layout(cuts, shanks, {"count": 2}, hardware=(("wood screw 4 × 50", 2),))

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[tuple[float, float, float], ...]:
        return (way_of_first(contact),)


def design(width: Annotated[float, Range(300, 560)] = 420, height: Annotated[float, Range(180, 300)] = 220) -> Assembly:
    """A low bench, `width` × `height` mm."""
    rise, apart = height - PLY.t, width - 140
    bench = Assembly("throwing bench", stock=PLY)
    legs = [
        bench.add(name, rectangle(220, rise), Frame.facing((x, 0, rise / 2), show=(way, 0, 0), right=(0, way, 0)))
        for name, x, way in (("left leg", -apart / 2, -1), ("right leg", apart / 2, 1))
    ]
    bench.add("rail", rectangle(apart, 90), Frame.facing((0, PLY.t / 2, rise / 2), show=(0, 1, 0), right=(-1, 0, 0)))
    bench.add("seat", rectangle(width, 260), lying([leg.face(">Z") for leg in legs]))
    join_touching(bench, WoodScrews())
    return bench
