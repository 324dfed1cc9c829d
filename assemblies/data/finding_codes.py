"""All codes that findings carry: how grave each is, what it means, and what mends it.

The one table of them: `panelwright explain` prints it, `assemblies/proof/README.md` is made from it, and tests hold the
sources against it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from .findings import Level

__all__ = ["FINDING_CODES", "FindingCode"]


@dataclass(frozen=True, slots=True)
class FindingCode:
    """One code: the levels at which it comes, the gravest first, what it means, and what mends it."""

    code: str
    levels: tuple[Level, ...]
    meaning: str
    mend: str


_ERROR: Final = ("error",)
_WARNING: Final = ("warning",)
_NOTE: Final = ("note",)

_ALL: tuple[FindingCode, ...] = (
    FindingCode(
        "ACCEPT",
        _NOTE,
        "The design accepts (`Assembly.accept`) what the proof does not find, or finds as an error.",
        "Take the line out, name the plates that the finding names, or mend the error.",
    ),
    FindingCode(
        "BED",
        _ERROR,
        "A panel does not go on the machine's bed, at whatever angle; one with grain, by no quarter turn.",
        "Make it smaller, or two plates that meet over a third one joined to both, of a bent wall two, each half of the way "
        "round; or correct `bed_mm` in the shop file.",
    ),
    FindingCode(
        "BENT-TAB",
        _ERROR,
        "A tab on a bend stays straight while its slot is curved, and is too wide to go in.",
        "Give narrower tabs, more clearance or a larger radius.",
    ),
    FindingCode(
        "CLEARANCE",
        ("warning", "note"),
        "A joint's clearance is beyond 0.5 mm or a fourth of the sheet's thickness: it will rattle, or never go together; a "
        "note where it is 0 because nobody stated one.",
        "Give the gap of one joint in mm, usually 0 to 0.3, to the joint, the `Assembly` or the `Stock`; it is not the kerf.",
    ),
    FindingCode(
        "DROPS",
        _WARNING,
        "Something loose is drawn where nothing carries it: it drops by more than 1 mm, or falls through.",
        "Give it something to rest on, or place it where it will lie.",
    ),
    FindingCode(
        "FIT-LOOSE",
        _ERROR,
        "An opening is wider than what goes into it by more than the clearance.",
        "Where corner reliefs meet, use a smaller tool or `t_bone`; else move cut-outs or other joints off this one.",
    ),
    FindingCode(
        "FIT-TIGHT",
        _ERROR,
        "An opening leaves less than the clearance to what goes into it.",
        "Move whatever else claims the material there, or give the joint other places.",
    ),
    FindingCode(
        "FLOATS",
        ("error", "warning", "note"),
        "A plate, or a group of plates, touches nothing else; a warning where it is loose, a note within 1 mm of play.",
        "Place it against its neighbour and join them, or add it with `loose=True`; set loose things down, or beside the rest.",
    ),
    FindingCode(
        "GAP",
        ("warning", "note"),
        "Two plates without a joint stand up to 1 mm apart where they would be glued; a note where other plates hold both.",
        "Correct the placement until they touch, or join them.",
    ),
    FindingCode(
        "GRAIN",
        _WARNING,
        "A plate held at two ends has its grain across the span, where it is weakest.",
        "Turn the plate's outline by 90°, or name a stock whose grain runs the other way.",
    ),
    FindingCode(
        "HANDS",
        ("warning", "note"),
        "At a step of assembly pieces that nothing joins yet must be held at once; a warning where two hands are too few.",
        "Tape them, or ask for a helper; a joint between two of them, or a sub-assembly built first, takes one piece less.",
    ),
    FindingCode(
        "HINGE",
        ("error", "warning", "note"),
        "A living hinge asks too much of its links: they touch, or break, or nearly; or nobody knows what breaks them.",
        "Take the `slit`, `link`, `slit_length` or radius that the message names; each was tried.  State what the stock lacks.",
    ),
    FindingCode(
        "JOINT",
        _ERROR,
        "A joint could not be made, for the reason told.",
        "Do what the message says: usually another face, fewer or narrower things, or another place.",
    ),
    FindingCode(
        "KERF",
        _ERROR,
        "Something of a panel is too narrow for the width that the beam or the tool cuts.",
        "Make it wider, or correct the stock's kerf.",
    ),
    FindingCode(
        "LEFT-OUT",
        _NOTE,
        "`join_touching` left out plates that touch: what `skip=` names, or corners that its joint does not suit.",
        "Nothing, if that is meant; else join them by hand.",
    ),
    FindingCode(
        "LOCKED",
        ("error", "warning"),
        "Parts lock each other: none can even begin to move, or, as a warning, no order of straight moves was found.",
        "Change one of the joints that the message names, so that its parts come off another way; or leave one of them out.",
    ),
    FindingCode(
        "LOST",
        _ERROR,
        "A joint cuts into a cut-out or swallows it, so that it is no longer what was designed.",
        "Move the cut-out, or give the joint other places.",
    ),
    FindingCode(
        "MARK",
        _WARNING,
        "A mark lies where the plate is cut away, or another plate covers it.",
        "Move the mark to a place that stays and is seen.",
    ),
    FindingCode(
        "MAY-JAM",
        _WARNING,
        "Over the sheets and cuts that may come more than one product in a hundred jams (`check --tolerance`).",
        "Do what the finding says helps most: measure the sheet, cut a coupon, or give more clearance.",
    ),
    FindingCode(
        "MAY-RATTLE",
        _WARNING,
        "Over the sheets and cuts that may come more than one product in a hundred rattles (`check --tolerance`).",
        "Do what the finding says helps most: measure the sheet, cut a coupon, or give less clearance.",
    ),
    FindingCode(
        "MEASURE-FIRST",
        _WARNING,
        "Within the tolerance of sheets as sold, parts may jam or fall out.",
        "Measure the sheet and give its `measured` thickness, or calibrate the stock.",
    ),
    FindingCode(
        "NAME",
        _ERROR,
        "The names of two plates differ only in capitals, so that on many systems one file would overwrite the other.",
        "Rename one of them.",
    ),
    FindingCode(
        "NO-MATE",
        _ERROR,
        "A tab, or something else that goes in, has no opening of its own in the other plate.",
        "Move it to where the other plate has material, or make that plate larger.",
    ),
    FindingCode(
        "NO-PLAY",
        _WARNING,
        "Something loose stands between faces on two sides with less than 0.1 mm of play in all, or than the sliding fit that "
        "the shop states.",
        "Make it, or one of a row of loose things, smaller by as much as the message says, or the room for it larger.",
    ),
    FindingCode(
        "OVERLAP",
        _ERROR,
        "Two plates, screws or nuts share material: they cannot both be there.",
        "Join the two, or move or shorten one of them.",
    ),
    FindingCode(
        "PIECES",
        _ERROR,
        "A panel falls into pieces when all its cuts are made.",
        "Move the joint or the cut-out that parts it; between the slits of a hinge leave wider bridges.",
    ),
    FindingCode(
        "PRESS",
        ("warning", "note"),
        "A joint is pressed tighter than its stock's press fit; a note where the stock states none.",
        "Give more clearance, or cut a coupon and state the press fit that it shows.",
    ),
    FindingCode(
        "RELIEF",
        ("error", "note"),
        "A router leaves corners so round that what is square stays out, or its tool does not go into a relief or opening; a "
        "note where it is thinner than the relief's tool.",
        "Give joints `relief=dog_bone(tool)` or `t_bone(tool)` of the cutter's diameter, or take a smaller cutter.",
    ),
    FindingCode(
        "ROUND",
        _NOTE,
        "Inner corners that the design draws sharp come out round, since the cutter is.",
        "Nothing, if nothing goes in there; else round them in the design or take a smaller cutter.",
    ),
    FindingCode(
        "SEAM",
        _NOTE,
        "The two ends of a wall that goes all the way round meet, and no joint closes the seam.",
        "Join its `ends` by fingers, in a sharp corner or with the `land` that the message names; or glue a strip behind it.",
    ),
    FindingCode(
        "SEAT",
        ("error", "warning"),
        "A screw's head does not lie flat: a washer has to fill a wedge under it; beyond 45° none can.",
        "Cut the washer that the message tells, or bring the plates nearer to square.",
    ),
    FindingCode(
        "SHALLOW",
        _WARNING,
        "Tabs reach too little into the other plate to hold.",
        "Give more `depth`, or a thicker plate to go into.",
    ),
    FindingCode(
        "SHEET",
        _ERROR,
        "A panel does not go on the sheets of its stock, less their margin: along its grain, or without grain at any angle.",
        "Make it smaller, or two plates that meet over a third one joined to both, of a bent wall two, each half of the way "
        "round; or add a larger sheet to the shop file.",
    ),
    FindingCode(
        "SHUT-IN",
        _WARNING,
        "Something loose, such as a lid or a drawer, cannot be taken out: neither with what is joined in place, nor once "
        "the screws that a driver reaches are out, and what nothing else holds is off.",
        "Open the way that the message names, or hold what is in it by screws alone; or leave out `loose=True` if it is to "
        "stay in.",
    ),
    FindingCode(
        "SLIVER",
        _ERROR,
        "Two cuts leave so little between them that it breaks or burns away.",
        "Move the cuts apart, or let them meet.",
    ),
    FindingCode(
        "SPRINGS",
        ("warning", "note"),
        "Nothing holds a bend, or what goes on of it beyond its last tab, and it springs back harder than weight can hold it, "
        "or nobody knows how hard.",
        "Join what lies on both sides of it to one more plate, put tabs near both its ends, or close the seam of a wall that "
        "goes all the way round, by `join(*wall.ends, fingers())`, on an arc with the `land=` of `add_wrap` that the message "
        "names (0.27 of the radius); add a flap that is to swing with `loose=True`.",
    ),
    FindingCode(
        "SUPPLY",
        _ERROR,
        "No sheets, or too few, are left of a stock for all of its panels.",
        "Correct the counts in the shop file, or name another stock.",
    ),
    FindingCode(
        "UNCALIBRATED",
        ("warning", "note"),
        "Thickness or kerf of a stock was not measured here, so fits rest on what sheets are sold as; a warning where the kerf "
        "is taken as 0, though a beam or a tool cuts, or above 1 mm, which no laser cuts.",
        "Cut the test piece of `panelwright coupon` and run `panelwright calibrate`.",
    ),
    FindingCode(
        "UNHELD",
        ("warning", "note"),
        "A plate only lies against others: nothing but glue would hold it; a warning where no faces are joined at all.",
        "Join it, or all that touch by `join_touching`; or add it with `loose=True` if it is meant to lie there.",
    ),
    FindingCode(
        "UNPLANNED",
        _NOTE,
        "So many parts are tied to each other that the search for an order of assembly was stopped before its end.",
        "Put parts that belong together into sub-assemblies; steps after those parts are known.",
    ),
    FindingCode(
        "WEB",
        _WARNING,
        "The material left between two cuts is thinner than the sheet, or could not be measured.",
        "Leave more between the cuts: move them apart, or take fewer or narrower ones.",
    ),
)

FINDING_CODES: Final[Mapping[str, FindingCode]] = MappingProxyType({entry.code: entry for entry in _ALL})
"""Every code with its entry, in alphabetical order."""
