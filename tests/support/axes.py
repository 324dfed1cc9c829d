"""axe-core on a page, as axe-playwright-python brings it; without it tests are skipped unless PANELWRIGHT_BROWSER=required."""

from __future__ import annotations

import os
from typing import Any

import pytest

__all__ = ["faults"]

LEAST_PASSED = 20
"""Rules that a page of ours fulfils at least: fewer mean that axe saw no page."""


def faults(page: Any) -> list[tuple[str, list[str]]]:
    """The rules that a page breaks as it stands now, each with the elements that do."""
    try:
        from axe_playwright_python.sync_playwright import Axe
    except ImportError:
        if os.environ.get("PANELWRIGHT_BROWSER") == "required":
            pytest.fail("axe-playwright-python is not installed")
        pytest.skip("axe-playwright-python is not installed")
    told = Axe().run(page).response
    assert len(told["passes"]) >= LEAST_PASSED
    return [(fault["id"], [node["html"][:120] for node in fault["nodes"]]) for fault in told["violations"]]
