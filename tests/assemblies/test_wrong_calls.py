"""A design that calls the toolkit with a slip of the pen is told what to write."""

from __future__ import annotations

from pathlib import Path

import pytest
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.plates.errors import DesignError

DESIGN = """
from panelwright.assemblies import Assembly, tray
from panelwright.joints import tabs, t_nut
from panelwright.plates import Stock, hole, rectangle

PLY = Stock("birch plywood", 4)


def design() -> Assembly:
    rack = Assembly("brush rack", stock=PLY)
    {call}
    return rack
"""


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("tabs(widht=3)", "tabs() takes no widht=; did you mean width=?"),
        ("Stock('MDF', 3, kerff=0.2)", "Stock() takes no kerff=; did you mean kerf=?"),
        ("rack.add('base', rectangle(9, 9), stok=PLY)", "Assembly.add() takes no stok=; did you mean stock=?"),
        ("rectangle(9, 9).marked(at=3)", "Outline.marked() takes no at=; it takes "),
        (
            "Assembly(PLY, 'rack')",
            "Assembly() is given too few or too many values; it takes name, and by name stock=",
        ),
        ("Assembly()", "Assembly() is given too few or too many values; it takes name, and by name"),
        ("rectangle(3, width=4)", "rectangle() is given width twice; it takes width, height"),
        (
            "tray('t', stock=PLY, width=90, depth=60, height=30, cut={'frnt': hole(3)})",
            "did you mean 'front'? the plates are",
        ),
        (
            "tray('t', stock=PLY, width=90, depth=60, height=30, cut={'back': hole(3)})",
            "did you mean 'rear'? the plates are",
        ),
    ],
)
def test_the_nearest_name_is_told(call: str, says: str, tmp_path: Path) -> None:
    """With the design's line, and by the names that designs know."""
    path = tmp_path / "rack.py"
    path.write_text(DESIGN.format(call=call), "utf-8")
    with pytest.raises(DesignError) as caught:
        run(load_design(path))
    assert says in str(caught.value)
    assert "rack.py:11 in design" in str(caught.value)
    assert "Collected" not in str(caught.value)


@pytest.mark.parametrize("call", ["int(widht=3)", "(lambda a: a)()", "'a' + 1", "(lambda tabs: tabs(b=1))(lambda a: a)"])
def test_other_type_errors_are_told_as_they_are(call: str, tmp_path: Path) -> None:
    """What Python or the design's own functions refuse has Python's words."""
    path = tmp_path / "rack.py"
    path.write_text(DESIGN.format(call=call), "utf-8")
    with pytest.raises(DesignError, match="TypeError: "):
        run(load_design(path))
