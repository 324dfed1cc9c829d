"""What people read: tables in columns, findings and errors in colour, the stage at work.

Only a terminal sees colours and the bar, and only for a terminal is rich imported.  Everywhere else the same words come out as
plain text, the same to the byte whatever rich is installed and however wide the window is.  Lines are never broken, so that a
path can be copied; cells of a table are, where a terminal is too narrow for it.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from .terminal import is_terminal, write

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress as Bar
    from rich.progress import TaskID

__all__ = ["Progress", "Table", "as_plain", "show"]

# Okabe and Ito's colours, told apart by all eyes; rich finds the nearest that the terminal has, and of 16 colours that is the
# same one for their vermilion and their orange, so warnings are reddish purple
STYLES = {
    r"\berror [A-Z][A-Z-]+(?=:)": "bold #D55E00",
    r"\bwarning [A-Z][A-Z-]+(?=:)": "bold #CC79A7",
    r"\bnote [A-Z][A-Z-]+(?=:)": "bold #56B4E9",
    r"^panelwright:": "bold #D55E00",
}
"""How what a pattern finds is shown."""

BAR, BAR_DONE = "#0072B2", "#009E73"
BAR_WIDTH = 20
"""Characters of the bar: as many as leave room for words on 80 columns."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells in columns; the columns in `right` are set to the right, the first row is a head if `has_head`.

    >>> print(Table((("panel", "pieces"), ("base", "1"), ("cells.along", "12")), right=(1,), has_head=True))
      panel        pieces
      base              1
      cells.along      12
    """

    rows: Sequence[Sequence[str]]
    right: tuple[int, ...] = ()
    has_head: bool = False

    def __str__(self) -> str:
        widths = [max(map(len, column)) for column in zip(*self.rows, strict=True)]
        return "\n".join(
            "  " + "  ".join(self._set(cell, column, widths[column]) for column, cell in enumerate(row)).rstrip()
            for row in self.rows
        )

    def _set(self, cell: str, column: int, width: int) -> str:
        return cell.rjust(width) if column in self.right else cell.ljust(width)


def as_plain(parts: Iterable[str | Table]) -> str:
    """The parts one below the other, as text.

    >>> as_plain(["coffee mug:", Table((("kerf", "0.15"),))])
    'coffee mug:\\n  kerf  0.15\\n'
    """
    return "".join(f"{part}\n" for part in parts)


def show(stream: Any, parts: Iterable[str | Table]) -> None:
    """Write the parts one below the other: in colour on a terminal, as `as_plain` has them elsewhere."""
    if not is_terminal(stream):
        write(stream, as_plain(parts))
        return
    console = _console(stream)
    with console.capture() as kept:  # a terminal with few letters gets escapes from `write`; rich would fail
        for part in parts:
            _print(console, part)
    write(stream, kept.get())


def _console(stream: Any) -> Console:
    """Where rich writes; it hears of terminals that know no colours by itself.  NO_COLOR leaves bold letters out too."""
    from rich.console import Console

    colours: Literal["auto"] | None = None if os.environ.get("NO_COLOR") else "auto"
    return Console(file=stream, color_system=colours, highlight=False, markup=False, emoji=False)


def _print(console: Console, part: str | Table) -> None:
    from rich.padding import Padding
    from rich.table import Table as Columns
    from rich.text import Text

    if isinstance(part, str):
        text = Text(part)
        for pattern, style in STYLES.items():
            text.highlight_regex(pattern, style)
        console.print(text, soft_wrap=True)
        return
    columns = Columns(box=None, show_header=part.has_head, pad_edge=False, padding=(0, 2, 0, 0))
    head, rows = (part.rows[0], part.rows[1:]) if part.has_head else (part.rows[0], part.rows)
    for index, name in enumerate(head):
        columns.add_column(Text(name), justify="right" if index in part.right else "left", overflow="fold")
    for row in rows:
        columns.add_row(*map(Text, row))
    console.print(Padding(columns, (0, 0, 0, 2)))


class Progress:
    """The stage at work and how far all of them are, on one line of a terminal that goes again; silent elsewhere.

    The bar moves when it is told to and never by itself: a thread that redraws it would be in the way of processes started
    meanwhile.
    """

    def __init__(self, stages: Sequence[str]) -> None:
        self.stages = tuple(stages)
        self.done = 0
        self._bar: Bar | None = None
        self._task: TaskID | None = None

    def __enter__(self) -> Progress:
        import sys

        # rich would leave the bar's last words on a terminal that cannot take a line back
        if is_terminal(sys.stderr) and os.environ.get("TERM") not in ("dumb", "unknown"):
            from rich.progress import BarColumn, TextColumn
            from rich.progress import Progress as Bar

            self._bar = Bar(
                BarColumn(BAR_WIDTH, complete_style=BAR, finished_style=BAR_DONE),
                TextColumn("{task.description}", markup=False),
                console=_console(sys.stderr),
                auto_refresh=False,
                transient=True,
            )
            self._bar.start()
        return self

    def next(self) -> None:
        """Show that the next stage begins."""
        self.done += 1
        self._show(f"{self._stage} …", 0.0)

    def tell(self, what: str, share: float = 0.0) -> None:
        """Show how far the stage is: in words, and as a share from 0 to 1."""
        self._show(f"{self._stage}: {what}", share)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()

    @property
    def _stage(self) -> str:
        return f"[{self.done}/{len(self.stages)}] {self.stages[self.done - 1]}"

    def _show(self, words: str, share: float) -> None:
        if self._bar is None:
            return
        if self._task is None:
            self._task = self._bar.add_task(words, total=len(self.stages))
        self._bar.update(self._task, description=words, completed=self.done - 1 + share, refresh=True)
