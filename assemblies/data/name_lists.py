"""Names in a sentence, one after the other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import takewhile

__all__ = ["called", "listed"]


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


def called(names: Iterable[str]) -> str:
    """A plate by its own name, several by that of the sub-assembly that all of them stand in; empty if there is none.

    >>> called(["lid"]), called(["chest.drawer.left", "chest.drawer.base"]), called(["left", "right"])
    ('lid', 'chest.drawer', '')
    """
    paths = [name.split(".") for name in names]
    if len(paths) == 1:
        return ".".join(paths[0])
    shared = takewhile(lambda words: len(set(words)) == 1, zip(*paths, strict=False))
    return ".".join(words[0] for words in shared)
