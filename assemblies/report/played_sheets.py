"""Sheets in the report: each drawn as it lies on the machine, with every path in the order of cutting, to be played back."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.assemblies.cutting import CutPath
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.files.svg import drawn
from panelwright.assemblies.product.json_entries import stock_name
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.assemblies.sheets.plan import CutSheet, LaidPart
from panelwright.assemblies.sheets.sheet_entries import duration
from panelwright.plates.geometry.curves import Bounds, Point
from panelwright.plates.outlines.svg_path import Pen

from .html_text import number, table, text, width_of

__all__ = ["cost_section", "sheets_section"]

CLASSES = {"mark": "mark", "inside": "inner", "outside": "outer"}
"""What each kind of path looks like: the classes of panels' drawings."""

KIND_WORDS = {"mark": "mark", "inside": "inside cut", "outside": "outside cut"}

SIDES = {"back": "show face down, drawn mirrored", "show": "show face up"}


def sheets_section(sheets: LaidSheets | None) -> str:
    """The drawings, a table of their figures, and notes; nothing without sheets and notes."""
    if sheets is None or not (sheets.plan.sheets or sheets.plan.notes):
        return ""
    notes = "".join(f"<p>{text(note[:1].upper() + note[1:])}.</p>" for note in sheets.plan.notes)
    figures = "\n".join(_figure(sheet) for sheet in sheets.plan.sheets)
    return f'{notes}{_table(sheets.plan.sheets)}\n<div class="sheets">\n{figures}\n</div>' if figures else notes


def cost_section(sheets: LaidSheets | None) -> str:
    """What the sheets, the machine and the hardware cost; nothing if no price is known."""
    if sheets is None:
        return ""
    cost = sheets.cost
    unit = f" {cost.currency}" if cost.currency else ""
    rows = [
        [words, f"{value:.2f}{text(unit)}"]
        for words, value in (
            ("Sheets begun", cost.sheets),
            ("Machine", cost.machine),
            ("Hardware", cost.hardware),
            ("All of it", cost.total),
        )
        if value is not None and (value or words == "All of it")
    ]
    if not any(value for value in (cost.sheets, cost.machine, cost.hardware)):
        return ""
    if cost.material is not None:
        rows.append(["Material by area of the parts alone", f"{cost.material:.2f}{text(unit)}"])
    missing = f"<p>Not known: {text(', '.join(cost.missing))}.</p>" if cost.missing else ""
    return table("Cost", ("What", "Cost"), rows, numeric=(1,)) + missing


def _table(sheets: Sequence[CutSheet]) -> str:
    rows: list[list[str]] = []
    for sheet in sheets:
        time = "–" if sheet.time is None else duration(sheet.time.total_s)
        keep = ", ".join(f"{left.width:.0f} × {left.height:.0f}" for left in sheet.leftovers)
        rows.append(
            [
                text(sheet.name),
                text(f"{stock_name(sheet.stock)}, {sheet.kind.sheet.id}"),
                str(len(sheet.parts)),
                number(100 * sheet.utilisation, 0),
                number(sheet.cut_mm / 1000, 2),
                number(sheet.travel_mm / 1000, 2),
                time,
                keep or "–",
            ]
        )
    heads = ("Sheet", "Stock and size", "Parts", "Used, %", "Cuts, m", "Travel, m", "Time", "Worth keeping, mm")
    return table("Sheets", heads, rows, numeric=(2, 3, 4, 5, 6)) if rows else ""


def _figure(sheet: CutSheet) -> str:
    words = [f"{stock_name(sheet.stock)}, {number(sheet.stock.t)} mm thick", f"{sheet.kind.sheet.id} mm"]
    words += ["turn this offcut over"] * sheet.kind.is_turned_over
    words += [SIDES[sheet.face_up], counted(len(sheet.parts), "part"), counted(len(sheet.paths), "path")]
    seconds = "" if sheet.time is None else f' data-seconds="{sheet.time.total_s:.1f}"'
    name = text(sheet.name)
    return (
        f'<figure id="panel-{name}" class="sheet"{seconds}>\n'
        f'<button type="button" class="drawing" data-panel="{name}" aria-label="Enlarge {name}">\n'
        f"{_drawing(sheet)}\n</button>\n"
        '<div class="play" hidden>'
        f'<button type="button" class="run" aria-label="Play the cutting of {name}">Play</button>'
        f'<input type="range" min="0" max="1000" value="1000" step="1" aria-label="How far {name} is cut">'
        "<output></output></div>\n"
        f"<figcaption><strong>{name}</strong> {text('; '.join(words))}</figcaption></figure>"
    )


def _drawing(sheet: CutSheet) -> str:
    x0, y0, x1, y1 = sheet.box
    pen = Pen(x0, y1, digits=3)
    edge = max(x1 - x0, y1 - y0)
    room = 0.012 * edge
    view = " ".join(number(v, 3) for v in (-room, -room, x1 - x0 + 2 * room, y1 - y0 + 2 * room))
    label = f"{text(sheet.name)}: {counted(len(sheet.parts), 'part')}"
    lines = [f'<svg class="laid" viewBox="{view}" role="img" aria-label="{label}">']
    lines.append('<g class="border">' + "".join(drawn(pen, loop.segments) for loop in sheet.outline) + "</g>")
    for left in sheet.leftovers:
        x, y = left.x - x0, y1 - left.y - left.height
        box = f'x="{number(x, 3)}" y="{number(y, 3)}" width="{number(left.width, 3)}" height="{number(left.height, 3)}"'
        middle = (x + left.width / 2, y + left.height / 2)
        words = _fitted(f"keep {left.width:.0f} × {left.height:.0f}", middle, (left.width, left.height), 0.03 * edge)
        lines.append(f'<g class="keep"><rect {box}/>{words}</g>')
    names = "".join(_name(part, sheet) for part in sheet.parts if not part.label)
    lines.append(f'<g class="names">{names}</g>')
    lines.append(f'<path class="travel" d="{_travel(sheet.paths, (x0, y0), (x0, y1))}"/>')
    for path in sheet.paths:
        words = f"{KIND_WORDS[path.kind]} of {sheet.parts[path.piece].name}"
        lines.append(f'<g class="{CLASSES[path.kind]} path" data-words="{text(words)}">{drawn(pen, path.segments)}</g>')
    lines.append('<circle class="beam" r="0"/>')
    return "\n".join([*lines, "</svg>"])


def _travel(paths: Sequence[CutPath], start: Point, corner: Point) -> str:
    """All travel as one path of moves and lines."""
    words: list[str] = []
    at = start
    for path in paths:
        (ax, ay), (bx, by) = at, path.start
        words.append(
            f"M{number(ax - corner[0], 2)} {number(corner[1] - ay, 2)}L{number(bx - corner[0], 2)} {number(corner[1] - by, 2)}"
        )
        at = path.end
    return "".join(words)


def _name(part: LaidPart, sheet: CutSheet) -> str:
    """The part's name in the middle of its box, along its longer side."""
    box = _box(part)
    x0, y1 = sheet.box[0], sheet.box[3]
    wide, high = box[2] - box[0], box[3] - box[1]
    middle = ((box[0] + box[2]) / 2 - x0, y1 - (box[1] + box[3]) / 2)
    return _fitted(part.name, middle, (wide, high), 0.025 * max(sheet.size))


def _fitted(words: str, middle: Point, room: tuple[float, float], most: float) -> str:
    """Words in the middle of a box of that width and height, along its clearly longer side, as high as it and `most` allow."""
    turn = room[1] > 1.2 * room[0]
    long, short = (room[1], room[0]) if turn else room
    size = min(0.55 * short, most, 0.9 * long / max(1.0, width_of(words, 1.0)))
    if turn:
        return _words(words, (middle[0] + 0.35 * size, middle[1]), size, turn=True)
    return _words(words, (middle[0], middle[1] + 0.35 * size), size)


def _box(part: LaidPart) -> Bounds:
    return part.source.panel.loops[0].moved(part.motion).bounds


def _words(words: str, at: Point, size: float, *, turn: bool = False) -> str:
    x, y = number(at[0], 2), number(at[1], 2)
    turned = f' transform="rotate(-90 {x} {y})"' if turn else ""
    return f'<text x="{x}" y="{y}" font-size="{number(size, 2)}" text-anchor="middle"{turned}>{text(words)}</text>'
