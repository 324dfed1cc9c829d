"""The report in a real browser, from disk and without a network: it shows, turns, takes apart, hides, flies and reads well.

Chromium is driven by playwright.  Without either these tests are skipped, unless PANELWRIGHT_BROWSER=required is set, as it is
where changes are accepted.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from browsers import chromium
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.report import report_html
from reports import BASE, LID, NAME, WALL, jar_shelf

Open = Callable[..., Any]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    product = jar_shelf()
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_bytes(report_html(product, manifest_of(product, {}, file="shelf.py", parameters={"jars": 4})))
    return path


@pytest.fixture
def opened(browser: Any, report: Path) -> Iterator[Open]:
    """Opens the report in a fresh profile; afterwards nothing was asked of a network and no error was logged."""
    contexts: list[Any] = []
    asked: list[str] = []
    errors: list[str] = []

    def open_page(**options: Any) -> Any:
        context = browser.new_context(**{"viewport": {"width": 1200, "height": 800}, "reduced_motion": "reduce", **options})
        contexts.append(context)
        context.set_offline(True)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda line: errors.append(line.text) if line.type == "error" else None)
        page.goto(report.as_uri())
        page.wait_for_selector("html[data-ready=yes]", timeout=20_000)
        settle(page)
        return page

    yield open_page
    assert errors == []
    assert {url for url in asked if not url.startswith("data:")} == {report.as_uri()}
    for context in contexts:
        context.close()


def settle(page: Any) -> None:
    """Wait until what was asked for has been drawn."""
    page.evaluate("new Promise(done => setTimeout(() => requestAnimationFrame(() => requestAnimationFrame(done)), 220))")


def pixels(page: Any) -> Any:
    """What the canvas shows, as an array of (height, width, 4), without pins and numbers over it."""
    from PIL import Image

    png = page.evaluate("document.getElementById('canvas').toDataURL('image/png').split(',')[1]")
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(png))).convert("RGBA"), dtype=int)


def differing(a: Any, b: Any) -> float:
    """Share of the canvas that differs between two pictures."""
    return float((np.abs(a - b).max(axis=2) > 12).mean())


def covered(picture: Any) -> float:
    """Share of the canvas that parts cover."""
    return float((picture[..., 3] > 128).mean())


def test_it_shows_all_plates_at_once_and_hostile_names_run_nothing(opened: Open) -> None:
    """Parts cover a good share of the canvas, in both stocks' colours; names are in the list as text."""
    page = opened()
    shown = pixels(page)
    assert 0.1 < covered(shown) < 0.8
    solid = shown[shown[..., 3] > 250]
    assert (solid[:, 0] - solid[:, 2] > 60).mean() > 0.05  # birch, orange
    assert (solid[:, 2] - solid[:, 0] > 60).mean() > 0.05  # acrylic, sky blue
    listed = page.locator("#list .name").all_text_contents()
    assert listed[:2] == [BASE, WALL]
    assert listed[2].endswith(LID[6:])
    assert page.title() == f"{NAME}: report"
    assert page.locator("img, body i").count() == 0


def test_apart_moves_parts_and_back_again(opened: Open) -> None:
    """Pixels change with the slider; back at 0 the picture is what it was."""
    page = opened()
    before = pixels(page)
    assert page.locator("#stays").is_hidden()
    page.fill("#apart", "100")
    settle(page)
    assert differing(before, pixels(page)) > 0.05
    assert "not proven: parts share material" in page.locator("#stays").inner_text()
    page.fill("#apart", "0")
    settle(page)
    page.click("#whole")
    settle(page)
    assert differing(before, pixels(page)) < 0.01


def test_hide_ghost_only_and_show_all(opened: Open) -> None:
    """Hidden parts are not drawn, ghosted ones shine through, one alone covers less than all."""
    page = opened()
    whole = pixels(page)
    page.get_by_role("button", name="Hide lid").click()
    settle(page)
    hidden = pixels(page)
    assert covered(hidden) < covered(whole) - 0.02
    assert not ((hidden[..., 2] - hidden[..., 0] > 60) & (hidden[..., 3] > 250)).any()
    assert page.get_by_role("button", name="Hide lid").get_attribute("aria-pressed") == "true"
    page.get_by_role("button", name="Ghost lid").click()
    settle(page)
    assert differing(hidden, pixels(page)) > 0.02
    assert differing(whole, pixels(page)) > 0.02
    page.get_by_role("button", name="Show only lid").click()
    settle(page)
    assert not ((pixels(page)[..., 0] - pixels(page)[..., 2] > 60) & (pixels(page)[..., 3] > 250)).any()
    page.click("#all")
    settle(page)
    assert differing(whole, pixels(page)) < 0.005


def test_a_click_on_a_plate_tells_what_it_is(opened: Open) -> None:
    """Seen from above the middle of the picture is the lid: its name, size, stock, joints and findings are told."""
    page = opened()
    page.get_by_role("button", name="Top").click()
    settle(page)
    box = page.locator("#canvas").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.5 + 60, box["y"] + box["height"] * 0.5 + 40)
    told = page.locator("#about").inner_text()
    assert "cast acrylic" in told
    assert "120.00 × 60.00 × 3 mm" in told
    assert "tabs with wall" in told
    assert "warning WEB" in told
    page.mouse.click(box["x"] + 4, box["y"] + 4)
    assert "cast acrylic" not in page.locator("#about").inner_text()


def test_a_click_on_a_finding_flies_to_its_place(opened: Open) -> None:
    """The finding's pin is in the middle of the canvas afterwards, and plates it does not name are ghosts."""
    page = opened()
    before = pixels(page)
    page.locator("[data-finding='1']").click()
    settle(page)
    canvas, pin = page.locator("#canvas").bounding_box(), page.locator(".pin.warning").bounding_box()
    assert abs(pin["x"] + pin["width"] / 2 - canvas["x"] - canvas["width"] / 2) < 3
    assert abs(pin["y"] + pin["height"] / 2 - canvas["y"] - canvas["height"] / 2) < 3
    assert differing(before, pixels(page)) > 0.05
    assert "now" in page.locator("[data-finding='1']").get_attribute("class")
    # one without a place shows its plates, and a pin does what the list does
    page.locator("[data-finding='2']").click()
    page.locator(".pin.error").dispatch_event("click")
    settle(page)
    assert "now" in page.locator("[data-finding='0']").get_attribute("class")


def test_section_and_gaps(opened: Open) -> None:
    """A section takes material away and can be flipped; fit gaps show their measured clearance."""
    page = opened()
    whole = pixels(page)
    page.select_option("#axis", "x")
    settle(page)
    cut = pixels(page)
    assert covered(cut) < 0.8 * covered(whole)
    page.click("#flip")
    settle(page)
    assert differing(cut, pixels(page)) > 0.05
    page.select_option("#axis", "")
    settle(page)
    assert differing(whole, pixels(page)) < 0.005
    page.click("#gaps")
    settle(page)
    assert sorted(page.locator(".gap").all_text_contents()) == ["-0.05", "0.10"]
    assert differing(whole, pixels(page)) > 0


def test_keyboard_alone_is_enough(opened: Open) -> None:
    """By Tab to the canvas; arrows turn, plus zooms, N picks, H hides, A shows all, Escape lets go."""
    page = opened()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "canvas":
            break
    else:
        pytest.fail("Tab does not come to the canvas")
    seen = [pixels(page)]
    for key in ("ArrowLeft", "Shift+ArrowUp", "+", "n"):
        page.keyboard.press(key)
        settle(page)
        seen.append(pixels(page))
        assert differing(seen[-2], seen[-1]) > 0.003, key
    assert "birch" in page.locator("#about").inner_text()
    page.keyboard.press("h")
    settle(page)
    assert covered(pixels(page)) < covered(seen[-1])
    page.keyboard.press("a")
    page.keyboard.press("Escape")
    settle(page)
    assert differing(seen[-2], pixels(page)) < 0.005
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") != "canvas"


def test_panels_enlarge_and_zoom(opened: Open) -> None:
    """A panel opens large, zooms by button, wheel and key, and Escape closes it."""
    page = opened()
    page.get_by_role("button", name="Enlarge wall").click()
    assert page.locator("#large-name").text_content() == WALL
    view = "document.querySelector('#sheet svg').getAttribute('viewBox')"
    home = page.evaluate(view)
    page.get_by_role("button", name="Zoom in").click()
    near = page.evaluate(view)
    assert float(near.split()[2]) == pytest.approx(float(home.split()[2]) / 1.4, rel=1e-3)
    page.locator("#sheet").press("ArrowRight")
    assert page.evaluate(view) != near
    page.locator("#sheet").press("0")
    assert page.evaluate(view) == " ".join(f"{float(v):.3f}" for v in home.split())
    page.keyboard.press("Escape")
    assert not page.evaluate("document.getElementById('large').open")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_has_contrast(opened: Open, scheme: str) -> None:
    """Every text stands out by 4.5 to 1 against its ground, 3 to 1 if large (WCAG 2.2, success criterion 1.4.3)."""
    page = opened(color_scheme=scheme)
    page.locator("#list .name").first.click()
    low = page.evaluate(
        """() => {
        const parse = (text) => { const n = text.match(/[\\d.]+/g).map(Number); return [...n.slice(0, 3), n[3] ?? 1]; };
        const light = (rgb) => rgb.slice(0, 3).map((v) => v / 255)
          .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
          .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
        const found = []; let count = 0;
        for (const element of document.querySelectorAll("body *")) {
          const own = [...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
          if (!own || !element.getClientRects().length || element.closest("script,style,svg,:disabled")) continue;
          let ground = element, back;
          while ((back = parse(getComputedStyle(ground).backgroundColor))[3] === 0 && ground.parentElement)
            ground = ground.parentElement;
          const style = getComputedStyle(element), a = light(parse(style.color)), b = light(back);
          const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
          count++;
          if (ratio < (parseFloat(style.fontSize) >= 24 ? 3 : 4.5)) found.push([element.outerHTML.slice(0, 80), ratio]);
        }
        return [count, found];
        }"""
    )
    assert low[0] > 60
    assert low[1] == []


def test_light_and_dark_follow_the_system_and_the_switch(opened: Open) -> None:
    """The page's ground is dark where the system is, and the switch turns it round."""
    page = opened(color_scheme="dark")
    ground = "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number)[0]"
    assert page.evaluate(ground) < 60
    page.click("#theme")
    assert page.evaluate(ground) > 200
    assert page.locator("#theme").text_content() == "Dark page"


def test_every_control_has_a_name_and_a_phone_shows_all(opened: Open) -> None:
    """On a phone nothing is wider than the screen, a finger turns the product, and no control is without a name."""
    page = opened(viewport={"width": 375, "height": 700}, has_touch=True, is_mobile=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= 375
    assert covered(pixels(page)) > 0.05
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, select, input, canvas, a, [tabindex]")].filter((e) =>
        !(e.textContent.trim() || e.getAttribute("aria-label") || e.labels?.length || e.getAttribute("aria-labelledby")))
        .map((e) => e.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    before = pixels(page)
    page.locator("#canvas").evaluate(
        """(canvas) => { const box = canvas.getBoundingClientRect();
        canvas.setPointerCapture = () => {};
        for (const [type, x] of [["pointerdown", 100], ["pointermove", 160], ["pointerup", 160]])
          canvas.dispatchEvent(new PointerEvent(type,
            { pointerId: 7, pointerType: "touch", clientX: box.x + x, clientY: box.y + 90 })); }"""
    )
    settle(page)
    assert differing(before, pixels(page)) > 0.02


def test_it_prints(opened: Open) -> None:
    """On paper controls are gone, the picture and every list stay, and the print has pages."""
    page = opened()
    page.emulate_media(media="print")
    assert not page.locator("#tools").is_visible()
    assert page.locator("#canvas").is_visible()
    assert page.locator("figure").nth(2).is_visible()
    printed = pypdfium2.PdfDocument(page.pdf())
    words = "".join(sheet.get_textpage().get_text_range() for sheet in printed)
    for heading in ("Findings", "Panels", "Hardware", "Cautions"):
        assert heading in words
    assert "Show all" not in words


REACH = """() => {
  const { low, high } = Report.stage.bounds();
  let reach = 0;
  for (let k = 0; k < 8; k++) {
    const spot = new THREE.Vector3(k & 1 ? high.x : low.x, k & 2 ? high.y : low.y, k & 4 ? high.z : low.z);
    spot.project(Report.stage.camera);
    reach = Math.max(reach, Math.abs(spot.x), Math.abs(spot.y));
  }
  return reach;
}"""
"""How far the product's box reaches from the middle of the view, its border being 1."""


@pytest.mark.parametrize("size", [(1000, 800), (1300, 1000), (390, 800), (1920, 1080)])
def test_the_product_fits_its_view_until_the_viewer_moves(opened: Open, size: tuple[int, int]) -> None:
    """As the page opens and when the window changes; a view that was turned stays as it was left."""
    page = opened(viewport={"width": size[0], "height": size[1]})
    assert 0.6 < page.evaluate(REACH) <= 1
    page.set_viewport_size({"width": 700, "height": 900})
    settle(page)
    assert 0.6 < page.evaluate(REACH) <= 1
    page.focus("#stage" if page.locator("#stage").count() else "canvas")
    page.keyboard.press("ArrowLeft")
    settle(page)
    turned = page.evaluate("[Report.look.now.azimuth, Report.look.now.distance]")
    assert turned[0] != 32
    page.set_viewport_size({"width": 1200, "height": 700})
    settle(page)
    assert page.evaluate("[Report.look.now.azimuth, Report.look.now.distance]") == turned
