"""What all our pages are made of: texts that lie in the package, and what a policy allows of them."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

__all__ = ["allowed", "asset"]


def asset(package: str, *path: str) -> str:
    """A text file of a package, by its path there, line ends as in the repository."""
    return files(package).joinpath(*path).read_text(encoding="utf-8").replace("\r\n", "\n")


def allowed(content: str) -> str:
    """What a Content-Security-Policy allows one script or style sheet by: its SHA-256.

    >>> allowed("")
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"
    """
    return f"'sha256-{base64.b64encode(hashlib.sha256(content.encode('utf-8')).digest()).decode('ascii')}'"
