"""The report's sheets: drawn with every path in cutting order, played back, with their cost and files; names stay text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from browsers import chromium
from panelwright.assemblies import Batch, SheetRules, cost_of, lay_sheets
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.report import report_html
from panelwright.assemblies.report.played_sheets import cost_section, sheets_section
from panelwright.assemblies.sheets.laid import LaidSheets
from studio import card_tray, glaze_stand, studio_shop

HOSTILE = "base</svg><script>document.title='owned'</script>"
FILES = ("assembly.step", "panels/base #1.dxf", "sheets/sheet-1.dxf")


def hostile_tray() -> Product:
    """The card tray with a name that would run if it could, in the places that a page shows."""
    product = card_tray()
    first, *others = product.panels
    return replace(product, panels=(replace(first, name=HOSTILE, plates=(HOSTILE,)), *others))


def laid(product: Product) -> LaidSheets:
    batches = [Batch(product, 2)]
    plan = lay_sheets(batches, studio_shop(), SheetRules(effort=0, is_marked=product.name != "card tray"))
    return LaidSheets(plan, cost_of(plan, batches, studio_shop()))


def drawings(html: str) -> list[ElementTree.Element]:
    """The drawings of sheets, as XML."""
    found = []
    for piece in html.split('<figure id="panel-sheet')[1:]:
        text = piece[piece.index("<svg") : piece.index("</svg>") + 6]
        found.append(ElementTree.fromstring(text))
    return found


def test_every_path_is_drawn_in_order() -> None:
    """One group a path, in the order of the plan, told in words."""
    sheets = laid(glaze_stand())
    drawn = drawings(sheets_section(sheets))
    assert len(drawn) == len(sheets.plan.sheets)
    for svg, sheet in zip(drawn, sheets.plan.sheets, strict=True):
        groups = [group for group in svg.iter("g") if "path" in group.get("class", "").split()]
        kinds = {"mark": "mark", "inner": "inside", "outer": "outside"}
        assert [kinds[group.get("class", "").split()[0]] for group in groups] == [path.kind for path in sheet.paths]
        words = [group.get("data-words") for group in groups]
        assert words[-1] == f"outside cut of {sheet.parts[sheet.paths[-1].piece].name}"
        assert all(len(group) == 1 for group in groups)


def test_figures_of_the_sheets_and_costs() -> None:
    """The numbers of the plan, and what is not known by name."""
    sheets = laid(card_tray())
    html = sheets_section(sheets)
    for sheet in sheets.plan.sheets:
        assert f"{100 * sheet.utilisation:.0f}</td>" in html
        assert f"{sheet.cut_mm / 1000:.2f}".rstrip("0") in html
    assert f"{sheets.cost.total:.2f} EUR" in cost_section(sheets)
    plain = LaidSheets(sheets.plan, cost_of(sheets.plan, (), None))
    assert cost_section(plain) == "" or "Not known" in cost_section(plain)


def test_without_sheets_there_is_no_section() -> None:
    """Neither heading nor link."""
    product = card_tray()
    page = report_html(product, manifest_of(product, {})).decode("utf-8")
    assert 'id="sheets"' not in page
    assert 'href="#sheets"' not in page
    assert 'id="files"' not in page


def test_names_stay_text_and_links_are_quoted() -> None:
    """Names from the design reach the page escaped; file names as addresses."""
    product = hostile_tray()
    page = report_html(product, manifest_of(product, {}), sheets=laid(product), files=FILES).decode("utf-8")
    assert HOSTILE not in page
    assert "outside cut of base&lt;/svg&gt;&lt;script&gt;" in page
    assert 'href="panels/base%20%231.dxf" download' in page


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The report of the hostile tray in a browser, from disk, without a network."""
    product = hostile_tray()
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_bytes(report_html(product, manifest_of(product, {}), sheets=laid(product), files=FILES))
    with chromium() as browser:
        context = browser.new_context(offline=True, viewport={"width": 1200, "height": 900})
        opened = context.new_page()
        errors: list[str] = []
        opened.on("pageerror", lambda error: errors.append(str(error)))
        opened.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
        opened.goto(Path(path).as_uri())
        opened.wait_for_selector("html[data-ready]")
        yield opened
        assert errors == []
        assert "owned" not in opened.title()
        context.close()


class TestPlayBack:
    def test_the_slider_cuts_so_far(self, page: Any) -> None:
        """At its beginning nothing is cut, in the middle some, at the end all; words say which path."""
        figure = page.locator("figure.sheet").first
        bar, paths = figure.locator("input"), figure.locator(".path")
        count = paths.count()
        assert figure.locator("output").inner_text() == f"{count} paths in order of cutting"
        left = []
        for place in ("0", "500", "1000"):
            bar.fill(place)
            left.append(figure.locator(".path.todo").count())
        assert left[0] == count
        assert 0 < left[1] < count
        assert left[2] == 0
        bar.fill("500")
        assert f" of {count}: " in figure.locator("output").inner_text()
        assert bar.get_attribute("aria-valuetext") == figure.locator("output").inner_text()
        assert figure.locator(".beam").is_visible()
        # what is cut so far are the first paths, one after the other
        states = paths.evaluate_all("all => all.map((one) => one.classList.contains('todo'))")
        assert states == sorted(states)
        bar.fill("1000")
        assert not figure.locator(".beam").is_visible()

    def test_play_runs_to_the_end(self, page: Any) -> None:
        """By its button, which pauses it too."""
        figure = page.locator("figure.sheet").first
        run, bar = figure.locator(".run"), figure.locator("input")
        bar.fill("0")
        run.click()
        assert run.inner_text() == "Pause"
        run.click()
        assert run.inner_text() == "Play"
        bar.fill("980")
        run.click()
        page.wait_for_function("() => document.querySelector('figure.sheet input').value === '1000'", timeout=60_000)
        assert run.inner_text() == "Play"

    def test_a_sheet_enlarges(self, page: Any) -> None:
        """In the same window as panels do, and Escape closes it."""
        figure = page.locator("figure.sheet").first
        figure.locator(".drawing").click()
        assert page.locator("#large").is_visible()
        assert page.locator("#large-name").inner_text() == "sheet-1"
        page.keyboard.press("Escape")
        assert not page.locator("#large").is_visible()

    def test_controls_have_names(self, page: Any) -> None:
        """For who listens to the page: the button and the slider say of which sheet they are."""
        for figure in page.locator("figure.sheet").all():
            name = figure.locator("strong").inner_text()
            assert figure.get_by_role("slider", name=f"How far {name} is cut").count() == 1
            assert figure.get_by_role("button", name=f"Play the cutting of {name}").count() == 1
