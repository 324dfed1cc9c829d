"""The live preview in a real browser: it follows saves without losing where the viewer stands, and parameters move it."""

from __future__ import annotations

import json
import os
import shlex
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from axes import faults
from browsers import chromium
from previews import DESIGN, PATIENCE_S, Live

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="processes are ended by their group")

WAIT = {"timeout": PATIENCE_S * 1000}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Live]:
    with Live(tmp_path) as running:
        yield running
        assert running.end() == 0


class Page:
    """A page of the preview, and whether anything went wrong in it."""

    def __init__(self, browser: Any, live: Live, **options: Any) -> None:
        self.context = browser.new_context(**{"viewport": {"width": 1100, "height": 900}, **options})
        self.page = self.context.new_page()
        self.errors: list[str] = []
        self.page.on("console", lambda message: self.errors.append(message.text) if message.type == "error" else None)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.goto(live.address)

    def model(self) -> int:
        return int(self.page.evaluate("Number(document.documentElement.dataset.model || 0)"))

    def wait_for_model(self, number: int) -> None:
        self.page.wait_for_function(f"() => Number(document.documentElement.dataset.model) >= {number}", **WAIT)

    def wait_for(self, state: str) -> None:
        self.page.wait_for_selector(f"html[data-live={state}]", **WAIT)

    def wait_for_words(self, words: str) -> None:
        """Until the line of state holds these words."""
        told = "(words) => document.getElementById('live-state').textContent.includes(words)"
        self.page.wait_for_function(told, arg=words, **WAIT)

    def standpoint(self) -> Any:
        """Where the viewer stands, once they have stopped flying."""
        ask = "({ ...Report.look.now, target: Report.look.now.target.toArray() })"
        now, before = self.page.evaluate(ask), None
        while now != before:
            self.page.wait_for_timeout(120)
            now, before = self.page.evaluate(ask), now
        return now

    def picture(self) -> Any:
        import io

        from PIL import Image

        data = self.page.locator("#canvas").screenshot()
        return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), int)

    def names(self) -> list[str]:
        return [text.strip() for text in self.page.locator("#list .name").all_inner_texts()]

    def close(self) -> None:
        self.context.close()


@pytest.fixture
def opened(browser: Any, live: Live) -> Iterator[Page]:
    page = Page(browser, live)
    page.wait_for_model(1)
    yield page
    page.close()
    assert page.errors == []


def test_it_shows_the_model_and_its_controls(opened: Page) -> None:
    """The board in 3D, its sections, a control for each parameter, no console error; kept as a picture to look at."""
    page = opened.page
    assert page.inner_text("#title") == "glaze board"
    assert page.title() == "glaze board: live"
    assert opened.names() == ["board"]
    labels = page.locator("#live-controls label").all_inner_texts()
    assert labels == ["width", "lid", "finish", "note"]
    assert page.locator("#sections section").count() >= 4
    picture = opened.picture()
    assert len(np.unique(picture.reshape(-1, 3), axis=0)) > 4
    folder = os.environ.get("PANELWRIGHT_SCREENSHOTS")
    if folder:
        page.screenshot(path=Path(folder) / "preview.png", full_page=True)


def test_a_save_redraws_and_keeps_the_view(opened: Page, live: Live) -> None:
    """Camera, hidden plates, slider and scroll stay; the picture changes with the design."""
    page = opened.page
    live.save(("lid: bool = False", "lid: bool = True"))
    opened.wait_for_model(2)
    assert opened.names() == ["board", "lid"]
    page.locator("#canvas").focus()
    for key in ("ArrowLeft", "ArrowLeft", "ArrowUp", "-"):
        page.keyboard.press(key)
    page.locator("#list li", has_text="lid").get_by_role("button", name="Hide lid").click()
    page.locator("#apart").fill("40")
    before = opened.standpoint()
    picture = opened.picture()
    live.save(("lid: bool = False", "lid: bool = True"), ("= 100.0", "= 220.0"))
    opened.wait_for_model(3)
    assert opened.standpoint() == before
    assert page.evaluate("Report.state.looks") == ["shown", "hidden"]
    assert page.locator("#apart").input_value() == "40"
    assert np.abs(opened.picture() - picture).max() > 30


def test_an_exception_is_shown_and_goes_again(opened: Page, live: Live) -> None:
    """With its line, as text, while the last good model stays in view."""
    page = opened.page
    picture = opened.picture()
    live.save(("    return made", '    raise ValueError("<b>no</b> <img src=x onerror=alert(1)>")'))
    opened.wait_for("error")
    told = page.inner_text("#live-error pre")
    assert "<b>no</b> <img src=x" in told
    assert "board.py:" in told
    assert page.locator("#live-error b, #live-error img").count() == 0
    assert page.is_visible("#live-kept")
    assert np.abs(opened.picture().mean() - picture.mean()) < 3
    live.save()
    opened.wait_for("built")
    assert not page.is_visible("#live-error")


def test_the_head_says_when_its_verdict_is_of_another_model(opened: Page, live: Live) -> None:
    """Neither green nor "nothing found" while the design does not build; mended, the verdict of the new model is back."""
    page = opened.page
    live.save(("sheet=(600, 400)", "sheet=(600, 400), measured=2.96, kerf=0.2"))
    opened.wait_for_model(2)
    assert page.is_visible("#headline .verdict")
    assert not page.is_visible("#stale")
    live.save(("    return made", "    return made.sides[3]"))
    opened.wait_for("error")
    assert not page.is_visible("#headline .verdict")
    assert page.inner_text("#stale") == "does not build; below is the last model that did"
    assert page.evaluate("getComputedStyle(document.getElementById('stale')).borderLeftColor") == "rgb(213, 94, 0)"
    assert page.is_visible("#found-stale")
    assert "does not build" in page.title()
    assert faults(page) == []
    live.save(("glaze board", "glaze plank"))
    opened.wait_for_model(3)
    opened.wait_for("built")
    assert page.is_visible("#headline .verdict")
    assert not page.is_visible("#stale")
    assert not page.is_visible("#found-stale")
    assert page.title() == "glaze plank: live"


def test_on_a_phone_knobs_stand_under_the_picture(browser: Any, live: Live) -> None:
    """Next to what they change, large enough for a finger; turned to a wide screen they go back to the top."""
    opened = Page(browser, live, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = opened.page
    opened.wait_for_model(1)
    picture, knobs = (page.locator(what).bounding_box() for what in (".stage", "#live-controls"))
    assert 0 <= knobs["y"] - picture["y"] - picture["height"] < 40
    assert page.locator("#tools").bounding_box()["y"] > knobs["y"] + knobs["height"] - 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    sizes = [knob.bounding_box() for knob in page.locator(".knob input, .knob select").all()]
    assert len(sizes) == 5
    assert all(min(box["width"], box["height"]) >= 24 for box in sizes)
    assert faults(page) == []
    page.locator(".knob", has_text="width").locator("input[type=range]").fill("180")
    opened.wait_for_model(2)
    page.set_viewport_size({"width": 1100, "height": 900})
    page.wait_for_function("() => document.querySelector('#live #live-controls')")
    opened.close()
    assert opened.errors == []


def test_parameters_move_the_model(opened: Page, live: Live) -> None:
    """A slider, a switch, a choice; the command that they come to; and back to the defaults."""
    page = opened.page
    page.locator(".knob", has_text="width").locator("input[type=range]").fill("180")
    opened.wait_for_model(2)
    assert "180" in page.inner_text("#sections")
    page.get_by_label("lid", exact=True).check()
    opened.wait_for_model(3)
    assert opened.names() == ["board", "lid"]
    page.get_by_label("finish").select_option("oiled")
    page.get_by_label("note").fill("for Ann's shelf")
    page.get_by_label("note").blur()
    live.until(lambda state: state["settings"].get("note") == "for Ann's shelf")
    page.wait_for_function("() => document.getElementById('sections').textContent.includes('Ann')", **WAIT)
    opened.wait_for("built")
    page.click("#live-copy")
    command = "panelwright build board.py --out out --set width=180 lid=true finish=oiled 'note=for Ann'\\''s shelf'"
    opened.wait_for_words(command)
    page.click("#live-defaults")
    live.until(lambda state: state["settings"] == {})
    assert page.locator(".knob.set").count() == 0


def test_the_command_builds_the_parts_that_are_shown(browser: Any, tmp_path: Path) -> None:
    """Run by a shell as it was copied: the design's path and the shop file are those that the preview was given."""
    text = DESIGN.replace('Stock("MDF", 3, sheet=(600, 400))', 'stock("birch 4")').replace(
        "from panelwright.assemblies import Assembly", "from panelwright.assemblies import Assembly, stock"
    )
    (tmp_path / "the studio's").mkdir()
    (tmp_path / "shops").mkdir()
    shop = '[stocks."birch 4"]\nbased_on = "birch 4"\nmeasured_mm = 3.70\n'
    (tmp_path / "shops" / "my shop.toml").write_text(shop, encoding="utf-8")
    options = ("--shop", "shops/my shop.toml", "--set", "width=150")
    with Live(tmp_path, *options, text=text, given="./the studio's/board.py") as live:
        page = Page(browser, live)
        page.wait_for_model(1)
        assert "3.7 mm" in page.page.inner_text("#sections")
        page.page.click("#live-copy")
        page.wait_for_words("panelwright build")
        command = page.page.inner_text("#live-state").removeprefix("Copied: ")
        page.close()
        assert live.end() == 0
    words = shlex.split(command)
    assert words[2] == "./the studio's/board.py"
    program = shlex.join([sys.executable, "-m", "panelwright.assemblies.commands.main"])
    line = program + command.removeprefix("panelwright")
    subprocess.run(["sh", "-c", line], cwd=tmp_path, check=True, capture_output=True, timeout=PATIENCE_S)
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["parameters"]["width"] == 150
    assert [panel["thickness_mm"] for panel in manifest["panels"]] == [3.7]


def test_two_windows_show_the_same(browser: Any, opened: Page, live: Live) -> None:
    """What is moved in one is moved in the other; one that goes away leaves the rest at work."""
    other = Page(browser, live)
    other.wait_for_model(1)
    opened.page.locator(".knob", has_text="width").locator("input[type=number]").fill("150")
    opened.page.locator(".knob", has_text="width").locator("input[type=number]").blur()
    other.wait_for_model(2)
    other.page.wait_for_function("() => document.querySelector('.knob input[type=number]').value === '150'", **WAIT)
    assert "150" in other.page.inner_text("#sections")
    other.close()
    live.save(("glaze board", "glaze plank"))
    opened.wait_for_model(3)
    assert opened.page.inner_text("#title") == "glaze plank"
    assert other.errors == []


def test_a_loop_is_stopped_by_its_button(opened: Page, live: Live) -> None:
    """Which is there as long as something is built."""
    page = opened.page
    assert not page.is_visible("#live-stop")
    live.save(("    return made", "    while True:\n        pass"))
    page.wait_for_selector("#live-stop:not([hidden])", **WAIT)
    page.click("#live-stop")
    opened.wait_for("error")
    assert "stopped" in page.inner_text("#live-error pre")
    live.save()
    opened.wait_for("built")


def test_the_end_of_the_preview_is_told(browser: Any, tmp_path: Path) -> None:
    """The page says that nobody answers, and stays."""
    with Live(tmp_path) as live:
        page = Page(browser, live)
        page.wait_for_model(1)
        assert live.end() == 0
    page.wait_for_words("does not answer")
    assert page.names() == ["board"]
    assert page.page.inner_text("#stale") == "the preview does not answer"
    assert not page.page.is_visible("#headline .verdict")
    page.close()


def test_a_preview_that_is_started_again_goes_on_in_the_page(browser: Any, tmp_path: Path) -> None:
    """On the same port; its models are numbered as those before, and are not taken for them."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    with Live(tmp_path, "--port", port) as first:
        page = Page(browser, first)
        page.wait_for_model(1)
        assert first.end() == 0
    page.wait_for_words("does not answer")
    with Live(tmp_path, "--port", port, text=DESIGN.replace("glaze board", "glaze plank")) as second:
        assert second.until(lambda state: state["model"] >= 1)["model"] == 1
        page.page.wait_for_function("() => document.getElementById('title').textContent === 'glaze plank'", **WAIT)
        assert second.end() == 0
    page.close()


def test_texts_of_the_command_line_set_the_controls(browser: Any, tmp_path: Path) -> None:
    """However they are written; and one move later they still hold."""
    with Live(tmp_path, "--set", "lid=yes", "width=1.5e2") as live:
        page = Page(browser, live)
        page.wait_for_model(1)
        assert page.page.get_by_label("lid", exact=True).is_checked()
        assert page.page.get_by_label("width", exact=True).input_value() == "150"
        page.page.get_by_label("finish").select_option("oiled")
        assert live.until(lambda state: "finish" in state["settings"])["settings"] == {
            "width": "150",
            "lid": "true",
            "finish": "oiled",
        }
        assert live.end() == 0
    page.close()
