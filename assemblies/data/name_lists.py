"""Names in a sentence, one after the other."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["listed"]


def listed(names: Sequence[str], *, limit: int | None = None, is_quoted: bool = False) -> str:
    """Names as a person lists them; beyond `limit` only how many more there are.

    >>> listed(["left", "right"]), listed(["base", "left", "right"]), listed(["a", "b", "c", "d"], limit=2), listed([])
    ('left and right', 'base, left and right', 'a, b and 2 more', '')
    >>> listed(["left", "right"], is_quoted=True)
    "'left' and 'right'"
    """
    told = [repr(name) if is_quoted else name for name in names]
    if limit is not None and len(told) > limit:
        return f"{', '.join(told[:limit])} and {len(told) - limit} more"
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
