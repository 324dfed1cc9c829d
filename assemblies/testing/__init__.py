"""A design's own tests: what must hold of it, over its ranges, in pytest and for build servers.

Comes in: a design file, a design function or an assembly, with values for its parameters.  Goes out: nothing where it holds, an
`AssertionError` that lists the findings where it does not; and a proof as a JUnit file.
"""

from __future__ import annotations

from .design_assertions import assert_assembles, assert_fits, assert_proven
from .parameter_corners import corners_of

__all__ = ["assert_assembles", "assert_fits", "assert_proven", "corners_of"]
