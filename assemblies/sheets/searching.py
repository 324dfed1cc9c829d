"""One search over the sheets of all stocks: a Ctrl-C ends it as a whole, and a time limit is for all of it."""

from __future__ import annotations

import time
from dataclasses import replace

from panelwright.assemblies.nest import Engine, LastSheetCompaction, Nest, NestJob, Report, nest

from .request import SheetRules

__all__ = ["Search"]


class Search:
    """Nests the stocks of one run, one after the other, with an engine or, if that is None, as the rules ask."""

    def __init__(self, rules: SheetRules, engine: Engine | None) -> None:
        compact_s = rules.compact_s
        self._engine = engine if engine is not None or compact_s is None else LastSheetCompaction(compact_s)
        self._plain_engine = engine
        self._ends = None if rules.time_limit_s is None else time.monotonic() + rules.time_limit_s
        self._is_stopped = False

    def nest(self, job: NestJob, stocks_left: int, report: Report | None) -> Nest:
        """Lay out one job of those that are left, this one counted: with its share of the time, or, once the search was
        stopped, as it is first constructed.
        """
        if self._is_stopped:
            laid = nest(replace(job, effort=0, time_limit_s=None), engine=self._plain_engine, report=report)
            return replace(laid, is_reproducible=False, interrupted=True)
        if self._ends is not None:
            # a limit must be above 0; the least there is ends the search with the first construction
            share = max((self._ends - time.monotonic()) / stocks_left, 1e-9)
            job = replace(job, time_limit_s=share)
        laid = nest(job, engine=self._engine, report=report)
        self._is_stopped = laid.interrupted
        return laid
