"""The report as it is read: what a finding shows, what stands first, one scale, room for fingers, nothing for axe to find.

axe-core comes with axe-playwright-python; it holds pages against the rules of WCAG 2.2 that a program can judge.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from axes import faults
from browsers import chromium
from panelwright.assemblies import Assembly, Batch, SheetRules, cost_of, lay_sheets
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.report import report_html
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.joints import join, t_nut, tabs
from panelwright.plates import Frame, Stock, rectangle, standing
from PIL import Image
from reports import jar_shelf

PLY = Stock("birch plywood", 4, kerf=0.2, clearance=0.1, sheet=(520, 240))
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESK: dict[str, Any] = {"viewport": {"width": 1200, "height": 860}}


def kiln_box(*, inside: bool = True) -> Product:
    """A base with a wall that screws hold; with `inside` a small plate 1 mm into the base, far from its middle."""
    box = Assembly("kiln box", stock=PLY)
    base = box.add("base", rectangle(400, 120))
    wall = box.add("wall", rectangle(400, 60), standing(base.face(">Z"), facing="-Y", inset=30))
    join(wall.face("<Z"), base.face(">Z"), t_nut("M3", count=2, tabs=tabs(count=1, width=12)))
    box.add("sample", rectangle(30, 20), Frame((170, 40, 3.0 if inside else 4.0)), loose=not inside)
    return box.product()


def laid_sheets(product: Product, *, least_keep: tuple[float, float] = (40, 20)) -> LaidSheets:
    """Its panels on sheets, with everything left over of that size kept."""
    batches = [Batch(product)]
    plan = lay_sheets(batches, None, SheetRules(effort=0, least_offcut=least_keep))
    return LaidSheets(plan, cost_of(plan, batches, None))


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


Show = Callable[..., Any]


@pytest.fixture
def show(browser: Any, tmp_path: Path) -> Iterator[Show]:
    """Opens the report of a product; afterwards no error was logged."""
    errors: list[str] = []
    contexts: list[Any] = []

    def open_page(product: Product, sheets: LaidSheets | None = None, **options: Any) -> Any:
        path = tmp_path / "report.html"
        path.write_bytes(report_html(product, manifest_of(product, {}), sheets=sheets))
        context = browser.new_context(reduced_motion="reduce", **(options or DESK))
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(path.as_uri())
        page.wait_for_selector("html[data-ready=yes]", timeout=30_000)
        return page

    yield open_page
    assert errors == []
    for context in contexts:
        context.close()


NOW = "({ ...Report.look.now, target: Report.look.now.target.toArray() })"

REACH = """(which) => { const { low, high } = Report.stage.bounds(which), ends = [low, high];
    return [0, 1, 2, 3, 4, 5, 6, 7].map((k) => new THREE.Vector3(ends[k & 1].x, ends[(k >> 1) & 1].y, ends[k >> 2].z))
      .map((corner) => corner.project(Report.stage.camera).toArray().slice(0, 2)); }"""


class TestFinding:
    def test_fly_to_frames_the_plates_whatever_came_before(self, show: Show) -> None:
        """From near, from far, and after any other finding: the same view, and every named plate wholly in it."""
        product = jar_shelf()
        page = show(product)
        seen: dict[int, list[Any]] = {0: [], 1: [], 2: []}
        for number in (0, 1, 2, 1, 0, 2, 0):
            page.locator(f"[data-finding='{number}']").click()
            seen[number].append(page.evaluate(NOW))
            parts = page.evaluate(f"Report.data.findings[{number}].parts")
            assert parts
            assert np.abs(page.evaluate(REACH, parts)).max() <= 1.0
            page.locator("#canvas").focus()
            page.keyboard.press("+" if number else "-")
            page.keyboard.press("+" if number else "-")
        for standpoints in seen.values():
            assert len(standpoints) > 1
            for standpoint in standpoints[1:]:
                assert standpoint["distance"] == pytest.approx(standpoints[0]["distance"])
                assert standpoint["target"] == pytest.approx(standpoints[0]["target"])

    def test_an_overlap_shows_what_is_shared(self, show: Show) -> None:
        """In vermillion, through whatever stands before it; not with another finding or plate, nor with findings put off."""
        product = kiln_box()
        (number,) = (i for i, finding in enumerate(product.findings) if finding.code == "OVERLAP")
        page = show(product)
        shown = "Report.stage.shared.map(({ body }) => body.visible)"
        assert page.evaluate(shown) == [True]
        page.locator(f"[data-finding='{number}']").click()
        assert page.evaluate(shown) == [True]
        page.wait_for_timeout(400)
        png = page.evaluate("document.getElementById('canvas').toDataURL('image/png').split(',')[1]")
        picture = np.asarray(Image.open(io.BytesIO(base64.b64decode(png))).convert("RGB"), dtype=int)
        red, green, blue = (picture[..., k] for k in range(3))
        assert ((red > 170) & (green < 110) & (blue < 40)).mean() > 0.0002
        page.get_by_role("button", name="wall", exact=True).click()
        assert page.evaluate(shown) == [False]
        page.keyboard.press("Escape")
        page.evaluate("Report.select(null)")
        assert page.evaluate(shown) == [True]
        page.click("#pinned")
        assert page.evaluate(shown) == [False]

    @pytest.mark.parametrize("options", [DESK, PHONE])
    def test_findings_come_first_when_there_are_errors(self, show: Show, options: Any) -> None:
        """Before the facts and the list, in the page's own order; without errors they come last.  The head leads to them."""
        cards = "[...document.querySelectorAll('aside .card')].map(({ id }) => id)"
        page = show(kiln_box(), **options)
        assert page.evaluate(cards)[0] == "found-card"
        page.locator(".verdict").click()
        assert page.locator("#found-card").bounding_box()["y"] < options["viewport"]["height"] / 2
        assert page.evaluate("location.hash") == "#found-card"
        assert show(kiln_box(inside=False), **options).evaluate(cards)[-1] == "found-card"

    def test_errors_are_printed_before_the_picture(self, show: Show) -> None:
        """On paper too."""
        page = show(kiln_box())
        page.emulate_media(media="print")
        assert page.locator("#found").bounding_box()["y"] < page.locator(".stage").bounding_box()["y"]


class TestPhone:
    def test_a_tap_brings_the_facts_into_view(self, show: Show) -> None:
        """On a plate in the picture, on one in the list, on a finding: the facts and most of the picture are on the screen."""
        page = show(kiln_box(), **PHONE)
        assert not page.locator("#about").is_visible()

        def holds(words: str) -> None:
            page.wait_for_timeout(100)
            facts, canvas = page.locator("#about").bounding_box(), page.locator("#canvas").bounding_box()
            assert facts["y"] >= 0
            assert facts["y"] + facts["height"] <= 844 + 0.5
            assert canvas["y"] > -0.5 * canvas["height"]
            assert words in page.locator("#about").inner_text()

        box = page.locator("#canvas").bounding_box()
        middle = page.evaluate("Report.stage.onCanvas(Report.stage.middle(1))")
        page.touchscreen.tap(box["x"] + middle[0], box["y"] + middle[1])
        holds("t nut with base")
        page.locator("#list .name", has_text="sample").tap()
        holds("30.00 × 20.00")
        page.locator("[data-finding='0']").tap()
        holds("OVERLAP")

    @pytest.mark.parametrize("options", [DESK, PHONE])
    def test_targets_are_24_px_at_least(self, show: Show, options: Any) -> None:
        """WCAG 2.2, success criterion 2.5.8, for everything that can be pressed."""
        page = show(kiln_box(), sheets=laid_sheets(kiln_box(inside=False)), **options)
        page.locator("#list .name").first.click()
        small = page.evaluate(
            """() => { const all = [...document.querySelectorAll("button, select, input, a, summary")]
            .filter((one) => one.getClientRects().length && !one.classList.contains("skip"));
            return [all.length, all.map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
            .filter(([_, box]) => box.width < 24 || box.height < 24).map(([words]) => words)]; }"""
        )
        assert small[0] > 30
        assert small[1] == []


class TestDrawings:
    @pytest.mark.parametrize("options", [DESK, PHONE])
    def test_panels_are_drawn_to_one_scale(self, show: Show, options: Any) -> None:
        """As many pixels a mm in every figure, and none wider or much higher than its figure; words lie within the drawing."""
        page = show(kiln_box(), **options)
        drawn = page.evaluate(
            """() => [...document.querySelectorAll(".panels .drawing")].map((button) => {
            const svg = button.querySelector("svg"), box = svg.getBoundingClientRect(), own = button.getBoundingClientRect();
            const words = [...svg.querySelectorAll(".dim:not(.own) text")].map((one) => one.getBoundingClientRect());
            const isWithin = (one) =>
              one.left > box.left - 1 && one.right < box.right + 1 && one.top > box.top - 1 && one.bottom < box.bottom + 1;
            return [svg.getScreenCTM().a, box.width / own.width, box.height / own.width, words.every(isWithin)]; })"""
        )
        assert len(drawn) == 3
        scales = [scale for scale, *_ in drawn]
        assert scales == pytest.approx([scales[0]] * 3, rel=0.01)
        for _, wide, high, is_within in drawn:
            assert wide < 1.01
            assert high < 1.01
            assert is_within

    def test_sheets_enlarge_like_panels(self, show: Show) -> None:
        """Lines look as in the page, and however far the cutting is played back, the large one is whole."""
        page = show(kiln_box(), sheets=laid_sheets(kiln_box(inside=False)))
        look = """(svg) => [".border > *", ".keep rect", ".outer > *", ".inner > *", "text", ".travel", ".beam"].map((what) => {
            const one = svg.querySelector(what), style = one && getComputedStyle(one);
            return one && [what, style.stroke, style.fill, style.display, style.strokeDasharray, style.strokeWidth]; })"""
        figure = page.locator("figure.sheet").first
        small = figure.locator("svg").evaluate(look)
        assert small[0][1] != "none"
        assert small[1][2] == "none"
        figure.locator("input").evaluate("bar => { bar.value = 300; bar.dispatchEvent(new Event('input')); }")
        assert figure.locator("svg.playing .todo").count() > 0
        figure.locator("[data-panel]").click()
        assert page.locator("#sheet svg").evaluate(look) == small
        assert page.locator("#sheet .todo, #sheet .playing").count() == 0
        view = "document.querySelector('#sheet svg').getAttribute('viewBox')"
        home = page.evaluate(view)
        page.get_by_role("button", name="Zoom in").click()
        assert page.evaluate(view) != home

    def test_words_on_sheets_stay_where_they_belong(self, show: Show) -> None:
        """What is worth keeping says so within its rectangle, whatever its shape; measured in the browser's own face."""
        page = show(kiln_box(), sheets=laid_sheets(kiln_box(inside=False), least_keep=(5, 5)))
        over = page.evaluate(
            """() => [...document.querySelectorAll(".laid .keep")].map((one) => {
            const [a, b] = [one.querySelector("rect"), one.querySelector("text")].map((part) => part.getBoundingClientRect());
            return [b.left >= a.left, b.right <= a.right, b.top >= a.top, b.bottom <= a.bottom, a.width / a.height]; })"""
        )
        assert over
        assert all(all(sides) for *sides, _ in over)


def test_hardware_folds_into_one_line(show: Show) -> None:
    """One line for all screws and nuts hides, ghosts and isolates them; it unfolds, by itself if one is picked or sought."""
    product = kiln_box(inside=False)
    page = show(product)
    count = len(product.parts)
    bought = len(product.bought)
    assert bought == 4
    assert page.locator("#list .name:visible").count() == count + 1
    line = page.get_by_role("button", name="4 screws and nuts")
    assert line.get_attribute("aria-expanded") == "false"
    page.get_by_role("button", name="Hide screws and nuts").click()
    assert page.evaluate("Report.state.looks") == ["shown"] * count + ["hidden"] * bought
    page.get_by_role("button", name="Hide screws and nuts").click()
    assert page.evaluate("Report.state.looks") == ["shown"] * (count + bought)
    page.get_by_role("button", name="Show only screws and nuts").click()
    assert page.evaluate("Report.state.looks") == ["hidden"] * count + ["shown"] * bought
    page.click("#all")
    page.evaluate(f"Report.select({count})")
    assert line.get_attribute("aria-expanded") == "true"
    assert page.locator("#list .name:visible").count() == count + 1 + bought


@pytest.mark.parametrize("options", [DESK, {**DESK, "color_scheme": "dark"}, PHONE, {**PHONE, "color_scheme": "dark"}])
def test_axe_finds_nothing(show: Show, options: Any) -> None:
    """As it opens, with a finding, with a plate, unfolded, with a sheet enlarged, and without any finding."""
    product = replace(kiln_box(), findings=(*kiln_box().findings, *jar_shelf().findings[2:]))
    page = show(product, sheets=laid_sheets(kiln_box(inside=False)), **options)
    assert faults(page) == []
    page.locator("[data-finding='0']").click()
    assert faults(page) == []
    page.locator("#list .name").first.click()
    page.locator("#list .fold .name").click()
    page.click("#gaps")
    assert faults(page) == []
    page.locator("figure.sheet [data-panel]").first.click()
    assert faults(page) == []
    clean = show(replace(product, findings=()), **options)
    assert faults(clean) == []
