"""The report without a browser: a sound page that asks nothing of a network, meshes that are the solids, ways apart."""

from __future__ import annotations

import base64
import hashlib
import json
import math
import os
import re
import subprocess
import sys
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import hinges
import numpy as np
import pytest
from panelwright.assemblies import Assembly, divider_grid, tray
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Hardware, Product
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.pictures.apart import all_apart, stay_words, taken_apart
from panelwright.assemblies.pictures.boxes import Block
from panelwright.assemblies.report import report_html
from panelwright.assemblies.report.scene import scene_of
from panelwright.joints import cross_lap, fingers, join, join_touching, living_hinge, pass_through, t_nut, tabs
from panelwright.plates import Frame, Stock, polygon, rectangle, rounded_rectangle
from panelwright.plates._kernel.drawing.facets import MICROMETRES, facets_of
from panelwright.plates._kernel.drawing.hidden_line import world_bounds
from panelwright.plates._kernel.solids.booleans import common_of, gap_of
from panelwright.plates._kernel.solids.fastener_solids import volume_of
from panelwright.plates.geometry.frame import dot, scaled
from reports import BASE, LID, NAME, WALL, jar_shelf
from scenes import build, corner, crossing, passing, tee

PLY = Stock("birch plywood", 4.0, kerf=0.2, clearance=0.1)
VOID = {"meta", "input", "br", "img", "link", "hr"}


class Page(HTMLParser):
    """Elements as they nest; anything that does not close where it should is an error."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.seen: Counter[str] = Counter()
        self.texts: list[str] = []
        self.inside: dict[str, list[str]] = {"script": [], "style": []}
        self.attributes: list[tuple[str, str, str]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)
        if tag in self.inside:
            self.inside[tag].append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        where = self.open[-1] if self.open else ""
        if where in self.inside:
            self.inside[where][-1] += data
        else:
            self.texts.append(data)


def page_of(product: Product) -> str:
    manifest = manifest_of(product, {}, file="shelf<b>.py", parameters={"jars": 4, "finish": "<wax>"})
    return report_html(product, manifest).decode("utf-8")


@pytest.fixture(scope="module")
def text() -> str:
    return page_of(jar_shelf())


class TestPage:
    def test_it_is_one_well_nested_document(self, text: str) -> None:
        """Every element closes, ids are unique, links within the page lead somewhere, and every label has its field."""
        page = Page(text)
        ids = Counter(value for _, name, value in page.attributes if name == "id")
        assert set(ids.values()) == {1}
        targets = [value for _, name, value in page.attributes if name == "href"]
        targets += ["#" + value for _, name, value in page.attributes if name in ("aria-labelledby", "aria-describedby")]
        assert len(targets) > 8
        assert {target[1:] for target in targets} <= set(ids)
        assert page.seen["html"] == page.seen["title"] == page.seen["h1"] == page.seen["canvas"] == 1
        assert page.seen["svg"] >= 3

    def test_policy_allows_these_scripts_and_nothing_else(self, text: str) -> None:
        """The hashes in the Content-Security-Policy are those of the inline scripts and the style, by hashlib."""
        page = Page(text)
        (policy,) = [value for tag, name, value in page.attributes if tag == "meta" and "default-src" in value]
        rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
        data, *scripts = page.inside["script"]
        assert len(scripts) == 2

        def hashes(blocks: list[str]) -> set[str]:
            return {f"'sha256-{base64.b64encode(hashlib.sha256(b.encode()).digest()).decode()}'" for b in blocks}

        assert set(rules["script-src"].split()) == hashes(scripts)
        assert set(rules["style-src"].split()) == hashes(page.inside["style"])
        assert rules["default-src"] == "'none'"
        assert rules["img-src"] == "data:"
        assert json.loads(data)["name"] == NAME
        # what such a policy forbids is not used: no handlers, no inline styles
        assert not [name for _, name, _ in page.attributes if name.startswith("on") or name == "style"]

    def test_nothing_is_asked_of_a_network(self, text: str) -> None:
        """No address but the XHTML namespace's name, no source attribute, no import, no fetch."""
        assert set(re.findall(r"(?:https?|wss?|ftp)://[^\s\"'`)]*", text)) <= {"http://www.w3.org/1999/xhtml"}
        page = Page(text)
        assert not [name for _, name, _ in page.attributes if name in ("src", "srcset", "action", "data", "poster")]
        assert not re.search(r"url\(|@import|XMLHttpRequest|WebSocket|EventSource|sendBeacon", page.inside["style"][0])
        assert not re.search(r"\bfetch\(|XMLHttpRequest|WebSocket|sendBeacon|\beval\(|innerHTML", page.inside["script"][2])

    def test_names_stay_text(self, text: str) -> None:
        """Names with tags, quotes, comments and lone surrogates are read back as they are, and make no element."""
        page = Page(text)
        words = "\n".join(page.texts)
        shown = LID.replace("\ud800", "\N{REPLACEMENT CHARACTER}")
        for name in (NAME, BASE, WALL, shown, "web of 2 mm <script>", "birch plywood <i>4</i>", "<wax>", "shelf<b>.py"):
            assert name in words
        assert page.seen["script"] == 3
        assert page.seen["img"] == page.seen["i"] == 0
        labels = [value for _, name, value in page.attributes if name == "aria-label"]
        assert any(WALL in label for label in labels)
        data = json.loads(page.inside["script"][0])
        assert [part["name"] for part in data["parts"]] == [BASE, WALL, LID]
        assert not set(page.inside["script"][0]) & set("<>&\u2028")

    def test_sections_without_data_are_left_out(self) -> None:
        """A bare plate has no hardware, joints or parameters, and no headings for them."""
        shelf = jar_shelf()
        bare = Product("plate", shelf.parts[:1], shelf.panels[:1], (), (), ())
        ids = {value for _, name, value in Page(report_html(bare, manifest_of(bare, {})).decode()).attributes if name == "id"}
        full = {value for _, name, value in Page(page_of(shelf)).attributes if name == "id"}
        assert full - ids == {
            *("hardware", "joints", "parameters", "hardware-head", "joints-head", "parameters-head"),
            *("panel-1", "panel-2"),
        }

    def test_two_processes_give_the_same_bytes(self) -> None:
        """Another interpreter, other hash seeds: the same page."""
        code = (
            "import sys, hashlib; sys.path[:0] = sys.argv[1:]; from reports import jar_shelf\n"
            "from panelwright.assemblies.report import report_html\n"
            "from panelwright.assemblies.output.manifest import manifest_of\n"
            "p = jar_shelf(); print(hashlib.sha256(report_html(p, manifest_of(p, {}))).hexdigest())"
        )
        support = str(Path(__file__).parents[1] / "support")
        digests = {
            subprocess.run(
                [sys.executable, "-c", code, support],
                env={**os.environ, "PYTHONHASHSEED": seed},
                capture_output=True,
                text=True,
                check=True,
            ).stdout
            for seed in ("1", "77")
        }
        assert len(digests) == 1
        assert len(digests.pop().strip()) == 64


def bent_stand() -> Assembly:
    return hinges.stand(living_hinge())


def screwed_box() -> Assembly:
    return build(tee(PLY.t, PLY.t), t_nut("M3", count=2), (PLY, PLY))


def volume_by_divergence(points: Any, triangles: Any) -> float:
    """A closed surface's volume: the sum of signed tetrahedra (Gauss)."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return float((a * np.cross(b, c)).sum() / 6)


class TestMesh:
    @pytest.mark.parametrize("make", [bent_stand, screwed_box, lambda: build(tee(4, 4), tabs(count=2), (PLY, PLY))])
    def test_meshes_are_closed_and_hold_the_solids_volume(self, make: Any) -> None:
        """Each edge of a triangle is met once the other way round; volumes agree within what chords cut off."""
        product = make().product()
        fine = 0.03
        assert product.shown
        for part in product.shown:
            facets = facets_of(part.solid, deflection=fine)
            flat = [corner for face in facets.faces for corner in face]
            triangles = np.array(flat).reshape(-1, 3)
            points = np.array(facets.points, float) / MICROMETRES
            sides = Counter((int(t[k]), int(t[(k + 1) % 3])) for t in triangles for k in range(3))
            assert set(sides.values()) == {1}
            assert all((b, a) in sides for a, b in sides)
            first, *others = (points[triangles[:, k]] for k in range(3))
            area = float(np.linalg.norm(np.cross(*(other - first for other in others)), axis=1).sum() / 2)
            off = abs(volume_by_divergence(points, triangles) - volume_of(part.solid))
            curved = area if not isinstance(part, Part) or part.unrolled else 0.0
            assert off <= curved * fine + area * 1.0 / MICROMETRES
            assert facets.edges
            assert all(len(edge) > 1 for edge in facets.edges)

    def test_only_creases_are_edges(self) -> None:
        """A bored plate has the 12 edges of a box and the 2 circles of its hole, and no seam along the hole."""
        part = jar_shelf().parts[0]
        facets = facets_of(part.solid, deflection=0.03)
        assert sorted(len(edge) > 2 for edge in facets.edges) == [False] * 12 + [True] * 2

    def test_plates_alike_share_a_mesh(self) -> None:
        """What the scene holds grows with distinct solids, not with plates."""
        product = build(tee(4, 4), tabs(count=2), (PLY, PLY), copies=3).product()
        scene = scene_of(product)
        assert len(scene["parts"]) == 9
        assert len(scene["meshes"]) == len({id(part.solid) for part in product.parts}) < 9

    def test_placed_meshes_fill_the_places_of_the_solids(self) -> None:
        """Corners moved as the page moves them have the box that the kernel gives the placed solid."""
        product = bent_stand().product()
        scene = scene_of(product)
        for entry, part in zip(scene["parts"], product.shown, strict=True):
            points = np.array(scene["meshes"][entry["mesh"]]["p"], float).reshape(-1, 3) / MICROMETRES
            placing = np.array(entry["at"]).reshape(3, 4)
            placed = points @ placing[:, :3].T + placing[:, 3]
            low, high = world_bounds(part.solid, part.frame)
            assert placed.min(axis=0) == pytest.approx(low, abs=0.035)
            assert placed.max(axis=0) == pytest.approx(high, abs=0.035)


def blocks_of(product: Product) -> list[Block]:
    return [Block(part.frame, *world_bounds(part.solid, Frame())) for part in product.parts]


SCENES = [
    (tee, tabs(count=2)),
    (tee, fingers(count=3)),
    (corner, fingers(count=5)),
    (tee, t_nut("M3", count=1)),
    (crossing, cross_lap()),
    (crossing, cross_lap(opens_up="second")),
    (passing, pass_through()),
]


class TestApart:
    @pytest.mark.parametrize(("scene", "joint"), SCENES)
    @pytest.mark.parametrize("turn", [Frame(), Frame.turned((1, 2, 3), 37)])
    def test_each_way_is_free(self, scene: Any, joint: Any, turn: Frame) -> None:
        """Drawn out against any way in, two plates share no material, by the kernel's booleans; pushed further they do."""
        product = build(scene(4.0, 4.0), joint, (PLY, PLY), at=turn).product()
        parts = {part.name: part for part in product.parts}
        assert product.joints
        blocked = 0
        for record in product.joints:
            first, second = (parts[name] for name in record.plates)
            assert record.ways
            for way in record.ways:
                assert math.isclose(dot(way, way), 1.0, abs_tol=1e-9)
                for far in (0.5, 2.0, 3.9, 9.0, 30.0):
                    moved = (first.solid, first.frame.shifted(scaled(way, -far)))
                    assert common_of(moved, (second.solid, second.frame))[0] < 1e-3
                further = (first.solid, first.frame.shifted(scaled(way, 2.0)))
                blocked += common_of(further, (second.solid, second.frame))[0] > 1
        assert blocked or joint == pass_through()

    @pytest.mark.parametrize(("scene", "joint"), SCENES)
    @pytest.mark.parametrize("turn", [Frame(), Frame.turned((1, 2, 3), 37)])
    def test_taken_apart_no_two_parts_meet(self, scene: Any, joint: Any, turn: Frame) -> None:
        """At the end of the slider all parts are clear of each other by the kernel's measure, and one has stayed."""
        product = build(scene(4.0, 4.0), joint, (PLY, PLY), at=turn).product()
        goes = all_apart(product.parts, blocks_of(product), product.plan)
        assert sum(away.move == (0.0, 0.0, 0.0) for away in goes) == 1
        moved = [(part.solid, part.frame.shifted(away.move)) for part, away in zip(product.parts, goes, strict=True)]
        for i, a in enumerate(moved):
            for b in moved[:i]:
                assert gap_of(a, b) > 5

    def test_a_hinge_is_no_way_apart(self) -> None:
        """Plates of one panel do not come apart, and the report shows them as one part."""
        product = bent_stand().product()
        assert [joint.ways for joint in product.joints] == [()]
        (entry,) = scene_of(product)["parts"]
        assert entry["away"] == []
        assert entry["note"].endswith("cut flat, then bent")

    def test_screws_leave_with_their_plates_and_then_out_of_them(self) -> None:
        """A nut's move is its carrier's and then further along its own way out."""
        product = screwed_box().product()
        scene = scene_of(product)
        moves = {entry["name"]: np.sum([leg[:3] for leg in entry["away"]] or [[0, 0, 0]], axis=0) for entry in scene["parts"]}
        assert product.bought
        for bought in product.bought:
            further = moves[bought.name] - moves[bought.carrier]
            assert np.dot(further, bought.way_out) == pytest.approx(np.linalg.norm(further), abs=1e-2)
            assert np.linalg.norm(further) > 1

    def test_many_plates_are_sorted_out_quickly_and_the_same_each_time(self) -> None:
        """A hundred walls on one board: all but one go, and twice the same way."""
        board = Assembly("jar rack", stock=PLY)
        base = board.add("base", rectangle(600, 600))
        for i in range(100):
            spot = (6.0 * (i % 10) * 9 - 243, 54.0 * (i // 10) - 243, PLY.t + 15)
            wall = board.add(f"wall {i}", rectangle(40, 30), Frame.facing(spot, show=(0, -1, 0), right=(1, 0, 0)))
            join(wall.face("<Z"), base.face(">Z"), tabs(count=1, width=8))
        product = board.product()
        goes = all_apart(product.parts, blocks_of(product), product.plan)
        assert goes == all_apart(product.parts, blocks_of(product), product.plan)
        assert goes[0].move == (0.0, 0.0, 0.0)
        assert all(away.move[2] > 0 for away in goes[1:])
        assert len(report_html(product, manifest_of(product, {}))) < 5_000_000


def divided_pot() -> Assembly:
    """A wall wrapped round a base, and in it two dividers that cross."""
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", rounded_rectangle(240, 190, 62))
    wall = pot.add_wrap("wall", 70, rounded_rectangle(220, 170, 52), Frame((0, 0, PLY.t)))
    along = pot.add("along", rectangle(210, 40), Frame.facing((0, 2, 24), show=(0, -1, 0), right=(1, 0, 0)))
    across = pot.add("across", rectangle(160, 40), Frame.facing((-2, 0, 24), show=(1, 0, 0), right=(0, 1, 0)))
    join(wall.faces("<Z"), base.face(">Z"), tabs(count=1, width=6))
    join(along.face("<Y"), across.face("<X"), cross_lap())
    for divider in (along, across):
        join(divider.face("<Z"), base.face(">Z"), tabs(count=2, width=12))
    return pot


def divided_tray() -> Assembly:
    """A tray whose dividers are cross-lapped with each other and tabbed into its walls."""
    made = tray("tile tray", stock=PLY, width=150, depth=110, height=50, corner=fingers(), floor=tabs())
    cells = divider_grid("cells", stock=PLY, width=142, depth=102, height=30, columns=3, rows=2)
    made.add("cells", cells, Frame((0, 0, 2 * PLY.t)))
    join_touching(made, tabs(count=1, width=12))
    return made


def hooked_shelf() -> Assembly:
    """A bracket whose hook goes through a slot of a back and drops behind it."""
    made = Assembly("jar shelf", stock=PLY)
    back = rectangle(100, 120).cut(rectangle(4.4, 34).at(0, 17))
    made.add("back", back, Frame.facing((0, 4, 0), show=(0, -1, 0), right=(1, 0, 0)))
    neck, tongue = [(0, 0.1), (4.1, 0.1), (4.1, -12)], [(10, -12), (10, 8), (0, 8), (0, 10)]
    bracket = polygon([(-60, -30), (0, -30), *neck, *tongue, (-60, 10)])
    made.add("bracket", bracket, Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)), loose=True)
    return made


def locked_laps() -> Assembly:
    """Three upright plates, each over one of the others and under the next."""
    made = Assembly("card stand", stock=PLY)
    placed = {}
    for k, name in enumerate("ABC"):
        turn = math.radians(120 * k)
        c, s = math.cos(turn), math.sin(turn)
        show = (s, -c, 0.0)
        origin = (20 * s - show[0] * PLY.t / 2, -20 * c - show[1] * PLY.t / 2, 20)
        placed[name] = made.add(name, rectangle(140, 40), Frame.facing(origin, show=show, right=(c, s, 0.0)))
    for a, b in ("AB", "BC", "CA"):
        join(placed[a], placed[b], cross_lap(opens_up="second"))
    return made


class TestTakenApart:
    @pytest.mark.parametrize("make", [divided_pot, divided_tray])
    @pytest.mark.parametrize("share", [0.4, 0.7, 1.0, 1.5])
    def test_dividers_come_out_along_their_slots(self, make: Any, share: float) -> None:
        """Two that cross move along the slots only against each other, and nothing goes through anything, by the kernel's
        booleans."""
        product = make().product()
        assert product.errors == ()
        moved = {part.name: part for part in taken_apart(product.shown, product.plan, share)}
        first = {part.name: part for part in product.shown}
        laps = [joint for joint in product.joints if joint.kind == "cross_lap"]
        assert laps
        for joint in laps:
            a, b = (np.subtract(moved[name].frame.origin, first[name].frame.origin) for name in joint.plates)
            assert share < 1 or np.linalg.norm(b - a) > 5  # before the end others may have their turn
            assert np.cross(b - a, joint.ways[0]) == pytest.approx(0, abs=1e-9)
        parts = list(moved.values())
        for i, one in enumerate(parts):
            for other in parts[:i]:
                assert common_of((one.solid, one.frame), (other.solid, other.frame))[0] < 1e-3

    def test_two_moves_are_shown_one_after_the_other(self) -> None:
        """What drops in and then slides goes back first, exactly as far as the plan says, and then up and clear."""
        product = hooked_shelf().product()
        (step,) = (step for step in product.plan.steps if len(step.moves) == 2)
        (bracket,) = step.group
        goes = dict(
            zip((part.name for part in product.parts), all_apart(product.parts, blocks_of(product), product.plan), strict=True)
        )
        first, second = goes[bracket].legs
        drop, slide = step.moves
        assert first.move == pytest.approx(scaled(slide.way, -slide.far_mm), abs=1e-9)
        assert dot(second.move, drop.way) < -drop.far_mm
        assert first.turn[1] == second.turn[0]
        for share in np.linspace(0.0, 1.0, 21):
            moved = taken_apart(product.parts, product.plan, float(share))
            for i, one in enumerate(moved):
                for other in moved[:i]:
                    assert common_of((one.solid, one.frame), (other.solid, other.frame))[0] < 1e-3

    def test_what_is_locked_stays_and_is_said(self) -> None:
        """Three laps in a cycle have no way: nothing of them moves, the page's data says so, and a lid beside them goes."""
        product = locked_laps().product()
        assert "LOCKED" in {finding.code for finding in product.findings}
        scene = scene_of(product)
        assert scene["stays"].startswith("'A', 'B' and 'C' stay together: some parts lock each other")
        assert {entry["name"]: bool(entry["away"]) for entry in scene["parts"] if entry["name"] in "ABC"} == dict.fromkeys(
            "ABC", False
        )
        assert stay_words(divided_tray().product().plan) == scene_of(divided_tray().product())["stays"] == ""

    def test_together_nothing_moves(self) -> None:
        """At 0 the very same parts come back."""
        product = divided_tray().product()
        assert taken_apart(product.shown, product.plan, 0) == product.shown


def screw_in_the_way() -> Assembly:
    """A box held by screws, and a plate that one of them goes through without a hole."""
    made = screwed_box()
    (bought, *_) = made.product().bought
    x, y, z = bought.frame.origin
    made.add("in the way", rectangle(6, 6), Frame((x, y, z)), stock=PLY)
    return made


def plate_in_a_bend() -> Assembly:
    """A bent wall, and a plate that stands in its strip."""
    made = bent_stand()
    (part,) = made.product().parts
    low, high = world_bounds(part.solid, part.frame)
    wide, deep = (2 * (high[k] - low[k]) for k in range(2))
    made.add("in the way", rectangle(wide, deep), Frame(((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, -20.0)), stock=PLY)
    return made


def two_in_one() -> Assembly:
    """Two plates askew through each other."""
    made = Assembly("card drawer", stock=PLY)
    made.add("front", rectangle(80, 60))
    made.add("askew", rectangle(50, 50), Frame.turned((1, 2, 0.5), 40).shifted((5, 3, 0)))
    return made


@pytest.mark.parametrize("make", [two_in_one, screw_in_the_way, plate_in_a_bend])
def test_what_an_overlap_shares_is_in_the_scene(make: Any) -> None:
    """A closed mesh about the finding's place that holds the volume which the proof measured its own way."""
    product = make().product()
    overlaps = {i: finding for i, finding in enumerate(product.findings) if finding.code == "OVERLAP"}
    shared = scene_of(product)["shared"]
    assert overlaps
    assert {entry["finding"] for entry in shared} == set(overlaps)
    for entry in shared:
        points = np.array(entry["mesh"]["p"], float).reshape(-1, 3) / MICROMETRES
        triangles = np.array([corner for face in entry["mesh"]["b"] for corner in face]).reshape(-1, 3)
        finding = overlaps[entry["finding"]]
        assert (points.min(axis=0) <= finding.place).all()
        assert (finding.place <= points.max(axis=0)).all()
        held = volume_by_divergence(points, triangles)
        if make is plate_in_a_bend:  # the proof takes a strip as it is before its slits are cut
            assert 0.5 * finding.numbers["volume_mm3"] < held < 1.02 * finding.numbers["volume_mm3"]
        else:
            assert held == pytest.approx(finding.numbers["volume_mm3"], rel=0.02)


def test_gaps_tell_the_clearance_measured_and_where() -> None:
    """Each gap's place lies in an opening of the joint's own plates, and its clearance is the joint's."""
    product = build(tee(4.0, 4.0), tabs(count=2), (PLY, PLY)).product()
    gaps = [gap for joint in product.joints for gap in joint.gaps]
    assert len(gaps) >= 8
    for gap in gaps:
        assert gap.clearance_mm == pytest.approx(0.1, abs=1e-6)
        assert dot(gap.way, gap.way) == pytest.approx(1.0)
    listed = [entry for joint in scene_of(product)["joints"] for entry in joint["gaps"]]
    assert [entry[-1] for entry in listed] == [0.1] * len(gaps)


def test_bought_parts_are_weighed_together() -> None:
    """The list of parts to buy tells the mass of all: twelve screws of 1.5 g are 18 g."""
    screws = (Hardware("ISO 4762 M3 × 16", 12, 0.0015), Hardware("ISO 4032 M3", 12, None))
    product = Product("tray", (), (), (), screws, ())
    page = report_html(product, manifest_of(product, {})).decode("utf-8")
    (row,) = re.findall(r"<tr>(?:(?!</tr>).)*ISO 4762 M3(?:(?!</tr>).)*</tr>", page, re.DOTALL)
    cells = [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.DOTALL)]
    assert cells[1:3] == ["12", "18"]
