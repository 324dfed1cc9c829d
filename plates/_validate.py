"""Checks on numbers that come from outside, with messages that say what to change."""

from __future__ import annotations

import math

from .errors import SizeError

__all__ = ["MOST_IN_A_ROW", "finite", "positive", "whole"]

MOST_IN_A_ROW = 10_000
"""Most things in one row: more than a machine cuts in a day, and few enough that a slip of the pen doesn't take all memory."""


def finite(value: float, what: str) -> float:
    """Return `value` as a float if it is a finite number; raise `SizeError` otherwise."""
    if isinstance(value, bool) or (not isinstance(value, int | float) and not hasattr(value, "__float__")):
        raise SizeError(f"{what} is {value!r}; give a number", value=value)
    number = float(value)
    if not math.isfinite(number):
        raise SizeError(f"{what} is {number}; give a finite number", value=value)
    return number


def positive(value: float, what: str, *, unit: str = "mm", zero_is_fine: bool = False) -> float:
    """Return `value` as a float if it is above zero (or not below, on request); raise `SizeError` otherwise."""
    number = finite(value, what)
    if number < 0 or (number == 0 and not zero_is_fine):
        bound = "0 or more" if zero_is_fine else "above 0"
        raise SizeError(f"{what} is {number:g} {unit}; it must be {bound}".replace(" ;", ";"), value=value, limit=0)
    return number


def whole(value: int, what: str, *, least: int = 1, most: int | None = None) -> int:
    """Return `value` if it is a whole number from `least` to `most`; raise `SizeError` otherwise."""
    if isinstance(value, bool) or (not isinstance(value, int) and not (
        isinstance(value, float) and value.is_integer()
    )):
        raise SizeError(f"{what} is {value!r}; give a whole number", value=value)
    if value < least:
        raise SizeError(f"{what} is {value}; it must be {least} or more", value=value, limit=least)
    if most is not None and value > most:
        raise SizeError(f"{what} is {float(min(value, 10**300)):g}; it must be {most} or less", value=value, limit=most)
    return int(value)
