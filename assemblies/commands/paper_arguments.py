"""What `panelwright picture` and `panelwright booklet` take: their parsers, with nothing but the standard library loaded."""

from __future__ import annotations

from typing import Any

__all__ = ["PAPERS", "VIEW_NAMES", "add_booklet", "add_picture"]

VIEW_NAMES = ("front", "right", "back", "left", "top", "bottom", "corner", "iso")
"""Names of the views, as in `picture.VIEWS`, which is not loaded for `--help`."""

PAPERS = ("A4", "letter")
"""Papers that a booklet is made for."""


def add_picture(commands: Any) -> Any:
    """Add the parser of this command; the options that all designs take are added by the caller."""
    picture = commands.add_parser(
        "picture",
        usage="panelwright picture DESIGN.py --out FILE.png|FILE.svg [--view NAME] [--azimuth DEG] [--elevation DEG] "
        "[--turntable N] [--apart F] [--highlight PLATE] [--width PX] [--height PX] [--no-hardware] "
        "[--set NAME=VALUE ...] [--shop FILE] [--json]",
        help="draw a design: a shaded PNG or an SVG line drawing, together or apart",
        description="Draw a design, proven or not: shaded if the file ends in .png, visible lines only if it ends in .svg.",
        add_help=False,
        allow_abbrev=False,
    )
    picture.add_argument("--view", metavar="NAME", default="corner", help=f"{', '.join(VIEW_NAMES)} (default: corner)")
    picture.add_argument("--azimuth", metavar="DEG", type=float, help="instead of the view's own: 0 in front, 90 at the right")
    picture.add_argument("--elevation", metavar="DEG", type=float, help="instead of the view's own: 0 level, 90 from above")
    picture.add_argument("--turntable", metavar="N", type=int, help="N pictures from all round, FILE-1 and so on")
    picture.add_argument("--apart", metavar="F", type=float, default=0.0, help="how far apart: 0 (default) to 1, or more")
    picture.add_argument("--highlight", metavar="PLATE", help="the plate to show in colour among pale ones")
    picture.add_argument("--width", metavar="PX", type=int, help="in pixels (default: 1200, SVG 800)")
    picture.add_argument("--height", metavar="PX", type=int, help="in pixels (default: 900); an SVG's follows its width")
    return picture


def add_booklet(commands: Any) -> Any:
    """Add the parser of this command; the options that all designs take are added by the caller."""
    booklet = commands.add_parser(
        "booklet",
        usage="panelwright booklet DESIGN.py --out FILE.pdf [--paper A4|letter] [--no-templates] [--set NAME=VALUE ...] "
        "[--shop FILE] [--json] [--anyway]",
        help="prove a design and write a PDF to build it by: parts, steps, cautions and templates at true size",
        description="Prove a design and write a booklet: its picture, parts and hardware, steps, cautions, and templates of "
        "all panels at true size.  Errors found keep the old file as it is.",
        add_help=False,
        allow_abbrev=False,
    )
    booklet.add_argument("--paper", metavar="NAME", default="A4", help=f"{' or '.join(PAPERS)} (default: A4)")
    booklet.add_argument("--no-templates", action="store_true", help="leave out the panels at true size")
    return booklet
