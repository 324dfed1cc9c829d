"""Turning kernel failures into our errors."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from ..errors import KernelError

__all__ = ["guarded"]


@contextmanager
def guarded(action: str) -> Iterator[None]:
    """Run kernel calls; whatever the kernel throws comes out as `KernelError` that says what was being done."""
    from OCP.Standard import Standard_Failure

    try:
        yield
    except (Standard_Failure, RuntimeError) as failure:
        if isinstance(failure, KernelError):
            raise
        raise KernelError(f"the geometry kernel failed while {action}: {failure}") from failure
