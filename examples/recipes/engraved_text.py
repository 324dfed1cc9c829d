"""A sign for a shelf of glazes: its text is a parameter, engraved in single strokes on the face that is seen."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Range, rectangle, rounded_rectangle, standing

BIRCH = stock("birch 4")


def design(
    text: str = "Ash glazes",
    letters: Annotated[float, Range(8, 20)] = 14.0,
    lean: Annotated[float, Range(0, 25)] = 15.0,
) -> Assembly:
    """A sign.

    Args:
        text: what it says: letters A to Z, figures, and . , : - + = × / ( )
        letters: how high its letters are, in mm.
        lean: how far it leans back, in degrees.
    """
    width = max(80.0, len(text) * letters + 30)  # a letter and its gap are as wide as the letter is high, at most
    board = rounded_rectangle(width, 3 * letters + 10, [0, 0, 6, 6]).lettered(text, letters)
    sign = Assembly("sign", stock=BIRCH)
    foot = sign.add("foot", rectangle(width, 60))
    sign.add("board", board, standing(foot.show, facing="-Y", inset=24, lean_deg=lean))
    join_touching(sign, tabs(count=2, width=16))
    return sign
