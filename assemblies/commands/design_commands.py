"""The commands that take designs: what each takes, and what it does with it.  The work is done in modules of their own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shared_options import (
    AnsweredError,
    Chosen,
    Several,
    anyway_option,
    command,
    design_argument,
    help_option,
    json_option,
    no_hardware_option,
    out_option,
    set_option,
    shop_option,
    traceback_option,
)

from .lay_sheets import sheet_options

__all__ = ["PAPERS", "VIEW_NAMES", "booklet", "build", "check", "nest", "picture", "preview", "tolerance_options"]

VIEW_NAMES = ("front", "right", "back", "left", "top", "bottom", "corner", "iso")
"""Names of the views, as in `picture.VIEWS`, which is not loaded for `--help`."""

PAPERS = ("A4", "letter")
"""Papers that a booklet is made for."""

BESIDE = "the shop.toml beside the design"


def _of_a_design(run: Callable[[Chosen], Outcome]) -> Callable[..., Outcome]:
    """A command of one design: its help tells the design's parameters too, and a file to write is asked for by name."""

    @design_argument
    @set_option
    @shop_option(BESIDE)
    @json_option
    @traceback_option
    @click.option("-h", "--help", "asks_help", is_flag=True, help="Show this and the design's parameters, and stop.")
    @click.pass_context
    def run_design(context: click.Context, /, **given: Any) -> Outcome:
        chosen = Chosen(command=context.info_name, **given)
        if chosen.asks_help:
            raise AnsweredError(_help(context, chosen))
        if chosen.design is None:
            raise click.UsageError("give a design file", context)
        if getattr(chosen, "out", "") is None:
            target = "folder to write, --out DIR" if chosen.command == "build" else "file to write, --out FILE"
            raise click.UsageError(f"give the {target}", context)
        return run(chosen)

    made: Callable[..., Outcome] = run_design
    made.__name__, made.__doc__ = run.__name__, run.__doc__
    return made


def tolerance_options(command: Callable[..., Outcome]) -> Callable[..., Outcome]:
    """The options that look at fits over real sheet too."""
    options = (
        click.option(
            "--tolerance",
            is_flag=True,
            help="Tell too how its fits come out over real sheets and cuts: worst cases, shares that jam.",
        ),
        click.option(
            "--draws", metavar="N", type=int, help="With --tolerance: products drawn, 100 to 100000 (default: 10000)."
        ),
        click.option(
            "--draw-seed", metavar="N", type=int, help="With --tolerance: 0 or more (default: 1); the same gives the same."
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


def _help(context: click.Context, chosen: Chosen) -> str:
    from .make_command import parameter_help

    text = f"{context.get_help()}\n\n"
    if chosen.design is None:
        return f"{text}give DESIGN.py too to see the parameters that it takes\n"
    return text + parameter_help(chosen.design, chosen.shop)


@command("Prove a design and write STEP, panels, sheets, parts list and report.")
@out_option("Folder")
@anyway_option
@no_hardware_option("STEP and the report's 3D view")
@click.option("--no-sheets", is_flag=True, help="Do not lay the panels out on sheets.")
@tolerance_options
@sheet_options
@_of_a_design
def build(chosen: Chosen) -> Outcome:
    """Prove a design and write its output folder; errors found keep the old folder as it is."""
    from .make_command import make

    return make(chosen)


@command("Prove a design and write nothing.")
@click.option(
    "--joints", is_flag=True, help="List every joint with its plates and faces, and the design's line that asked for it."
)
@tolerance_options
@click.option(
    "--level",
    metavar="LEVEL",
    default="error",
    help="Exit code 1 from findings of this level on: error, warning or note (default: error).",
)
@click.option(
    "--junit", metavar="FILE", help="Write the findings as a JUnit file too, .xml, for build servers (default: none)."
)
@_of_a_design
def check(chosen: Chosen) -> Outcome:
    """Prove a design and report what was found."""
    from .make_command import make

    return make(chosen)


@command("Draw a design: a shaded PNG or an SVG line drawing.")
@out_option("File, .png or .svg,", "FILE")
@click.option("--view", metavar="NAME", default="corner", help=f"{', '.join(VIEW_NAMES)} (default: corner).")
@click.option("--azimuth", metavar="DEG", type=float, help="In degrees: 0 in front, 90 at the right (default: the view's own).")
@click.option("--elevation", metavar="DEG", type=float, help="In degrees: 0 level, 90 from above (default: the view's own).")
@click.option(
    "--turntable", metavar="N", type=int, help="Pictures from all round, 2 to 360, as FILE-1 and so on (default: one picture)."
)
@click.option(
    "--apart",
    metavar="F",
    type=float,
    default=0.0,
    help="How far apart: 0 together, 1 clear of each other, 20 at most (default: 0).",
)
@click.option("--highlight", metavar="PLATE", help="The plate to show in colour among pale ones (default: all in colour).")
@click.option("--width", metavar="PX", type=int, help="In pixels, 16 or more (default: 1200, of an SVG 800).")
@click.option("--height", metavar="PX", type=int, help="In pixels, 16 or more (default: 900); an SVG's follows its width.")
@no_hardware_option("picture")
@_of_a_design
def picture(chosen: Chosen) -> Outcome:
    """Draw a design, proven or not: shaded if the file ends in .png, visible lines only if it ends in .svg."""
    from .picture_command import draw

    return draw(chosen)


@command("Prove a design and write a PDF to build it by.")
@out_option("File, .pdf,", "FILE")
@click.option("--paper", metavar="NAME", default="A4", help=f"{' or '.join(PAPERS)} (default: A4).")
@click.option("--no-templates", is_flag=True, help="Leave out the panels at true size.")
@anyway_option
@_of_a_design
def booklet(chosen: Chosen) -> Outcome:
    """Prove a design and write a booklet: its picture, parts and hardware, steps, cautions, and templates of all panels
    at true size.  Errors found keep the old file as it is.
    """
    from .make_command import make

    return make(chosen)


@command("Lay out the panels of several products and copies on the shop's sheets.")
@click.argument("wanted", nargs=-1, required=True, metavar="(DESIGN.py ... | JOB.toml)")
@out_option("Folder", required=True)
@click.option(
    "--copies",
    cls=Several,
    metavar="N ...",
    type=int,
    multiple=True,
    help="Copies, 1 or more: one number for all designs, or one for each (default: 1).",
)
@set_option
@shop_option("the shop.toml beside the first design")
@json_option
@traceback_option
@help_option
@sheet_options
def nest(**given: Any) -> Outcome:
    """Prove the products and lay out all their panels on the shop's sheets.  A job file lists products with their copies
    and parameters, and parts that have to lie at one place.
    """
    from .nest_command import run_nest

    return run_nest(Chosen(**given))


@command("Show a design in the browser and follow every save.")
@click.argument("design", metavar="DESIGN.py")
@set_option
@shop_option(BESIDE)
@click.option("--port", metavar="N", type=int, default=0, help="Port of 127.0.0.1, 1 to 65535 (default: any that is free).")
@click.option("--time-limit", metavar="S", type=float, help="Stop a build after S seconds, over 0 (default: 60).")
@click.option("--open", is_flag=True, help="Open the page in the browser.")
@traceback_option
@help_option
def preview(**given: Any) -> Outcome:
    """Serve a design's report page to this machine only, and build it anew whenever the design or a file that it reads is
    saved, or a parameter is moved in the page.  Ctrl-C ends it.
    """
    from .preview_command import run_preview

    return Outcome(run_preview(Chosen(**given)), text="")
