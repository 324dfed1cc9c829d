"""Blocks in DXF files that insert themselves are refused at once."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from panelwright.plates import OutlineError, outline_from_dxf


def drawing(path: Path, inserts: dict[str, list[str]]) -> Path:
    """A file with a rectangle in each block, which inserts the blocks named; model space inserts the first."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    for name, others in inserts.items():
        block = document.blocks.new(name)
        block.add_lwpolyline([(0, 0), (50, 0), (50, 30), (0, 30)], close=True)
        for other in others:
            block.add_blockref(other, (60, 0))
    document.modelspace().add_blockref(next(iter(inserts)), (0, 0))
    document.saveas(path)
    return path


@pytest.mark.parametrize(
    "inserts",
    [{"ring": ["ring"]}, {"ring": ["ring"] * 3}, {"a": ["b"], "b": ["c"], "c": ["b", "b"]}, {"A": ["b"], "b": ["a"]}],
)
def test_a_block_that_inserts_itself_is_refused(tmp_path: Path, inserts: dict[str, list[str]]) -> None:
    """Be it directly or by way of others, and the message names the block."""
    with pytest.raises(OutlineError, match=r"block '\w+' inserts itself.*take it out of the block"):
        outline_from_dxf(drawing(tmp_path / "panel.dxf", inserts))


def test_blocks_that_double_at_each_level_are_refused(tmp_path: Path) -> None:
    """Twenty levels of two inserts each are a million rectangles, though no block inserts itself; the limit is told."""
    inserts = {f"b{level}": [f"b{level + 1}"] * 2 for level in range(20)} | {"b20": []}
    with pytest.raises(OutlineError, match="more than 200,000 entities"):
        outline_from_dxf(drawing(tmp_path / "panel.dxf", inserts))


def test_a_block_may_stand_in_another(tmp_path: Path) -> None:
    """Blocks within blocks are read as before."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    inner = document.blocks.new("inner")
    inner.add_lwpolyline([(0, 0), (50, 0), (50, 30), (0, 30)], close=True)
    document.blocks.new("outer").add_blockref("inner", (5, 0))
    document.modelspace().add_blockref("outer", (10, 0))
    document.saveas(tmp_path / "panel.dxf")
    assert outline_from_dxf(tmp_path / "panel.dxf").bounds == (15, 0, 65, 30)
