"""Turning kernel failures into our errors."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager

from panelwright.plates.errors import KernelError

__all__ = ["guarded"]


@contextmanager
def guarded(action: str) -> Generator[None]:
    """Run kernel calls; whatever the kernel throws comes out as `KernelError` that says what was being done."""
    try:
        yield
    except KernelError:
        raise
    except Exception as failure:
        # each kernel exception is a class of its own here: in Python they share no base but Exception
        if not isinstance(failure, RuntimeError) and not type(failure).__module__.startswith("OCP."):
            raise
        raise KernelError(f"the geometry kernel failed while {action}: {failure}") from failure
