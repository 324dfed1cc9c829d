"""The corners of what a design takes: every end of every range with every other, and every choice."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

from panelwright.assemblies.loading.design_file import load_design
from panelwright.assemblies.loading.signature import Parameter, parameters_of
from panelwright.assemblies.product.assembly import Assembly
from panelwright.plates.errors import DesignError, SizeError

from .beside_test import found_beside

__all__ = ["corners_of"]

MOST_CORNERS = 1024
"""More products than these are a night's work: a test that wants them names its parameters."""


def corners_of(design: str | Path | Callable[..., Assembly], *names: str) -> list[dict[str, Any]]:
    """Values for every corner of a design's ranges: each end of each range with each end of the others, and each choice.

    - `design`: a design file or its function.
    - `names`: the parameters that vary; by default all that have a `Range` or choices.  The others keep their defaults.

    Made for `pytest.mark.parametrize("values", corners_of(design))`.  Raises `DesignError` for a parameter that the design does
    not take or that has no ends, and for a design without any; `SizeError` for more than 1,024 corners.

    >>> from typing import Annotated
    >>> from panelwright.plates import Range
    >>> def design(width: Annotated[float, Range(80, 600)] = 240, brushes: Annotated[int, Range(1, 24)] = 8): ...
    >>> corners_of(design)[:3]
    [{'width': 80.0, 'brushes': 1}, {'width': 80.0, 'brushes': 24}, {'width': 600.0, 'brushes': 1}]
    """
    if isinstance(design, str | Path):
        loaded = load_design(found_beside(design))
        of, parameters = loaded.path.name, loaded.parameters
    else:
        of = getattr(design, "__name__", "design")
        parameters = parameters_of(design, of)
    known = {parameter.name: parameter for parameter in parameters}
    unknown = [name for name in names if name not in known]
    if unknown:
        takes = ", ".join(known) or "none"
        raise DesignError(f"{of!r} takes no parameter {unknown[0]!r}; it takes {takes}", value=unknown[0])
    ends = {name: _ends(known[name]) for name in names or known}
    endless = [name for name in names if not ends[name]]
    if endless or not any(ends.values()):
        which = f"parameter {endless[0]!r} of {of!r} has" if endless else f"no parameter of {of!r} has"
        raise DesignError(f"{which} {'no ' if endless else ''}ends; write Annotated[float, Range(80, 600)]")
    varied = {name: values for name, values in ends.items() if values}
    count = 1
    for values in varied.values():
        count *= len(values)
    if count > MOST_CORNERS:
        raise SizeError(
            f"{of!r} has {count} corners, and {MOST_CORNERS} are built at most; name the parameters that vary: "
            f"corners_of(…, {next(iter(varied))!r})",
            value=count,
            limit=MOST_CORNERS,
        )
    return [dict(zip(varied, values, strict=True)) for values in itertools.product(*varied.values())]


def _ends(parameter: Parameter) -> list[Any]:
    """Both ends of a range, or every choice; nothing for a parameter that has neither."""
    limits = parameter.reader.limits
    texts = parameter.reader.options if limits is None else tuple(f"{end:.12g}" for end in (limits.low, limits.high))
    return list(dict.fromkeys(parameter.read(text) for text in texts))
