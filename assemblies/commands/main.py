"""The command line: `panelwright COMMAND …`.

Exit codes: 0 if all is well (warnings allowed), 1 if the proof found an error, 2 for wrong use or a design that
fails, 130 after Ctrl-C.  Standard output carries the result only; progress and whatever the design prints go to
standard error.

Nothing but Click is imported before it is needed: `--help` must answer at once.
"""

from __future__ import annotations

import contextlib
import gc
import sys
from collections.abc import Sequence

import click
from panelwright.assemblies.console.outcome import FAILED, INTERRUPTED, Outcome, failure
from panelwright.assemblies.console.shared_options import AnsweredError, help_option
from panelwright.assemblies.console.shown import show
from panelwright.assemblies.console.terminal import drop_stdout, ending_as_interrupt, write
from panelwright.assemblies.product.cautions import CAUTION
from panelwright.assemblies.product.json_documents import document_text

from .design_commands import booklet, build, check, nest, picture, preview
from .explain_command import explain
from .family_command import family
from .history_commands import compare, verify
from .new_command import new
from .shop_commands import calibrate, coupon, stocks

__all__ = ["CAUTION", "main"]

COMMANDS = (new, build, check, picture, booklet, nest, family, preview, compare, verify, stocks, coupon, calibrate, explain)
"""In the order in which help lists them: designs first, then the shop."""


COLLECTED_EVERY = 100_000
"""New objects between two looks for garbage in cycles, where the process is ours alone.  Loading the kernel makes 200,000
objects that stay; at Python's 700 they are looked through some 300 times, a tenth of the time of a `check`."""


class _Commands(click.Group):
    """Lists its commands in the order in which they were added."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line with the given arguments (None: the program's own) and return the exit code."""
    if argv is None:
        gc.set_threshold(COLLECTED_EVERY)
    arguments = list(sys.argv[1:] if argv is None else argv)
    with ending_as_interrupt():
        try:
            outcome = _run(arguments)
        except KeyboardInterrupt as error:
            outcome = Outcome(INTERRUPTED, error=error, message="stopped; old output untouched")
        except Exception as error:  # the last place where anything can be told in words
            outcome = failure(error, arguments)
        try:
            _report(outcome, as_json="--json" in arguments)
        except KeyboardInterrupt:
            return INTERRUPTED
        except BrokenPipeError:
            drop_stdout()
        except OSError as error:
            drop_stdout()
            with contextlib.suppress(OSError):
                write(sys.stderr, f"panelwright: the result could not be printed: {error.strerror}\n")
            return outcome.code or FAILED
    return outcome.code


def _run(arguments: list[str]) -> Outcome:
    """Read the arguments and run the command.

    Click's own `main` is not called: it ends the program by itself, and takes interrupts and broken pipes for its own.
    """
    try:
        with panelwright.make_context("panelwright", arguments) as context:
            outcome: Outcome = panelwright.invoke(context)
    except AnsweredError as answer:
        return Outcome(text=str(answer))
    return outcome


def _report(outcome: Outcome, *, as_json: bool) -> None:
    if outcome.text is not None:
        write(sys.stdout, outcome.text)
    elif as_json:
        write(sys.stdout, document_text(outcome.json()))
    else:
        show(sys.stderr if outcome.is_failure else sys.stdout, outcome.words())


def _answer_version(_: click.Context, __: click.Parameter, is_asked: bool) -> None:
    if is_asked:
        from importlib.metadata import PackageNotFoundError, version

        try:
            number = version("panelwright")
        except PackageNotFoundError:  # run from its folder
            number = "unknown"
        raise AnsweredError(f"panelwright {number}\n")


@click.group(
    cls=_Commands,
    invoke_without_command=True,
    no_args_is_help=False,
    add_help_option=False,
    context_settings={"max_content_width": 100},
    epilog="`panelwright build DESIGN.py --help` also lists the design's own parameters.",
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_answer_version,
    help="Print the version and stop.",
)
@help_option
@click.pass_context
def panelwright(context: click.Context) -> None:
    """Build or check a slotted flat-sheet product written as a Python design file."""
    if context.invoked_subcommand is None:
        raise click.UsageError(f"give a command: {', '.join(COMMANDS_BY_NAME)}", context)


for _command in COMMANDS:
    panelwright.add_command(_command)
COMMANDS_BY_NAME = tuple(panelwright.commands)


if __name__ == "__main__":
    sys.exit(main())
