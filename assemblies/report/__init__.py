"""The report: one page that shows a product in 3D, its panels, its lists and its findings, without a network."""

from __future__ import annotations

from .report_page import report_html

__all__ = ["report_html"]
