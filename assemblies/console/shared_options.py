"""Options that several commands take, each told once, and how arguments are read beyond what Click does by itself.

Nothing but Click is imported: `--help` must answer at once.  Where a range or a default lives in a module that takes its time
to load, the words here repeat it, and tests hold them to it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any, TypeVar

import click

__all__ = [
    "AnsweredError",
    "Chosen",
    "Settings",
    "Several",
    "Sheet",
    "anyway_option",
    "command",
    "design_argument",
    "help_option",
    "json_option",
    "no_hardware_option",
    "out_option",
    "set_option",
    "shop_option",
    "traceback_option",
]

C = TypeVar("C", bound=Callable[..., Any])
Decorator = Callable[[C], C]

FIRST_OF_A_NUMBER = "+-.0123456789"


class Chosen(SimpleNamespace):
    """What the command line says: the command, and the value of each option by its name."""


class AnsweredError(Exception):
    """No failure: an option such as `--help` has its answer, and nothing is to be run."""


class Several(click.Option):
    """An option that takes several numbers in a row, `--thickness 3.9 3.95 3.92`, which Click has no word for."""

    def goes_on(self, word: str) -> bool:
        """Whether a word behind the first is one more value rather than an argument of the command."""
        return word[:1] in FIRST_OF_A_NUMBER


class Settings(Several):
    """An option that takes several settings in a row, `--set width=300 lid=yes`; what sets nothing is no setting."""

    def goes_on(self, word: str) -> bool:
        """Whether the word sets something."""
        return "=" in word


class Sheet(click.Option):
    """An option that says how sheets are laid out and cut; help lists these by themselves."""


class Command(click.Command):
    """A command whose options may take several values in a row, and whose help lists sheet options by themselves."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Write values in a row as Click wants them, one option each, before Click reads them.

        Raises `click.UsageError` for words too many, with --set where it was meant, and where `--out` is missing.
        """
        may_have_more, ctx.allow_extra_args = ctx.allow_extra_args, True
        try:
            more = super().parse_args(ctx, _one_by_one(self, ctx, args))
        except click.MissingParameter as error:
            if error.param is None or error.param.name != "out":
                raise
            what = "folder" if error.param.metavar == "DIR" else "file"
            raise click.UsageError(f"give the {what} to write, --out {error.param.metavar}", ctx) from None
        if more and not may_have_more:
            takes_set = any(parameter.name == "settings" for parameter in self.params)
            meant = "; did you mean --set " + " ".join(more) + "?"
            is_setting = takes_set and all("=" in word for word in more)
            many = "s" if len(more) > 1 else ""
            ctx.fail(f"Got unexpected extra argument{many} ({' '.join(more)}){meant if is_setting else ''}")
        return more

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the options, those for sheets in a section of their own."""
        for title, is_sheet in (("Options", False), ("Sheet options", True)):
            options = [parameter for parameter in self.params if isinstance(parameter, click.Option)]
            chosen = [option for option in options if isinstance(option, Sheet) == is_sheet]
            rows = [row for row in (option.get_help_record(ctx) for option in chosen) if row is not None]
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


def command(summary: str) -> Callable[[Callable[..., Any]], Command]:
    """Makes a function a command; `summary` tells of it among others, its docstring says more."""
    return click.command(cls=Command, add_help_option=False, short_help=summary)


def _one_by_one(asked: click.Command, context: click.Context, arguments: Sequence[str]) -> list[str]:
    """The arguments with an option name before each value of a row; an option is never taken for a value.

    Raises `click.BadOptionUsage` for an option without its value: Click would take the next option for it.
    """
    options = {name: option for option in asked.params if isinstance(option, click.Option) for name in option.opts}
    given: list[str] = []
    waiting = list(arguments)
    while waiting:
        word = waiting.pop(0)
        given.append(word)
        if word == "--":
            return given + waiting
        option = options.get(word)
        if option is None or option.is_flag:
            continue
        if not waiting or _is_option(waiting[0]):
            raise click.BadOptionUsage(word, f"Option {word!r} requires an argument.", context)
        given.append(waiting.pop(0))
        while isinstance(option, Several) and waiting and not _is_option(waiting[0]) and option.goes_on(waiting[0]):
            given += [word, waiting.pop(0)]
    return given


def _is_option(word: str) -> bool:
    """Whether a word is the name of an option: it has a dash in front, and is neither a negative number nor a dash alone.

    >>> [_is_option(word) for word in ("--out", "-h", "-0.1", "-", "out")]
    [True, True, False, False, False]
    """
    return word[:1] == "-" and word[1:2] not in ("", *FIRST_OF_A_NUMBER[2:])


def _answer_help(context: click.Context, _: click.Parameter, is_asked: bool) -> None:
    if is_asked:
        raise AnsweredError(f"{context.get_help()}\n")


def help_option(command: C) -> C:
    """`--help`, which comes before everything else."""
    return click.option(
        "-h",
        "--help",
        is_flag=True,
        is_eager=True,
        expose_value=False,
        callback=_answer_help,
        help="Show this and stop.",
    )(command)


design_argument: Decorator[Any] = click.argument("design", required=False, metavar="DESIGN.py")
"""The design file; whether it is missing is asked later, since `--help` goes without."""

json_option: Decorator[Any] = click.option("--json", is_flag=True, help="Print one JSON object instead of text.")
traceback_option: Decorator[Any] = click.option("--traceback", is_flag=True, help="Show where a failure came from, in full.")
anyway_option: Decorator[Any] = click.option("--anyway", is_flag=True, help="Write even if the proof found errors.")
set_option: Decorator[Any] = click.option(
    "--set",
    "settings",
    cls=Settings,
    multiple=True,
    metavar="NAME=VALUE ...",
    help="Set parameters of the design; the others keep their defaults.",
)


def out_option(what: str, metavar: str = "DIR", **more: Any) -> Decorator[Any]:
    """`--out`, the file or folder to write; without it nothing is run, whether Click says so or we do."""
    said = "" if more.get("required") else "  [required]"
    return click.option("--out", metavar=metavar, help=f"{what} to write or replace.{said}", **more)


def shop_option(otherwise: str) -> Decorator[Any]:
    """`--shop`, the shop file; `otherwise` says which one is read without it."""
    return click.option("--shop", metavar="FILE", help=f"Shop file (default: {otherwise}).")


def no_hardware_option(shown: str) -> Decorator[Any]:
    """`--no-hardware`; `shown` says what screws and nuts are left out of."""
    return click.option("--no-hardware", is_flag=True, help=f"Leave screws and nuts out of the {shown}.")
