"""What holds for a whole test session: the kernel is there, and property tests give the same answer every time."""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, database=None, print_blob=True)
settings.register_profile("explore", derandomize=False, print_blob=True)
settings.load_profile("repeatable")


def pytest_sessionstart() -> None:
    """Stop at once, in one line, where the kernel cannot be loaded, instead of failing thousands of tests one by one."""
    try:
        import OCP.gp  # noqa: F401
    except ImportError as error:
        pytest.exit(f"the geometry kernel cannot be loaded ({error}); README.md tells under Set up what it needs", returncode=4)
