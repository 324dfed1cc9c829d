"""The controls of a design's parameters, as plain data for the page: sliders, switches, choices and fields."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from panelwright.assemblies.loading.signature import Parameter

__all__ = ["controls_of"]

REACH = 2.0
"""A number without a range of its own gets a slider from its default divided by this to its default times this."""


def controls_of(parameters: Sequence[Parameter], settings: Mapping[str, Any]) -> list[dict[str, Any]]:
    """One control a parameter, with the value that is set or its default, as texts that `--set` takes.

    `kind` is "number", "switch", "choice" or "text"; a number has `low`, `high` and `step` for its slider, and `is_bound` says
    whether the design itself refuses what lies beyond.

    >>> from panelwright.assemblies.loading.signature import parameters_of
    >>> def design(width: float = 240, lid: bool = True): ...
    >>> [(c["name"], c["kind"], c["value"]) for c in controls_of(parameters_of(design, "tray.py"), {"lid": False})]
    [('width', 'number', '240'), ('lid', 'switch', 'false')]
    """
    return [_control(parameter, settings.get(parameter.name, parameter.default)) for parameter in parameters]


def _control(parameter: Parameter, value: Any) -> dict[str, Any]:
    reader = parameter.reader
    control: dict[str, Any] = {
        "default": _text(parameter.default),
        "help": parameter.help,
        "kind": "text",
        "name": parameter.name,
        "takes": reader.kind,
        "value": _text(value),
    }
    words = set(reader.kind.split(" from ")[0].split(" | "))
    if reader.kind == "bool":
        control["kind"] = "switch"
    elif reader.options:
        control |= {"kind": "choice", "options": list(reader.options)}
    elif words <= {"int", "float"} and isinstance(value, int | float):
        control |= {"kind": "number", **_slider(parameter, value, is_whole=words == {"int"})}
    return control


def _slider(parameter: Parameter, value: float, *, is_whole: bool) -> dict[str, Any]:
    limits = parameter.reader.limits
    default = parameter.default if isinstance(parameter.default, int | float) else value
    low, high = sorted((default / REACH, default * REACH)) if default else (0.0, 1.0)
    if limits is not None:
        low, high = float(limits.low), float(limits.high)
    low, high = min(low, value), max(high, value)
    if is_whole:
        low, high = math.floor(low), math.ceil(high)
        return {"high": high, "is_bound": limits is not None, "low": low, "step": 1}
    # a round step that parts the range into some hundreds
    step = 10.0 ** math.floor(math.log10((high - low) / 100)) if high > low else 1.0
    return {"high": round(high, 9), "is_bound": limits is not None, "low": round(low, 9), "step": step}


def _text(value: Any) -> str:
    """A value as `--set` takes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "none"
    return str(getattr(value, "name", f"{value:.12g}" if isinstance(value, float) else value))
