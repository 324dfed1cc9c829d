"""The system's Chromium, driven by playwright; without either, tests are skipped unless PANELWRIGHT_BROWSER=required is set."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

__all__ = ["chromium"]

NAMES = ("chromium", "chromium-browser", "google-chrome")


@contextlib.contextmanager
def chromium() -> Iterator[Any]:
    """A running browser, with WebGL in software."""
    program = next((found for name in NAMES if (found := shutil.which(name))), None)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        sync_playwright = None
    if program is None or sync_playwright is None:
        missing = "chromium" if program is None else "playwright"
        if os.environ.get("PANELWRIGHT_BROWSER") == "required":
            pytest.fail(f"{missing} is not installed")
        pytest.skip(f"{missing} is not installed")
    with sync_playwright() as driver:
        flags = ["--no-sandbox", "--enable-unsafe-swiftshader", "--disable-dev-shm-usage"]
        started = driver.chromium.launch(executable_path=program, args=flags)
        yield started
        started.close()
