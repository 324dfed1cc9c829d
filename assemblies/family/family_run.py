"""A family from its table to its summary: what is made, what is kept from an earlier run, and what came of it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from panelwright.assemblies.shop.in_force import find_shop_file

from .family_files import Summary, write_summary
from .folder_of_family import held_folder, left_over, records_file, spool_file
from .one_variant import Asked, Work
from .pool import Limits, Pool
from .pool_worker import read_work
from .records import Records, Unchanged, digest_of_run
from .rows import Row

__all__ = ["FamilyMade", "Tell", "make_family", "time_words"]

Tell = Callable[[str, float], None]
"""Hears how far a run is: in words, and as a share from 0 to 1."""


@dataclass(frozen=True, slots=True)
class FamilyMade:
    """What a run came to: its summary, how many variants were kept from an earlier run, and what is to be said.

    `is_stopped` tells that Ctrl-C ended it; `left_over` names folders of variants that are not of this run.
    """

    summary: Summary
    out: Path
    kept: int = 0
    is_stopped: bool = False
    left_over: tuple[str, ...] = ()


def make_family(
    asked: Asked, table: str, *, jobs: int, limits: Limits, resume: bool, tell: Tell, stage: Callable[[], None]
) -> FamilyMade:
    """Make all variants of a table, and write what tells of them all.

    `asked.out` is the family's folder as given; with `resume`, variants are kept whose inputs are unchanged and whose files are
    there.  `stage` is called as a stage begins: the table, the variants, the summary.  After Ctrl-C what is finished is summed
    up all the same.  Raises `OutputError` for a folder that is refused, `ShopError` for a shop file that is not there and
    `DesignError` for a table or a design that cannot be read.
    """
    stage()
    shop_file = find_shop_file(Path(asked.design), asked.shop)
    with held_folder(asked.out) as out:
        where = None if shop_file is None else os.path.realpath(shop_file)
        asked = replace(asked, out=os.fspath(out), design=os.path.abspath(asked.design), shop=where)
        asked = replace(asked, run=digest_of_run(asked, shop_file=where))
        spool = spool_file(out)
        is_stopped = False
        kept = 0
        with Pool(asked, jobs, limits) as pool:
            read = pool.read_table(table, spool)
            stage()
            records = Records(records_file(out))
            if not resume:
                records.clear()
            counts = _Counts(read["count"], tell)
            try:
                for row in pool.rows(_to_make(spool, records, Unchanged(asked), counts) if resume else _works(spool)):
                    records.add(row)
                    counts.made(row)
            except KeyboardInterrupt:
                is_stopped = True
            kept = counts.kept
        stage()
        names = [work.name for work in _works(spool)]
        summary = write_summary(out, asked, table, read, names, records)
        spool.unlink(missing_ok=True)
        records.tidy()
        return FamilyMade(summary, out, kept, is_stopped, tuple(left_over(out, summary.written)))


def _works(spool: Path) -> Iterator[Work]:
    with spool.open(encoding="ascii") as file:
        for line in file:
            yield read_work(line)


def _to_make(spool: Path, records: Records, is_unchanged: Unchanged, counts: _Counts) -> Iterator[Work]:
    """The variants that are not recorded, or not as they would come out now."""
    for work in _works(spool):
        row = records.row(work.name) if work.name in records else None
        if row is not None and is_unchanged(row, work.settings):
            counts.keep()
        else:
            yield work


class _Counts:
    """How many are done, how fast that goes and how long it will take, told at most every half second."""

    def __init__(self, total: int, tell: Tell) -> None:
        self._total, self._tell = total, tell
        self._begun = self._told = time.monotonic()
        self._made = self._bad = 0
        self.kept = 0
        self._say()

    def keep(self) -> None:
        """One was kept from an earlier run."""
        self.kept += 1
        self._say()

    def made(self, row: Row) -> None:
        """One was made."""
        self._made += 1
        self._bad += row.verdict in ("errors", "failed")
        self._say()

    def _say(self) -> None:
        now = time.monotonic()
        done = self._made + self.kept
        if done not in (0, self._total) and now - self._told < 0.5:
            return
        self._told = now
        words = f"{done} of {self._total}"
        words += f", {self._bad} with errors" if self._bad else ""
        if self._made:
            rate = self._made / max(now - self._begun, 1e-9)
            words += f", {rate:.2g} a second, {time_words((self._total - done) / rate)} left"
        self._tell(words, done / self._total)


def time_words(seconds: float) -> str:
    """A time as people say it.

    >>> time_words(8.2), time_words(312), time_words(9000)
    ('9 s', '6 min', '2.5 h')
    """
    if seconds < 90:
        return f"{int(seconds) + 1} s"
    return f"{int(seconds / 60) + 1} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
