"""The page of a family in the browser: found, sorted, opened, without a network, and by keyboard and screen reader."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browsers import chromium
from families import studio_family
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.family.family_plots import Point, plot


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A family with names that try everything, one variant with errors and one that fails."""
    folder = tmp_path_factory.mktemp("studio")
    design = studio_family(folder)
    (folder / "sizes.toml").write_text(
        """[variants]
a = { width = 70, finish = "RAW" }
b = { width = 70, height = 60 }
'it’s & 100 %' = { width = 200, finish = "OILED" }
c = { width = 110, lid = true, deed = "clash" }
d = { width = 90, deed = "raise", note = "<b>&" }
""",
        encoding="utf-8",
    )
    assert main(["family", str(design), str(folder / "sizes.toml"), "--out", str(folder / "out"), "--effort", "5"]) == 1
    return folder / "out"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """The system's Chromium."""
    with chromium() as started:
        yield started


@pytest.fixture
def page(browser: Any, out: Path) -> Iterator[Any]:
    """The page opened from the disk; whatever it asks for but itself fails the test, and so does any complaint."""
    context = browser.new_context()
    page = context.new_page()
    asked: list[str] = []
    complaints: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto((out / "family.html").as_uri())
    yield page
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    # a driver without a graphics card complains of the reports' 3D views
    assert [words for words in complaints if not words.startswith("[.WebGL")] == []
    context.close()


def shown(page: Any) -> list[str]:
    """Names on the cards that can be seen, in their order."""
    return [card.get_attribute("data-name") for card in page.locator(".variant").all() if card.is_visible()]


def test_variants_are_found_and_sorted(page: Any, out: Path) -> None:
    """By words, by how they came out, by cost; what has no cost comes last."""
    everyone = ["a", "b", "c", "d", "it’s & 100 %"]
    assert shown(page) == everyone
    page.fill("#find", "oiled")
    assert shown(page) == ["it’s & 100 %"]
    assert page.inner_text("#shown") == "1 of 5 shown"
    page.fill("#find", "")
    page.select_option("#verdict", "failed")
    assert shown(page) == ["d"]
    page.select_option("#verdict", "")
    page.select_option("#sort", "cost")
    with (out / "family.csv").open(encoding="utf-8", newline="") as file:
        costs = {row["variant"]: float(row["cost"]) for row in csv.DictReader(file) if row["cost"]}
    by_cost = sorted(costs, key=lambda name: costs[name])
    assert len({*costs.values()}) == 3
    assert shown(page) == [*by_cost, "c", "d"]
    page.click("#turn")
    assert shown(page) == [*reversed(by_cost), "c", "d"]


def test_a_click_opens_the_report_of_a_variant(page: Any) -> None:
    """Whatever its name; those without a folder are no links."""
    assert [card.locator("a").count() for card in page.locator(".variant").all()] == [1, 1, 0, 0, 1]
    page.click("text=it’s & 100 %")
    page.wait_for_url("**/variants/*/report.html")
    assert page.inner_text("#title") == "brush stand"


def test_every_variant_has_its_picture_and_errors_their_words(page: Any) -> None:
    """Pictures are inside the page; a variant that failed has none, and says why."""
    assert page.evaluate("[...document.querySelectorAll('.variant img')].map((i) => i.naturalWidth)") == [216] * 4
    assert "no stand is 90 wide" in page.inner_text(".variant.failed")
    assert "OVERLAP" in page.inner_text(".variant.errors")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_accessible(browser: Any, out: Path, scheme: str) -> None:
    """By axe's rules, in light and in dark."""
    context = browser.new_context(color_scheme=scheme)
    page = context.new_page()
    page.goto((out / "family.html").as_uri())
    found = Axe().run(page)
    assert [violation["id"] for violation in found.response["violations"]] == []
    assert len(found.response["passes"]) > 15
    context.close()


def test_plots_show_every_number_in_its_place(out: Path) -> None:
    """One for each measure and each parameter that varies; a point higher by its value, further right by the parameter's."""
    page = (out / "family.html").read_text("utf-8")
    assert page.count('<figure class="plot">') == 4 * 6
    points = [Point("a", 70, 0.1, "fine"), Point("b", 100, 0.3, "warnings"), Point("c", 85, 0.2, "errors")]
    drawn = plot("mass", "kg", "width", points)
    places = [tuple(map(float, found)) for found in re.findall(r'class="point \w+" d="M([\d.]+) ([\d.]+)', drawn)]
    (ax, ay), (bx, by), (cx, cy) = places
    assert ax < cx < bx
    assert by < cy < ay
    assert "3 variants: from 0.1 at width 70 to 0.3 at width 100" in drawn


def test_shared_panels_are_drawn_and_named(page: Any, out: Path) -> None:
    """In the words that the JSON has too."""
    told = json.loads((out / "family.json").read_text("utf-8"))
    words = [panel["words"] for panel in told["panels"] if len(panel["serves"]) > 1]
    assert words
    assert page.locator("#shared figure strong").all_inner_texts() == words
