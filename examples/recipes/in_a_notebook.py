"""A brush block as one works on it in a notebook: every cell below `# %%` shows a plate, the block, and what the proof says."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, grid, hole, rectangle

BIRCH = stock("birch 4")


def design(
    columns: Annotated[int, Range(3, 8)] = 5,
    pitch: Annotated[float, Range(22, 34)] = 26.0,
) -> Assembly:
    """A block that brushes stand in; `columns` of holes, `pitch` mm apart."""
    width, depth, height = columns * pitch + 20, 3 * pitch, 60.0
    block = Assembly("brush block", stock=BIRCH)
    for name, z in (("lower", 12), ("upper", height - 16)):
        block.add(name, rectangle(width, depth).cut(grid(hole(12), columns, 2, pitch=pitch)), Frame((0, 0, z)))
    for name, x, way in (("left", -width / 2, -1), ("right", width / 2, 1)):
        side = rectangle(depth, height).rounded(8, ">Y")
        block.add(name, side, Frame.facing((x, 0, height / 2), show=(way, 0, 0), right=(0, way, 0)))
    join_touching(block, tabs(count=2, width=12))
    return block


# %%
design(columns=6)  # the last line of a cell is shown: an assembly as its line drawing
# %%
block = design(columns=6)
block["upper"]  # a plate as its outline, true to scale
# %%
block.check()  # () when the proof found nothing wrong
