"""Orders of a family: so many of these variants, laid out in one run, every part marked with the variant that it is for."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import pytest
from families import studio_family
from panelwright.assemblies.commands.main import main

SIZES = "variant,width,height\nlow,100,30\nhigh,100,60\nwide,180,30\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The design with its table."""
    studio_family(tmp_path)
    (tmp_path / "sizes.csv").write_text(SIZES, encoding="utf-8")
    return tmp_path


def order(folder: Path, text: str, *more: str) -> int:
    """Lay an order out."""
    path = folder / "order.toml"
    path.write_text(text, encoding="utf-8")
    return main(["nest", str(path), "--out", str(folder / "cut"), "--effort", "0", *more])


def test_an_order_is_one_run_of_all_its_variants(folder: Path) -> None:
    """Panels that are the same for two variants are laid out for each, and each piece is marked with the one it is for."""
    assert order(folder, 'design = "stand.py"\ntable = "sizes.csv"\n[order]\nwide = 1\nlow = 3\n') == 0
    manifest = json.loads((folder / "cut" / "manifest.json").read_text("utf-8"))
    told = [(product["label"], product["copies"], product["parameters"]["width"]) for product in manifest["products"]]
    assert told == [("wide", 1, 180.0), ("low", 3, 100.0)]
    parts = [part for sheet in manifest["sheets"] for part in sheet["parts"]]
    assert Counter(part["panel"] for part in parts) == {"wide/base": 1, "wide/wall": 1, "low/base": 3, "low/wall": 3}
    labels = {part["panel"]: part["label"] for part in parts}
    assert len(set(labels.values())) == 4
    assert all(label for label in labels.values())
    assert {panel["name"]: panel["quantity"] for panel in manifest["panels"]}["low/base"] == 3


def test_one_variant_alone_is_called_after_itself(folder: Path) -> None:
    """Not after the product, which other orders call theirs too."""
    assert order(folder, 'design = "stand.py"\ntable = "sizes.csv"\n[order]\nhigh = 1\n') == 0
    manifest = json.loads((folder / "cut" / "manifest.json").read_text("utf-8"))
    assert [panel["name"] for panel in manifest["panels"]] == ["high/base", "high/wall"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('design = "stand.py"\ntable = "sizes.csv"\n[order]\nlwo = 1\n', "there is no variant 'lwo'; did you mean 'low'?"),
        ('design = "stand.py"\ntable = "sizes.csv"\n[order]\nlow = 0\n', "low of order is 0"),
        ('design = "stand.py"\ntable = "sizes.csv"\n[order]\n', "nothing is ordered"),
        ('table = "sizes.csv"\n[order]\nlow = 1\n', "needs design ="),
        ('design = "stand.py"\ntabel = "sizes.csv"\n[order]\nlow = 1\n', "did you mean 'table'?"),
        ('design = "stand.py"\ntable = "none.csv"\n[order]\nlow = 1\n', "there is no table"),
    ],
)
def test_orders_that_cannot_be(folder: Path, capsys: pytest.CaptureFixture[str], text: str, says: str) -> None:
    """Each fault names what is wrong and writes nothing."""
    assert order(folder, text) == 2
    assert says in capsys.readouterr().err
    assert not (folder / "cut").exists()
