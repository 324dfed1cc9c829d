"""Make the pictures of README, guides and cookbook anew: `python examples/make_pictures.py`.

Those of pages need playwright and Chromium; `python examples/make_pictures.py recipes [NAME …]` makes recipes' only.
"""

import io
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from panelwright.assemblies import Assembly
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.pictures.apart import taken_apart
from panelwright.assemblies.pictures.picture import shaded_png
from panelwright.joints import cross_lap, fingers, join, living_hinge, pass_through, t_nut, tabs
from panelwright.joints.spec.pattern import Joint
from panelwright.plates import Frame, Stock, bent_on, rectangle, standing
from panelwright.plates.geometry.curves import Loop, Segment, points_along
from PIL import Image, ImageDraw

HERE = Path(__file__).parent
PROGRAM = (sys.executable, "-m", "panelwright.assemblies.commands.main")
PLY = Stock("birch plywood", 4.0, kerf=0.2, color="orange")
DARK = Stock("walnut plywood", 4.0, kerf=0.2, color="vermillion")


def butting(joint: Joint, edge: str = ">Y", inset: float = 16.0) -> Assembly:
    """A wall that stands on a base."""
    scene = Assembly("butting", stock=PLY)
    base = scene.add("base", rectangle(64, 48))
    wall = scene.add("wall", rectangle(64, 34), standing(base.face(">Z"), facing="-Y", inset=inset), stock=DARK)
    join(wall.face("<Z"), base.face(edge) if inset == 0 else base.face(">Z"), joint)
    return scene


def crossing() -> Assembly:
    """Two upright plates that cross."""
    scene = Assembly("crossing", stock=PLY)
    low = scene.add("low", rectangle(64, 34), Frame.facing((0, 2, 0), show=(0, -1, 0), right=(1, 0, 0)))
    high = scene.add("high", rectangle(48, 34), Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)), stock=DARK)
    join(low, high, cross_lap())
    return scene


def passing() -> Assembly:
    """A rail that goes through a rib."""
    scene = Assembly("passing", stock=PLY)
    rib = scene.add("rib", rectangle(50, 44), Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    rail = scene.add("rail", rectangle(70, 20), Frame((0, 0, -2)), stock=DARK)
    join(rail, rib, pass_through(owner="first"))
    return scene


def bent() -> Assembly:
    """Two plates and the bend between them."""
    scene = Assembly("bent", stock=PLY)
    front = scene.add("front", rectangle(20, 46), Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    side = scene.add("side", rectangle(20, 46), bent_on(front.face(">X"), radius=60, angle_deg=80))
    join(front.face(">X"), side, living_hinge())
    return scene


JOINTS: dict[str, tuple[Callable[[], Assembly], float]] = {
    "tabs": (lambda: butting(tabs(count=2, width=14)), 0.35),
    "fingers": (lambda: butting(fingers(width=9), inset=0.0), 0.3),
    "cross-lap": (crossing, 0.0),
    "t-nut": (lambda: butting(t_nut("M3", count=1, tabs=tabs(count=2, width=10))), 0.5),
    "living-hinge": (bent, 0.0),
    "pass-through": (passing, 0.0),
}
"""A scene for each kind of joint, and how far it is pulled apart."""


def recipes(*names: str) -> None:
    """A small picture of each recipe of the cookbook, or of those named; where a choice is what it is about, of each choice."""
    for path in sorted((HERE / "recipes").glob("*.py")):
        if names and path.stem not in names:
            continue
        design = load_design(path)
        choice = next((parameter for parameter in design.parameters if len(parameter.reader.options) > 2), None)
        settings: list[dict[str, object]] = [{choice.name: option} for option in choice.reader.options] if choice else [{}]
        target = HERE / "pictures" / "recipes" / f"{path.stem.replace('_', '-')}.png"
        target.parent.mkdir(exist_ok=True)
        side = 1 if choice is None else 2
        with design.surroundings():
            products = [run(design, values).product() for values in settings]
        drawn = [shaded_png(made.shown, width=480 // side, height=360 // side) for made in products]
        drawn += [panel_png(part.loops, part.marks, 480, 150) for part in products[0].parts if part.marks]
        target.write_bytes(side_by_side(drawn, side))
        print(target)


def panel_png(loops: Sequence[Loop], marks: Sequence[Sequence[Segment]], width: int, height: int) -> bytes:
    """A panel seen on its show face, its cuts in black and what is engraved in blue."""
    x0, y0, x1, y1 = loops[0].bounds
    scale, fine = min((width - 20) / (x1 - x0), (height - 20) / (y1 - y0)), 4
    whole = Image.new("RGB", (width * fine, height * fine), "white")
    pen = ImageDraw.Draw(whole)
    for segments, color in [*((loop.segments, "black") for loop in loops), *((mark, "#0072B2") for mark in marks)]:
        points = [*points_along(segments, 0.05), segments[-1].end]
        flat = [
            (fine * (width / 2 + scale * (x - (x0 + x1) / 2)), fine * (height / 2 - scale * (y - (y0 + y1) / 2)))
            for x, y in points
        ]
        pen.line(flat, fill=color, width=int(1.5 * fine), joint="curve")
    out = io.BytesIO()
    whole.resize((width, height)).save(out, "png")
    return out.getvalue()


def side_by_side(pictures: list[bytes], columns: int) -> bytes:
    """Pictures of one size as one picture, row by row, in few colours: they are drawings."""
    drawn = [Image.open(io.BytesIO(picture)).convert("RGB") for picture in pictures]
    rows = [drawn[first : first + columns] for first in range(0, len(drawn), columns)]
    whole = Image.new("RGB", (columns * drawn[0].width, sum(row[0].height for row in rows)), "white")
    y = 0
    for row in rows:
        for number, picture in enumerate(row):
            whole.paste(picture, (number * picture.width, y))
        y += row[0].height
    out = io.BytesIO()
    whole.quantize(64).save(out, "png", optimize=True)
    return out.getvalue()


def main() -> None:
    """One picture of each kind of joint; of each example one assembled and one taken apart."""
    for name, (scene, explode) in JOINTS.items():
        target = HERE / "pictures" / f"joint-{name}.png"
        target.write_bytes(shaded_png(scene().product().shown, width=360, height=270, explode=explode))
        print(target)
    for path in sorted(HERE.glob("*.py")):
        if path.stem.startswith("make_"):
            continue
        design = load_design(path)
        with design.surroundings():
            product = run(design).product()
        for suffix, share in (("", 0.0), ("-apart", 1.0)):
            target = HERE / "pictures" / f"{path.stem.replace('_', '-')}{suffix}.png"
            parts = taken_apart(product.shown, product.plan, share)
            target.write_bytes(shaded_png(parts, width=900, height=650))
            print(target)


def of_the_readme() -> None:
    """A picture of the design that the README shows, from its text."""
    text = (HERE.parent / "README.md").read_text("utf-8")
    source = text[text.index("```python\n") + len("```python\n") :].partition("```")[0]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "brush_stand.py"
        path.write_text(source, "utf-8")
        product = run(load_design(path)).product()
    target = HERE / "pictures" / "brush-stand.png"
    target.write_bytes(shaded_png(product.shown, width=900, height=650))
    print(target)


def pages() -> None:
    """Pictures of the report's sheets and of the live preview, taken in a browser."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or shutil.which("google-chrome")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox", "--enable-unsafe-swiftshader"])
        page = browser.new_page(viewport={"width": 1200, "height": 860})
        subprocess.run([*PROGRAM, "build", HERE / "brush_rack.py", "--out", folder], check=True)
        page.goto(f"file://{folder}/report.html")
        page.wait_for_selector("html[data-ready]")
        sheets = page.locator("#sheets .sheets")
        for bar in sheets.locator("input").all():
            bar.evaluate("bar => { bar.value = 620; bar.dispatchEvent(new Event('input')); }")
        sheets.screenshot(path=HERE / "pictures" / "sheets.png")
        command = [*PROGRAM, "preview", str(HERE / "tile_tray.py")]
        with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as preview:
            assert preview.stderr is not None
            address = re.search(r"http://[\d.:]+/", preview.stderr.readline())
            assert address is not None
            page.goto(address.group())
            page.wait_for_selector("html[data-model='1']")
            page.screenshot(path=HERE / "pictures" / "preview.png")
            preview.send_signal(signal.SIGINT)
        browser.close()


if __name__ == "__main__":
    if sys.argv[1:2] == ["recipes"]:
        recipes(*sys.argv[2:])
    else:
        main()
        of_the_readme()
        recipes()
        pages()
