"""What the server that workers are forked from imports: everything that a build takes.  Importing this builds nothing.

A process in which geometry has been computed must not fork: the child's next computation may hang for ever.  Imports alone
are safe.
"""

from __future__ import annotations

import cadquery  # noqa: F401  # the slowest of all
import shapely  # noqa: F401

from .. import assembly, bodies, design_file, manifest, product, prove  # noqa: F401
from ..report import page, scene  # noqa: F401
from ..shop import findings  # noqa: F401
from . import controls, worker  # noqa: F401
