"""The command line of `panelwright preview`; nothing heavy is imported to answer --help."""

from __future__ import annotations

import argparse
from typing import Any

__all__ = ["add_preview"]


def add_preview(commands: Any) -> argparse.ArgumentParser:
    """Add the command's parser to a set of subparsers."""
    preview: argparse.ArgumentParser = commands.add_parser(
        "preview",
        usage="panelwright preview DESIGN.py [--set NAME=VALUE ...] [--shop FILE] [--port N] [--time-limit S] [--open]",
        help="show a design in the browser and follow every save",
        description="Serve a design's report page to this machine only, and build it anew whenever the design or a file that "
        "it reads is saved, or a parameter is moved in the page.  Ctrl-C ends it.",
        allow_abbrev=False,
    )
    preview.add_argument("design", metavar="DESIGN.py", help="file that defines design(...)")
    preview.add_argument(
        "--set", dest="settings", metavar="NAME=VALUE", nargs="+", action="extend", default=[], help="parameters to begin with"
    )
    preview.add_argument("--shop", metavar="FILE", help="shop file to use instead of the shop.toml beside the design")
    preview.add_argument("--port", metavar="N", type=int, default=0, help="port of 127.0.0.1 (default: any that is free)")
    preview.add_argument("--time-limit", metavar="S", type=float, help="stop a build after S seconds (default: 60)")
    preview.add_argument("--open", action="store_true", help="open the page in the browser")
    preview.add_argument("--traceback", action="store_true", help="show where a failure came from, in full")
    return preview
