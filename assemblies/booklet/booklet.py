"""The booklet as a whole: cover, parts and hardware, steps, cautions, templates; A4 or letter, one PDF.

The same product gives the same bytes, whatever the clock says (SOURCE_DATE_EPOCH sets the date that the file tells).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Protocol

from panelwright.assemblies.data.name_lists import listed
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.marks.letters import letters_of
from panelwright.assemblies.paper.press import ACCENT, BLACK, FAINT, GREY, MARGIN, WARN, WHITE, Paper, Press, leading
from panelwright.assemblies.paper.templates import Sheet, draw_sheet, sheets_of
from panelwright.assemblies.product.cautions import cautions_for
from panelwright.assemblies.product.steps import Step, steps_of
from panelwright.plates._kernel.files.step import header_stamp

from .figures import Box, Sizes, cover_figure, fastener_figure, panel_figure, step_figure
from .step_words import hardware_words, step_lines, step_title

__all__ = ["booklet_pdf"]

TOP, FOOT = 20.0, 18.0
"""Where text begins below the upper border, and the room that the footer takes; mm."""

Drawn = Callable[[Press], None]


class Card(Protocol):
    """Draws one card with its lower left corner at (x, y)."""

    def __call__(self, press: Press, x: float, y: float) -> None: ...


@dataclass(frozen=True, slots=True)
class _Page:
    """One page to draw; `heading` stands at its top."""

    heading: str
    draw: Drawn


def booklet_pdf(
    product: Product,
    paper: Paper,
    *,
    summary: str = "",
    parameters: Mapping[str, Any] | None = None,
    templates: bool = True,
) -> bytes:
    """The booklet of a product.

    - `summary`: a sentence for the cover, such as the design's docstring.
    - `parameters`: what the design was made with, told on the cover.
    - `templates`: whether the panels follow at true size.

    Raises `KernelError` if a picture cannot be drawn.
    """
    header_stamp()  # refuses a SOURCE_DATE_EPOCH that is no number, before the printer's own code trips over it
    press = Press(paper, product.name)
    letters, sizes, steps = letters_of(product.panels), Sizes(), steps_of(product)
    pages = [
        *_parts_pages(press, product, letters),
        *_with_cautions(press, product, _step_pages(paper, product, letters, steps, sizes), len(steps)),
    ]
    sheets = sheets_of(product.panels, paper) if templates else ()
    _cover(press, product, sizes, summary, parameters or {})
    total = 1 + len(pages) + len(sheets)
    for number, page in enumerate(pages, 2):
        press.end_page()
        _frame(press, product, page.heading, number, total)
        page.draw(press)
    for number, sheet in enumerate(sheets, 2 + len(pages)):
        press.end_page()
        _template_frame(press, product, sheet, number, total)
        draw_sheet(press, sheet, letters, number)
    return press.finished()


def _cover(press: Press, product: Product, sizes: Sizes, summary: str, parameters: Mapping[str, Any]) -> None:
    paper = press.paper
    band = 62.0
    press.box(0, paper.height - band, paper.width, band, fill=ACCENT)
    title = product.name[:1].upper() + product.name[1:]
    sizes_tried = (size for size in (40, 32, 26, 20) if press.width_of(title, size=size, bold=True) < paper.text_width)
    size = next(sizes_tried, 14)
    press.text(MARGIN, paper.height - 32, title, size=size, bold=True, color=WHITE)
    sentence = " ".join(summary.partition("\n\n")[0].split())
    press.paragraph(MARGIN, paper.height - 44, sentence, paper.text_width, size=12, color=WHITE, most=3)
    low, high = sizes.around(product.parts)
    parts = sum(panel.quantity for panel in product.panels)
    bought = sum(item.quantity for item in product.hardware)
    stocks = dict.fromkeys(f"{panel.stock.material}, {panel.stock.t:g} mm" for panel in product.panels)
    facts = [
        ("Size", " × ".join(f"{b - a:.0f}" for a, b in zip(low, high, strict=True)) + " mm"),
        (
            "In the box",
            counted(parts, "part") + (f", {bought} screws and nuts" if bought else ""),
        ),
        ("Made of", "; ".join(stocks)),
    ]
    if mass := _mass(product):
        facts.append(("Mass", mass))
    bottom = 52.0
    cover_figure(press, product.shown, Box(MARGIN, bottom + 6, paper.text_width, paper.height - band - bottom - 14))
    column = paper.text_width / len(facts)
    press.line((MARGIN, bottom), (paper.width - MARGIN, bottom), color=ACCENT, width=0.6)
    for index, (name, value) in enumerate(facts):
        x = MARGIN + index * column
        press.text(x, bottom - 7, name, size=9, color=GREY)
        press.paragraph(x, bottom - 13, value, column - 4, size=11, bold=True, most=3)
    if parameters:
        told = ", ".join(f"{name} {_told(value)}" for name, value in parameters.items())
        press.paragraph(MARGIN, 18, f"Made with {told}.", paper.text_width, size=8, color=GREY, most=2)


def _mass(product: Product) -> str:
    """What all of it weighs and what is left out of that, in words; "" if a plate's mass is not known."""
    plates = [part.mass_kg for part in product.parts]
    known = [item.mass_kg * item.quantity for item in product.hardware if item.mass_kg is not None]
    unknown = sum(item.quantity for item in product.hardware if item.mass_kg is None)
    if None in plates:
        return ""
    words = f"{sum(mass for mass in (*plates, *known) if mass):.2f} kg"
    return f"{words} without {unknown} bought parts of unknown mass" if unknown else words


def _told(value: Any) -> str:
    plain = getattr(value, "name", value)
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    return f"{plain:g}" if isinstance(plain, float) else str(plain)


def _frame(press: Press, product: Product, heading: str, number: int, total: int) -> None:
    paper = press.paper
    _heading(press, heading, paper.height - TOP)
    press.line((MARGIN, 13), (paper.width - MARGIN, 13), color=FAINT, width=0.3)
    press.text(MARGIN, 8.5, product.name, size=8, color=GREY)
    press.text(paper.width - MARGIN, 8.5, f"{number} / {total}", size=8, color=GREY, align="right")


def _template_frame(press: Press, product: Product, sheet: Sheet, number: int, total: int) -> None:
    paper = press.paper
    words = "Templates at true size"
    (column, row), (across, up) = sheet.tile, sheet.tiles
    if (across, up) != (1, 1):
        words += f": {sheet.laid[0].panel.name}, tile {row * across + column + 1} of {across * up}"
    press.text(17, paper.height - 12, words, size=12, bold=True, color=ACCENT)
    kerf = max(laid.panel.stock.kerf for laid in sheet.laid)
    beside = f"Cut paths lie {kerf / 2:g} mm in the waste, half of what the beam removes.  " if kerf else ""
    press.text(17, paper.height - 17, f"{beside}Seen from the show face.  Print at 100 %.", size=8, color=GREY)
    press.text(17, 6, product.name, size=8, color=GREY)
    press.text(paper.width - 9, 6, f"{number} / {total}", size=8, color=GREY, align="right")


# ---- parts and hardware ----

GUTTER = 6.0
"""Between cards, mm."""


def _parts_pages(press: Press, product: Product, letters: Mapping[str, str]) -> list[_Page]:
    """Cards, panels first: large ones if they are few, three in a row if they are more; as many pages as they take."""
    paper = press.paper
    columns, high = (2, 76.0) if len(product.panels) + len(product.hardware) <= 4 else (3, 47.0)
    width = (paper.text_width - GUTTER * (columns - 1)) / columns
    cards: list[tuple[str, list[Card]]] = [
        ("Parts", [_panel_card(panel, letters[panel.name], width, high) for panel in product.panels])
    ]
    if product.hardware:
        bought = [_hardware_card(product, index, width, high) for index in range(len(product.hardware))]
        cards.append(("Screws and nuts", bought))
    pages: list[_Page] = []
    drawn: list[Drawn] = []
    heading, y = "", 0.0
    for title, group in cards:
        y -= 12.0
        for start in range(0, len(group), columns):
            if y - high < FOOT:
                if drawn:
                    pages.append(_Page(heading, _all(drawn)))
                drawn, heading, y = [], title, paper.height - TOP - 8
            elif start == 0:
                drawn.append(partial(_heading, words=title, y=y))
                y -= 6.0
            for column, card in enumerate(group[start : start + columns]):
                x = MARGIN + column * (width + GUTTER)
                drawn.append(partial(card, x=x, y=y - high))
            y -= high + 5.0
    pages.append(_Page(heading, _all(drawn)))
    return pages


def _heading(press: Press, words: str, y: float) -> None:
    press.text(MARGIN, y, words, size=20, bold=True, color=ACCENT)


def _all(drawn: list[Drawn]) -> Drawn:
    def draw(press: Press) -> None:
        for one in drawn:
            one(press)

    return draw


def _panel_card(panel: Panel, letter: str, width: float, high: float) -> Card:
    def draw(press: Press, x: float, y: float) -> None:
        press.box(x, y, width, high, line=FAINT)
        panel_figure(press, panel, Box(x + 4, y + 18, width - 8, high - 25))
        press.badge(x + 5.5, y + high - 5.5, letter, radius=3.6, size=10 if len(letter) < 2 else 7)
        press.text(x + width - 3, y + high - 7, f"{panel.quantity} ×", size=13, bold=True, align="right")
        names = listed(panel.plates, limit=4)
        after = press.paragraph(x + 3, y + 13, names, width - 6, size=9, bold=True, most=2)
        across, up = panel.bbox_mm
        words = f"{across:.1f} × {up:.1f} mm, {panel.stock.material} {panel.stock.t:g} mm"
        press.paragraph(x + 3, min(after, y + 8.6), words, width - 6, size=7.5, color=GREY, most=2)

    return draw


def _hardware_card(product: Product, index: int, width: float, high: float) -> Card:
    item = product.hardware[index]
    solid = next((bought for bought in product.bought if bought.fastener.designation == item.designation), None)

    def draw(press: Press, x: float, y: float) -> None:
        press.box(x, y, width, high, line=FAINT)
        if solid is not None:
            fastener_figure(press, solid, Box(x + 4, y + 18, width - 8, high - 27))
        press.text(x + width - 3, y + high - 7, f"{item.quantity} ×", size=13, bold=True, align="right")
        after = press.paragraph(x + 3, y + 13, item.designation, width - 6, size=9, bold=True, most=2)
        words = ", ".join(word for word in (solid.fastener.kind if solid is not None else "", item.note) if word)
        press.paragraph(x + 3, min(after, y + 8.6), words, width - 6, size=7.5, color=GREY, most=2)

    return draw


# ---- steps ----


def _step_pages(
    paper: Paper, product: Product, letters: Mapping[str, str], steps: tuple[Step, ...], sizes: Sizes
) -> list[_Page]:
    """Two steps a page."""
    upper = paper.height - TOP - 9
    each = (upper - FOOT) / 2
    pages: list[_Page] = []
    for start in range(0, len(steps), 2):
        drawn: list[Drawn] = []
        for index in range(start, min(start + 2, len(steps))):
            box = Box(MARGIN, upper - (index - start + 1) * each, paper.text_width, each)
            drawn.append(_step(product, letters, steps, index, sizes, box))
        pages.append(_Page("Step by step", _all(drawn)))
    return pages


def _step(product: Product, letters: Mapping[str, str], steps: tuple[Step, ...], index: int, sizes: Sizes, box: Box) -> Drawn:
    step = steps[index]
    before = list(step.onto)
    known = {plate for part in (*before, *step.parts) for plate in part.plates}
    held = [item for earlier in steps[:index] for item in earlier.bought if known.issuperset(item.plates)]
    shown = step if product.show_hardware else replace(step, bought=(), joints=(), within=())

    def draw(press: Press) -> None:
        top = box.y + box.height
        press.badge(box.x + 5, top - 6, str(step.number), radius=5, size=14)
        press.text(box.x + 13, top - 7.6, step_title(step, product, letters), size=13, bold=True)
        y, width = top - 14.0, box.width - 13
        said = [(words, False, WARN if is_caution else BLACK) for words, is_caution in step_lines(step, product)]
        if step.hardware:
            said.append((f"You need {hardware_words(step.hardware)}.", True, BLACK))

        def height(size: float) -> float:
            return sum(leading(size) * len(press.lines(words, width, size=size, bold=bold)) + 0.6 for words, bold, _ in said)

        # many long names are set smaller, so that the picture keeps most of the room
        size = next((size for size in (10.0, 8.0, 6.5) if height(size) < 0.3 * box.height), 5.0)
        for words, bold, color in said:
            y = press.paragraph(box.x + 13, y, words, width, size=size, bold=bold, color=color) - 0.6
        high = y + leading(size) - 4 - (box.y + 5)
        picture = Box(box.x, box.y + 5, box.width, max(high, 16.0))
        step_figure(press, shown, before, held if product.show_hardware else [], sizes, picture)
        if index % 2 == 0 and index + 1 < len(steps):
            press.line((box.x, box.y + 1.5), (box.x + box.width, box.y + 1.5), color=FAINT, width=0.3)

    return draw


# ---- cautions ----

PROVEN = "each step is proven to be free along its way, for rigid parts; bent ones spring, and fits stick: try before you glue"
NOT_PROVEN = "it is not proven that the parts go in as the steps say: {}"


def _cautions(press: Press, product: Product) -> list[tuple[float, Callable[..., None]]]:
    """What to mind when cutting, then what the proof warns of: the height of each in mm, and what draws it at y."""
    items = [(caution, False) for caution in cautions_for(panel.stock for panel in product.panels)]
    items += [(finding.message, True) for finding in product.findings if finding.level != "note"]
    unknown = product.plan.unknown
    items.append((NOT_PROVEN.format(unknown) if unknown else PROVEN, bool(unknown)))
    found: list[tuple[float, Callable[..., None]]] = []
    for words, is_found in items:
        sentence = words[:1].upper() + words[1:] + ("" if words.endswith(".") else ".")
        rows = len(press.lines(sentence, press.paper.text_width - 12, size=11))
        found.append((leading(11) * rows + 4.5, partial(_caution, words=sentence, is_found=is_found)))
    return found


def _with_cautions(press: Press, product: Product, pages: list[_Page], steps: int) -> list[_Page]:
    """The pages of steps, and the cautions below a last single step if they fit there, else on pages of their own."""
    paper = press.paper
    cautions = _cautions(press, product)
    upper = paper.height - TOP - 9
    half = FOOT + (upper - FOOT) / 2
    drawn: list[Drawn] = []
    if steps % 2 and half - 24 - sum(height for height, _ in cautions) >= FOOT:
        y = half - 12
        drawn = [pages[-1].draw, partial(_heading, words="Cautions", y=y)]
        heading, y, pages = pages[-1].heading, y - 12, pages[:-1]
    else:
        heading, y = "Cautions", paper.height - TOP - 12
    for height, draw in cautions:
        if y - height < FOOT and drawn:
            pages = [*pages, _Page(heading, _all(drawn))]
            drawn, heading, y = [], "Cautions", paper.height - TOP - 12
        drawn.append(partial(draw, y=y))
        y -= height
    return [*pages, _Page(heading, _all(drawn))]


def _caution(press: Press, words: str, is_found: bool, y: float) -> None:
    press.badge(MARGIN + 3.5, y + 1.4, "!", radius=3.2, size=10, color=WARN if is_found else ACCENT)
    press.paragraph(MARGIN + 11, y, words, press.paper.text_width - 12, size=11)
