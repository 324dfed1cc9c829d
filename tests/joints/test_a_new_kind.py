"""A kind of joint that the toolkit has never seen: all that is known of it stands here, in one class.

It goes through joining, proof, booklet, report, pictures and files like the kinds that are shipped, with its own ways of
closing and its own words; a kind that leaves one of these unsaid is refused, and is never taken for another one.
"""

from __future__ import annotations

import json
import pickle
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import ezdxf
import pypdfium2 as pdfium
import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.booklet.booklet import booklet_pdf
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.paper.press import paper_of
from panelwright.assemblies.pictures.apart import taken_apart
from panelwright.assemblies.product.steps import steps_of
from panelwright.joints import Joint, Relief, cross_lap, fingers, join, join_touching, living_hinge, pass_through, t_nut, tabs
from panelwright.joints.meeting.contact import Contact, Hold
from panelwright.joints.meeting.edge_contacts import edge_contact
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import RUN_OUT_SHARE, Claim, Fit, Layout, Setting, opening
from panelwright.plates import Frame, JointError, Stock, rectangle
from panelwright.plates.geometry.frame import Vector, minus, scaled
from readers import is_closed, is_valid, shared_volume, volume

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)
SHIPPED = (tabs(), fingers(), cross_lap(), pass_through(), t_nut("M3"), living_hinge())


@dataclass(frozen=True)
class Tongue:
    """One tongue at the upper end of an edge, slid in from the mate's border: it closes along the line, not across it."""

    width: float
    clearance: float | None = None
    relief: Relief | None = None

    kind: ClassVar[str] = "open_tongue"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words(
        "tongue from the side", "Slide {parts} sideways onto {mates}.", finish="Glue every tongue in its slot."
    )

    def meet(self, first: Hold, second: Hold) -> Contact:
        """An edge on a broad face."""
        return edge_contact(first, second, self.kind)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """A tongue through the mate, and a slot that is open at the mate's border."""
        first, second, c = contact.first, contact.second, setting.clearance
        end, thickness = contact.stretches[-1][1], contact.slab[1]
        u = (end - self.width, end)
        slot, _ = opening(second, u, contact.footprint, c, run_out=RUN_OUT_SHARE * first.body.t)
        claims = (
            Claim(first, "add", first.rectangle(u, (0.0, thickness))),
            Claim(second, "cut", slot, must_bite=True),
        )
        middle, across = end - self.width / 2, contact.footprint
        at, inside = (middle, sum(across) / 2), (middle, thickness / 2)
        fit = Fit(second, at, "across", across[1] - across[0], inside, c, self.width / 4)
        return Layout(claims, (fit,), {"count": 1, "width_mm": self.width, **contact.numbers})

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """Along the line, from its upper end."""
        return (scaled(contact.direction, -1.0),)


def stand(joint: Any, *, touching: bool = False) -> Assembly:
    """A wall that stands on a base and ends where it ends."""
    made = Assembly("brush stand", stock=PLY)
    base = made.add("base", rectangle(100, 60))
    wall = made.add("wall", rectangle(100, 40), Frame.facing((0, 0, 24), show=(0, -1, 0), right=(1, 0, 0)))
    if touching:
        join_touching(made, joint)
    else:
        join(wall.face("<Z"), base.face(">Z"), joint)
    return made


@cache
def product() -> Product:
    return stand(Tongue(15)).product()


def move_of(made: Product) -> Vector:
    """Which way the wall comes off its base in pictures, as a step of 1."""
    before = {part.name: part.frame.origin for part in made.parts}
    after = {part.name: part.frame.origin for part in taken_apart(made.parts, made.plan, 1.0)}
    away = minus(minus(after["wall"], before["wall"]), minus(after["base"], before["base"]))
    size = max(abs(value) for value in away)
    assert size > 1
    return scaled(away, 1 / size)


def test_the_proof_measures_a_new_kind_and_finds_nothing_wrong() -> None:
    """The fit is measured, the solids are apart by the kernel's booleans, and their volumes are those worked out by hand."""
    made = product()
    assert made.findings == ()
    assert made.joints[0].kind == "open_tongue"
    assert made.joints[0].numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)
    base, wall = made.parts
    assert shared_volume(base, wall) < 1e-6
    # the tongue is 15 × 4; its slot is half a clearance longer at its one closed end, and 4.1 wide
    assert volume(wall.solid) == pytest.approx(4 * (100 * 40 + 15 * 4), abs=1e-6)
    assert volume(base.solid) == pytest.approx(4 * (100 * 60 - 15.05 * 4.1), abs=1e-6)
    assert all(is_valid(part.solid) and all(map(is_closed, part.loops)) for part in made.parts)


def test_the_proof_notices_a_wrong_new_kind() -> None:
    """What the proof says of a new kind is measured, not believed: a slot without its clearance is told."""

    @dataclass(frozen=True)
    class Tight(Tongue):
        def lay_out(self, contact: Contact, setting: Setting) -> Layout:
            right, tight = (super(Tight, self).lay_out(contact, Setting(c, *rest(setting))) for c in (setting.clearance, 0.0))
            return Layout(tight.claims, right.fits, right.numbers)

    def rest(setting: Setting) -> tuple[Any, ...]:
        return (setting.free, setting.trimmed, setting.deep, setting.ends, setting.relief)

    assert "FIT-TIGHT" in {finding.code for finding in stand(Tight(15)).product().findings}


def test_a_new_kind_closes_its_own_way_and_not_as_tabs_do() -> None:
    """Its own way reaches the joint's record, the steps and the pictures; tabs in the same place close downwards."""
    made, tabbed = product(), stand(tabs()).product()
    assert made.joints[0].ways == ((-1.0, 0.0, 0.0),)
    assert [tuple(round(v, 9) for v in way) for way in tabbed.joints[0].ways] == [(0.0, 0.0, -1.0)]
    assert [move.way for step in steps_of(made) for move in step.moves if move.into] == [(-1.0, 0.0, 0.0)]
    assert move_of(made) == pytest.approx((1.0, 0.0, 0.0), abs=1e-9)
    assert move_of(tabbed) == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)


def test_the_booklet_says_a_new_kind_in_its_own_words() -> None:
    """The steps hold its two sentences, and nothing that another kind would say."""
    pages = pdfium.PdfDocument(booklet_pdf(product(), paper_of("A4"), templates=False))
    said = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    assert "Slide wall sideways onto base." in said
    assert "Glue every tongue in its slot." in said
    assert "Push" not in said
    assert "nuts into their pockets" not in said


def test_a_step_with_joints_of_two_kinds_says_both() -> None:
    """Each kind has its own sentence, with the parts and mates that it is about.

    The rib's tab goes into the base along another way than its tongue into the wall, so the base comes last.
    """
    made = stand(Tongue(15))
    rib = made.add("rib", rectangle(28, 28), Frame.facing((0, 14, 18), show=(1, 0, 0), right=(0, 1, 0)))
    join(rib.face("<Z"), made["base"].face(">Z"), tabs(count=1))
    join(rib.face("<Y"), made["wall"].face(">Y"), Tongue(8))
    both = made.product()
    assert both.errors == ()
    pages = pdfium.PdfDocument(booklet_pdf(both, paper_of("A4"), templates=False))
    said = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    assert "Slide rib sideways onto wall." in said
    assert "Slide base sideways onto wall. Push base into rib." in said


def test_report_and_files_carry_a_new_kind(tmp_path: Path) -> None:
    """Page, manifest and panels of a new kind are written, and its panels hold its tongue and its slot."""
    write_product(product(), tmp_path / "out", file="stand.py")
    page = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert '<th scope="row">tongue from the side</th>' in page
    assert '"words":"tongue from the side"' in page
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))
    assert [joint["kind"] for joint in manifest["joints"]] == ["open_tongue"]
    areas = {item["name"]: item["area_mm2"] for key in ("panels", "plates") for item in manifest.get(key, ())}
    assert areas == pytest.approx({"base": 6000 - 15.05 * 4.1, "wall": 4060})
    for name, corners in (("base", 8), ("wall", 6)):
        drawn = ezdxf.readfile(tmp_path / "out" / "panels" / f"{name}.dxf").modelspace()
        assert [len(entity) for entity in drawn] == [corners]
    assert (tmp_path / "out" / "assembly.step").stat().st_size > 1000
    # a build in another process sends its product home, where the design's own classes are not known
    assert b"Tongue" not in pickle.dumps(product().joints)


def test_touching_faces_can_be_joined_by_a_new_kind() -> None:
    """`join_touching` asks the kind itself."""
    found = stand(Tongue(15), touching=True).product().joints
    assert all(joint.is_found for joint in found)
    asked = tuple(replace(joint, line="", is_found=False) for joint in found)
    assert asked == tuple(replace(joint, line="") for joint in product().joints)


@pytest.mark.parametrize("left_out", ["kind", "lay_out", "meet", "relief", "shares_corners", "ways_in", "words", "yields"])
def test_a_kind_that_leaves_something_unsaid_is_refused(left_out: str) -> None:
    """No kind's answer stands in for what another one does not say; the refusal tells what is missing."""
    own = {name: value for name, value in vars(Tongue).items() if not name.startswith("__") and name != left_out}
    own |= {"width": 15.0, "clearance": None, "relief": None} if left_out != "relief" else {"width": 15.0, "clearance": None}
    with pytest.raises(JointError, match=f"say its {left_out};" if left_out not in ("kind", "lay_out") else "is no joint"):
        stand(type("Half", (), own)())


def test_words_that_are_none_are_refused() -> None:
    """Plain text for words would fail only when the booklet is drawn."""
    half = type("Half", (Tongue,), {"words": "Push it in."})(15)
    with pytest.raises(JointError, match=r"words of kind 'open_tongue' are 'Push it in.'; give Words"):
        stand(half)


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("", "Push {parts} into {mates}."), "say what people call it"),
        (("tongue", "Push {parts} in."), r"name \{parts\} and \{mates\}"),
        (("tongue", "Push {parts} into {mates} of {parts}."), r"name \{parts\} and \{mates\}"),
        (("tongue", "Push {parts} into {mates"), r"name \{parts\} and \{mates\}"),
        (("tongue", None), r"name \{parts\} and \{mates\}"),
        (("tongue", "Push {parts} into {mates}.", 3), "prepare is 3"),
    ],
)
def test_words_that_would_lose_parts_are_refused(words: tuple[Any, ...], reason: str) -> None:
    """Each sentence names what goes in and what it goes into, so that no part is missing from the booklet."""
    with pytest.raises(JointError, match=reason):
        Words(*words)


def test_every_shipped_kind_says_what_a_kind_must() -> None:
    """All satisfy the protocol, and no two go by one name."""
    assert all(isinstance(joint, Joint) for joint in SHIPPED)
    assert len({joint.words.name for joint in SHIPPED}) == len(SHIPPED)


def test_a_kind_is_asked_for_each_contact_once() -> None:
    """Resolving asks a kind to meet once for each join; looking for faces that touch asks it of corners only."""
    asked: list[tuple[str, str]] = []

    @dataclass(frozen=True)
    class Counted(Tongue):
        def meet(self, first: Hold, second: Hold) -> Contact:
            asked.append((first.described, second.described))
            return super().meet(first, second)

    made = stand(Counted(15), touching=True)
    assert asked == []
    assert len(made.product().joints) == 1
    assert len(asked) == 1
