"""The report: one page that shows a product in 3D, its panels, its lists and its findings, without a network.

Comes in: a product, its manifest and its sheets.  Goes out: one HTML text.  `web/` holds the scripts and the style that are
ours, `vendor/` what is not; texts of users enter by `html_text` alone.
"""

from __future__ import annotations

from .report_page import report_html

__all__ = ["report_html"]
