"""The reference that pdoc makes of the docstrings: whole, and without a warning."""

from __future__ import annotations

import importlib
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parent / "support" / "reference_pages.py"


def test_every_public_name_has_its_place_and_nothing_is_warned_of(tmp_path: Path) -> None:
    """One page a layer, with every name of its `__all__`, those loaded when first used too."""
    pytest.importorskip("pdoc", reason="pdoc is in the dev extra")
    # in a process of its own, since pages are made of modules that were changed for it
    done = subprocess.run([sys.executable, SCRIPT, tmp_path], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    for layer in ("plates", "joints", "assemblies"):
        page = (tmp_path / "panelwright" / f"{layer}.html").read_text("utf-8")
        for name in importlib.import_module(f"panelwright.{layer}").__all__:
            assert f'id="{name}"' in page, name
