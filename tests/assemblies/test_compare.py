"""What changed between two versions: by geometry, held to exact areas and to the files."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from panelwright.assemblies.compare.differences import Comparison, compare
from panelwright.plates import Frame, Stock
from versions import BIRCH, stand, version, written_polygon


def whats(found: Comparison) -> dict[str | None, str]:
    """What became of each plate, by its new name, by the old one if it is gone."""
    return {plate.after or plate.before: plate.what for plate in found.plates}


def work(found: Comparison) -> dict[str, tuple[int, int, int]]:
    """Pieces to cut, to trim and to keep of each panel."""
    return {one.panel: (one.cut, one.trim, one.keep) for one in found.work}


class TestSame:
    def test_a_product_and_itself(self) -> None:
        """Nothing changed, nothing to cut."""
        found = compare(version(stand()), version(stand()))
        assert found.is_same
        assert found.counts == {"same": 3, "moved": 0, "changed": 0, "new": 0, "gone": 0, "renamed": 0}
        assert found.must_cut == 0
        assert found.whole.kind == "none"

    @pytest.mark.parametrize(
        ("place", "kind"),
        [
            (Frame((300.0, -20.0, 7.5)), "moved"),
            (Frame.turned("Z", 90), "turned"),
            (Frame.turned((1.0, 2.0, -0.5), 37.0).shifted((12.0, 3.0, -40.0)), "turned"),
        ],
    )
    def test_as_a_whole_moved_or_turned(self, place: Frame, kind: str) -> None:
        """It is the same product, and the motion is found; plates are called otherwise, as they stand in another assembly."""
        found = compare(version(stand()), version(stand(place=place)))
        assert found.whole.kind == kind
        assert {plate.what for plate in found.plates} == {"same"}
        assert all(plate.is_renamed for plate in found.plates)
        assert not (found.joints)
        assert not (found.must_cut)
        assert not (found.findings_new)
        assert not (found.findings_gone)
        for spot in ((0.0, 0.0, 0.0), (10.0, 20.0, 30.0)):
            assert math.dist(found.whole.point(spot), place.point(spot)) < 1e-3

    def test_as_a_whole_mirrored(self) -> None:
        """It is the same product, every piece serves turned over, and no motion without mirroring would do."""
        found = compare(version(stand()), version(stand(hand=-1)))
        assert found.whole.kind == "mirrored"
        assert found.is_same
        x, y, z = found.whole.point((10.0, 20.0, 30.0))
        assert math.dist((x, y, z), (-10.0, 20.0, 30.0)) < 1e-3

    def test_mirrored_with_one_good_face_is_cut_again(self) -> None:
        """Pieces cannot be turned over then; the shelf is its own mirror image, the other two are not."""
        veneered = replace(BIRCH, both_faces_good=False)
        found = compare(version(stand(stock=veneered)), version(stand(stock=veneered, hand=-1)))
        assert found.whole.kind == "mirrored"
        assert {plate.after: plate.why for plate in found.plates} == {"base": ("mirrored",), "wall": ("mirrored",), "shelf": ()}
        # the old base serves nothing any more, and is large enough for the new wall
        assert work(found) == {"base": (1, 0, 0), "wall": (0, 1, 0), "shelf": (0, 0, 1)}
        assert [trim.panel for one in found.work for trim in one.trims] == ["base"]


class TestAreas:
    """Held to shapely on what ezdxf reads out of the written files."""

    @pytest.mark.parametrize(
        "change",
        [
            {"base_hole": None},
            {"base_hole": (50.0, 26.0)},
            {"hole_wide": 17.0},
            {"base_hole": (-50.0, 20.0), "hole_wide": 5.0},
        ],
    )
    def test_of_a_changed_hole(self, change: dict[str, object], tmp_path: Path) -> None:
        """Added and removed areas are those of the two files laid on each other as drawn."""
        before, after = stand(), stand(**change)  # type: ignore[arg-type]  # each by its name
        found = compare(version(before), version(after))
        old, new = written_polygon(before, "base", tmp_path / "a"), written_polygon(after, "base", tmp_path / "b")
        (panel,) = found.panels
        assert panel.added_mm2 == pytest.approx(new.difference(old).area, abs=0.02)
        assert panel.removed_mm2 == pytest.approx(old.difference(new).area, abs=0.02)
        assert max(panel.added_mm2, panel.removed_mm2) > 10
        assert whats(found) == {"base": "changed", "wall": "same", "shelf": "same"}

    def test_of_a_hole_by_its_formula(self) -> None:
        """A hole of 12 mm that goes gives back π·6²; one of 17 mm takes π·(8.5² − 6²)."""
        (gone,) = compare(version(stand()), version(stand(base_hole=None))).panels
        assert (gone.added_mm2, gone.removed_mm2) == (pytest.approx(math.pi * 36, abs=0.01), 0.0)
        (wide,) = compare(version(stand()), version(stand(hole_wide=17.0))).panels
        assert wide.removed_mm2 == pytest.approx(math.pi * (8.5**2 - 36), abs=0.01)
        assert [(o.what, o.before, o.after) for o in wide.openings] == [("resized", "⌀ 12", "⌀ 17")]

    def test_of_a_base_made_wider(self, tmp_path: Path) -> None:
        """10 mm more on either side, wherever the file's own corner lies: 2 · 10 · 80 mm² are added and nothing goes."""
        before, after = stand(), stand(width=180.0)
        (panel,) = compare(version(before), version(after)).panels
        assert (panel.added_mm2, panel.removed_mm2) == (pytest.approx(1600.0), pytest.approx(0.0, abs=1e-6))
        old, new = written_polygon(before, "base", tmp_path / "a"), written_polygon(after, "base", tmp_path / "b")
        assert new.area - old.area == pytest.approx(panel.added_mm2 - panel.removed_mm2, abs=0.01)
        assert panel.openings == ()

    def test_openings_told_one_by_one(self) -> None:
        """A hole that moved, by where it was and is on the new panel."""
        (panel,) = compare(version(stand()), version(stand(base_hole=(50.0, 26.0)))).panels
        assert [(o.what, o.after, o.place_before_mm, o.place_mm) for o in panel.openings] == [
            ("moved", "⌀ 12", (130.0, 60.0), (130.0, 66.0))
        ]


class TestPlates:
    def test_one_that_moved(self) -> None:
        """The same panel, 15 mm higher; nothing to cut."""
        found = compare(version(stand()), version(stand(shelf_at=75.0)))
        assert whats(found) == {"base": "same", "wall": "same", "shelf": "moved"}
        assert next(plate.moved_mm for plate in found.plates if plate.what == "moved") == pytest.approx(15.0)
        assert not found.must_cut
        assert not found.is_same

    def test_one_that_is_called_otherwise(self) -> None:
        """Its joint is the same joint, and no finding is new for it."""
        found = compare(version(stand()), version(stand(names={"wall": "back"})))
        assert [(p.before, p.after, p.what) for p in found.plates if p.is_renamed] == [("wall", "back", "same")]
        assert not (found.joints)
        assert not (found.must_cut)
        assert not (found.findings_new)

    def test_two_that_changed_their_names(self) -> None:
        """Where a plate stands and what shape it has tells which it is."""
        found = compare(version(stand()), version(stand(names={"wall": "shelf", "shelf": "wall"})))
        assert {(p.before, p.after, p.what) for p in found.plates if p.is_renamed} == {
            ("wall", "shelf", "same"),
            ("shelf", "wall", "same"),
        }

    def test_one_that_is_new_and_one_that_is_gone(self) -> None:
        """With the piece that is left over."""
        bare, whole = version(stand(with_shelf=False)), version(stand())
        new, gone = compare(bare, whole), compare(whole, bare)
        assert whats(new)["shelf"] == "new"
        assert work(new) == {"base": (0, 0, 1), "wall": (0, 0, 1), "shelf": (1, 0, 0)}
        assert whats(gone)["shelf"] == "gone"
        assert (gone.must_cut, gone.left) == (0, (("shelf", 1),))

    def test_changed_and_called_otherwise(self) -> None:
        """Mostly the same material in the same place is the same plate, changed."""
        found = compare(version(stand()), version(stand(names={"base": "floor"}, hole_wide=20.0)))
        assert ("base", "floor", "changed") in [(p.before, p.after, p.what) for p in found.plates]


class TestWork:
    def test_kerf_only(self) -> None:
        """The finished pieces are those that are there; only the files are others."""
        found = compare(version(stand()), version(stand(stock=replace(BIRCH, kerf=0.2))))
        assert {plate.why for plate in found.plates} == {("kerf",)}
        assert not found.must_cut
        assert {one.old_kerf_mm for one in found.work} == {0.0}

    def test_another_sheet(self) -> None:
        """The same shapes of another material are cut again; of the same one under another name they are kept."""
        named = replace(BIRCH, name="birch from the attic")
        beech = Stock("beech plywood", 4.0, measured=4.0, density=720)
        again = compare(version(stand()), version(stand(stock=beech)))
        assert {plate.why for plate in again.plates} == {("stock",)}
        assert again.must_cut == 3
        assert compare(version(stand()), version(stand(stock=named))).must_cut == 0

    def test_what_can_be_trimmed(self) -> None:
        """A base made narrower, or with a wider hole, is cut out of the old one; made wider it is not."""
        narrow = compare(version(stand()), version(stand(width=150.0)))
        assert work(narrow)["base"] == (0, 1, 0)
        assert narrow.work[0].trims[0].removed_mm2 == pytest.approx(10.0 * 80)
        assert work(compare(version(stand()), version(stand(hole_wide=17.0))))["base"] == (0, 1, 0)
        assert work(compare(version(stand()), version(stand(width=170.0))))["base"] == (1, 0, 0)

    def test_no_hair_is_trimmed(self) -> None:
        """Slots that are 0.05 mm wider are cut anew: nobody lays a piece back on the machine as exactly."""
        found = compare(version(stand(clearance=0.1)), version(stand(clearance=0.15)))
        (panel,) = [panel for panel in found.panels if panel.overlay.after.name == "base"]
        assert panel.removed_mm2 == pytest.approx(2 * (15.15 * 4.15 - 15.1 * 4.1), abs=0.01)
        assert work(found)["base"] == (1, 0, 0)
        assert [(j.what, j.kind, j.numbers) for j in found.joints] == [("changed", "tabs", (("clearance_mm", 0.1, 0.15),))]

    def test_every_piece_serves_once(self) -> None:
        """Two shelves where there was one: one is kept, one is cut."""
        one, two = stand(), stand()
        shelf = next(panel for panel in two.panels if panel.name == "shelf")
        twice = tuple(replace(p, plates=("shelf", "shelf 2")) if p is shelf else p for p in two.panels)
        found = compare(version(one), version(replace(two, panels=twice)))
        assert work(found)["shelf"] == (1, 0, 1)
        back = compare(version(replace(two, panels=twice)), version(one))
        assert (work(back)["shelf"], back.left) == ((0, 0, 1), (("shelf", 1),))


def test_findings_that_came_and_went() -> None:
    """By code and plates, whatever the numbers are."""
    calm, floating = version(stand()), version(stand(shelf_at=-50.0))
    found = compare(calm, floating)
    assert {one["code"] for one in found.findings_new} != set() or {one["code"] for one in found.findings_gone} != set()
    assert compare(floating, calm).findings_gone == found.findings_new
    assert compare(floating, calm).findings_new == found.findings_gone
