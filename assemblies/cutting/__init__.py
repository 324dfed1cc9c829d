"""Cutting a sheet: the paths that a machine follows, in which order, and how long that takes."""

from __future__ import annotations

from .path import CutKind, CutPath

__all__ = ["CutKind", "CutPath"]
