"""What can name a file on every system: the one list of characters and names that some system keeps for itself.

The names of devices are those of Microsoft, "Naming Files, Paths, and Namespaces": any ending may follow them, and spaces
before it do not count.
"""

from __future__ import annotations

import unicodedata

__all__ = ["DEVICES", "FORBIDDEN", "file_name_fault"]

FORBIDDEN = '/\\:*?"<>|'
"""Characters that lead elsewhere, or that some system refuses."""

DEVICES = frozenset(
    {"con", "prn", "aux", "nul", "conin$", "conout$"} | {f"{port}{n}" for port in ("com", "lpt") for n in "123456789¹²³"}
)
"""Names that mean devices on Windows, in small letters."""

_UNPRINTABLE = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def file_name_fault(name: str) -> str:
    """Why a name cannot name a file everywhere, in words that follow it, with what to change; "" if it can.

    Length is not looked at: what follows the name counts too.

    >>> file_name_fault("rear wall"), file_name_fault("aux shelf")
    ('', '')
    >>> file_name_fault("a/b"), file_name_fault("Nul .txt")
    ("holds '/', which cannot stand in a file name; leave it out", 'is reserved on some systems; choose another')
    """
    if not name.strip():
        return "is empty; give one"
    if name != name.strip():
        return "begins or ends with a space; leave it out"
    for character in name:
        if character in FORBIDDEN:
            return f"holds {character!r}, which cannot stand in a file name; leave it out"
        if unicodedata.category(character) in _UNPRINTABLE:
            return f"holds the unprintable character U+{ord(character):04X}; leave it out"
    if name.startswith(".") or name.endswith("."):
        return "begins or ends with a full stop; leave it out"
    if name.partition(".")[0].rstrip(" ").casefold() in DEVICES:
        return "is reserved on some systems; choose another"
    return ""
