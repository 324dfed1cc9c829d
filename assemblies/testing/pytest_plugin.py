"""What pytest finds once the toolkit is installed: the fixture `prove_design`, which proves a design once for all tests.

Nothing heavy is imported before a test asks for it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from .subject import Subject

__all__ = ["prove_design"]

PROVEN = pytest.StashKey[dict[tuple[object, ...], "Subject"]]()
"""Proofs made so far in this session, by design and parameters."""


@pytest.fixture
def prove_design(request: pytest.FixtureRequest) -> Callable[..., Subject]:
    """Proves a design with the parameters given, once for all tests of a session: `prove_design("tray.py", width=300)`.

    A relative path is looked for beside the test's own file.  What it gives has the `product`, and goes to `assert_proven`,
    `assert_assembles` and `assert_fits`.
    """
    from .subject import subject_of

    proven = request.config.stash.setdefault(PROVEN, {})
    beside = Path(request.path).parent

    def prove(design: str | Path | Callable[..., Any], /, **parameters: Any) -> Subject:
        where = beside / design if isinstance(design, str | Path) else design
        key = (where, tuple(sorted((name, repr(value)) for name, value in parameters.items())))
        if key not in proven:
            proven[key] = subject_of(where, parameters)
        return proven[key]

    return prove
