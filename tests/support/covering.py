"""Thinned matrices of cases: which of them still let a number of factors meet in all ways."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations
from typing import Any

__all__ = ["all_meet"]


def all_meet(rows: Iterable[Iterable[Any]], factors: int) -> bool:
    """Whether any so many columns of a table hold every combination of their values: a covering array of that strength.

    >>> all_meet([(0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 0)], 2), all_meet([(0, 0, 0), (0, 1, 1), (1, 0, 1)], 2)
    (True, False)
    """
    columns = [[str(value) for value in column] for column in zip(*rows, strict=True)]
    return all(
        len(set(zip(*picked, strict=True))) == math.prod(len(set(column)) for column in picked)
        for picked in combinations(columns, factors)
    )
