"""README, guides and DEVELOPERS.md: their code runs, their tables are those of the code, their links hold."""

from __future__ import annotations

import importlib
import inspect
import re
import shlex
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from guide_tables import GUIDES, ROOT, anew, asked
from panelwright.assemblies import Assembly, Shop
from panelwright.assemblies.commands.main import COMMANDS
from panelwright.assemblies.data.finding_codes import FINDING_CODES
from warm import warm

README = ROOT / "README.md"
PAGES = (README, *GUIDES)
OTHERS = (ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md")
LAYERS = ("plates", "joints", "assemblies")
UNMEASURED = {"UNCALIBRATED", "MEASURE-FIRST"}
"""What is told of a stock by name as shipped, which nobody has measured."""

ANEW = "run `python tests/support/guide_tables.py`"


def name_of(path: Path) -> str:
    """A page's name in test ids."""
    return str(path.relative_to(ROOT))


def blocks(path: Path, language: str) -> list[str]:
    """All code blocks of a page in one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", path.read_text("utf-8"), re.DOTALL | re.MULTILINE)


def the_block(name: str, language: str, holds: str) -> str:
    """The first block of a guide that holds some words."""
    return next(block for block in blocks(ROOT / name, language) if holds in block)


def prose(path: Path) -> str:
    """A page without its code blocks."""
    return re.sub(r"^```.*?^```", "", path.read_text("utf-8"), flags=re.DOTALL | re.MULTILINE)


def slug(heading: str) -> str:
    """The anchor that GitHub gives a heading.

    >>> slug("Bridges, shared cuts, paper"), slug("`tabs`: on an edge")
    ('bridges-shared-cuts-paper', 'tabs-on-an-edge')
    """
    words = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading.strip().lower())
    return re.sub(r"[^\w\- ]", "", words).replace(" ", "-")


def anchors(path: Path) -> set[str]:
    """All anchors of a page; a heading that comes again gets a number."""
    seen: Counter[str] = Counter()
    found = set()
    for heading in re.findall(r"^#{1,6} +(.*)$", prose(path), re.MULTILINE):
        plain = slug(heading)
        found.add(plain if not seen[plain] else f"{plain}-{seen[plain]}")
        seen[plain] += 1
    return found


def test_there_is_a_guide_to_each_layer_and_the_door_is_small() -> None:
    """One in each top folder, and more in rooms of the product's; the README has 150 lines at most and names them all."""
    assert {ROOT / layer / "README.md" for layer in LAYERS} <= set(GUIDES)
    assert len(GUIDES) >= 7
    text = README.read_text("utf-8")
    assert len(text.splitlines()) <= 150
    for guide in GUIDES:
        assert f"({guide.relative_to(ROOT).as_posix()}" in text, guide


@pytest.mark.parametrize("path", GUIDES, ids=name_of)
def test_tables_are_those_of_the_code(path: Path) -> None:
    """Names, units, options, codes and stocks in a guide are what the code says now."""
    text = path.read_text("utf-8")
    assert anew(text) == text, ANEW
    assert text.count("<!-- end -->") == len(re.findall(r"<!-- (?:names|codes|options|stocks|hazards)", text))


@pytest.mark.parametrize("layer", LAYERS)
def test_every_public_name_stands_in_one_table(layer: str) -> None:
    """Each in one table of one guide; what is no public name has its module before it."""
    told = Counter(word for path in GUIDES for word in asked(path.read_text("utf-8"), f"names {layer}") if "." not in word)
    public = importlib.import_module(f"panelwright.{layer}").__all__
    assert told == Counter(public), f"put it into a `names {layer}` comment of {layer}/README.md, then {ANEW}"


def test_every_finding_code_stands_in_the_guide_to_the_proof() -> None:
    """Once, with its level, what it means and what mends it."""
    text = (ROOT / "assemblies/proof/README.md").read_text("utf-8")
    assert Counter(asked(text, "codes")) == Counter(list(FINDING_CODES)), f"put it into a `codes` comment, then {ANEW}"
    for code, entry in FINDING_CODES.items():
        section = text.partition(f"#### {code}\n")[2].partition("\n#")[0]
        assert entry.meaning in section
        assert entry.mend in section


@pytest.mark.parametrize("path", [path for path in GUIDES if path.parent.name != "examples"], ids=name_of)
def test_code_in_a_guide_runs_and_is_proven(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Block after block, as a reader would type them; after each, every assembly there is has only findings that it accepts.

    But for what nobody has measured, where a stock is named as shipped.  The cookbook's code is that of its recipes, which
    `test_cookbook.py` proves.
    """
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    looked = 0
    for source in blocks(path, "python"):
        exec(compile(source, name_of(path), "exec"), names)
        for made in {id(made): made for made in names.values() if isinstance(made, Assembly)}.values():
            found = {finding.code for finding in made.check() if not finding.accepted}
            stated = all(placed.plate.stock.is_stated for placed in made.placed_plates())
            assert found <= (set() if stated else UNMEASURED), (made.name, [str(finding) for finding in made.check()])
            looked += 1
    assert looked or not blocks(path, "python") or "shop" in path.parts


def test_there_is_code_in_the_guides() -> None:
    """A good deal of it, so that the test above has something to run."""
    assert sum(len(blocks(path, "python")) for path in GUIDES) >= 15


@pytest.mark.parametrize("path", [*PAGES, *OTHERS], ids=name_of)
def test_links_anchors_and_pictures_hold(path: Path) -> None:
    """Every link leads to a file or folder of the repository, and every anchor to a heading of it."""
    text = prose(path)
    links = [*re.findall(r"\]\(([^)\s]+)\)", text), *re.findall(r'src="([^"]+)"', text)]
    for link in links:
        if re.match(r"https?://", link):
            continue
        name, _, anchor = link.partition("#")
        target = (path.parent / name).resolve() if name else path
        assert target.exists(), link
        assert ROOT in (target, *target.parents), link
        if anchor:
            assert anchor in anchors(target), link
    assert links or path in OTHERS


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_calls_that_pages_name_exist(path: Path) -> None:
    """Whatever stands in prose as `name(` is a public function, a method of a public class, or one that designs write."""
    known = {"design", "help", "replace"}  # what designs are, Python's own, and `dataclasses.replace`
    for layer in LAYERS:
        module = importlib.import_module(f"panelwright.{layer}")
        known |= set(module.__all__)
        for name in module.__all__:
            found = getattr(module, name)
            known |= {key for key, _ in inspect.getmembers(found)} if inspect.isclass(found) else set()
    from panelwright.assemblies import testing
    from panelwright.assemblies.design.placed_sheet import PlacedSheet

    known |= {*testing.__all__, "prove_design"}
    known |= {key for key, _ in inspect.getmembers(PlacedSheet)} | {"PlacedSheet"}
    for code in re.findall(r"`([^`\n]+)`", prose(path)):
        if "cq." in code:  # CadQuery's own
            continue
        for name in re.findall(r"([A-Za-z_]+)\(", re.sub(r'"[^"]*"', "", code)):
            assert name in known, code


@pytest.mark.parametrize("path", PAGES, ids=name_of)
def test_commands_and_options_that_pages_name_exist(path: Path) -> None:
    """Every `panelwright COMMAND`, and every option in prose or behind a command, is one that the program has."""
    options = {command.name: {name for one in command.params for name in one.opts} for command in COMMANDS}
    every = {name for names in options.values() for name in names} | {"--help"}
    text = prose(path)
    for name in re.findall(r"`panelwright ([a-z]+)", text):
        assert name in options, name
    for code in re.findall(r"`([^`\n]+)`", text):
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]*", code):
            assert option in every, option
    for block in blocks(path, "sh"):
        for line in block.splitlines():
            if line.startswith("panelwright "):
                words = shlex.split(line, comments=True)
                assert {word for word in words if word.startswith("--")} <= options[words[1]] | {"--help"}, line


def run(line: str, folder: Path, *more: str) -> subprocess.CompletedProcess[str]:
    """Run a line of a guide in a folder."""
    return warm().run(*shlex.split(line, comments=True)[1:], *more, cwd=folder)


def test_the_shop_file_in_the_guide_is_read() -> None:
    """It has no key that nobody knows, and what it says arrives."""
    shop = Shop.from_text(the_block("assemblies/shop/README.md", "toml", "# shop.toml"))
    assert shop["birch 4"].is_calibrated
    assert (shop["birch 4"].t, shop["birch 4"].density) == (3.87, 660)
    assert shop.shelf("birch 4").offcuts[0].outline.area == 48000
    assert shop.price_of("ISO 4762 M3 × 16") == 0.06


def test_the_guide_names_every_key_of_the_shop_file() -> None:
    """In its table of keys, and no key that there is not."""
    from panelwright.assemblies.shop import shop_file

    text = (ROOT / "assemblies/shop/README.md").read_text("utf-8")
    table = text.partition("All keys:")[2].partition("\n\nWithout")[0]
    told = set(re.findall(r"`([a-z][a-z0-9_]+)`", table))
    known = {*shop_file._STOCK_KEYS, *shop_file._MACHINE_KEYS} - {"sheets", "offcuts", "uncertainty", "sources"}
    sheets = {"width_mm", "height_mm", "count", "price", "outline_mm"}
    assert told - {"calibrate"} == known | sheets | {"currency"}


def test_the_nests_in_the_guide_run(tmp_path: Path) -> None:
    """Both commands as they stand there, beside the examples and their shop file, with the job file as it stands there."""
    job = the_block("assemblies/sheets/README.md", "toml", "# march.toml")
    (tmp_path / "march.toml").write_text(job, encoding="utf-8")
    for name in ("brush_rack.py", "tile_tray.py", "shop.toml"):
        shutil.copy(ROOT / "examples" / name, tmp_path)
    for line in the_block("assemblies/sheets/README.md", "sh", "panelwright nest").strip().splitlines():
        done = run(line, tmp_path, "--effort", "5")
        assert done.returncode == 0, done.stderr
    assert "sheets taken off" in done.stdout
    assert len(list((tmp_path / "batch" / "sheets").iterdir())) >= 3


def test_the_shop_commands_in_the_guide_run(tmp_path: Path) -> None:
    """As they stand there, one after the other, in an empty folder."""
    lines = the_block("assemblies/shop/README.md", "sh", "panelwright calibrate").strip().splitlines()
    assert [line.split()[1] for line in lines] == ["stocks", "coupon", "calibrate"]
    for line in lines:
        done = run(line, tmp_path)
        assert done.returncode == 0, done.stderr
    assert 'based_on = "birch 4"' in (tmp_path / "shop.toml").read_text("utf-8")
    assert len(list((tmp_path / "test").iterdir())) == 3
