"""Names that every file system, spreadsheet and STEP reader can carry."""

from __future__ import annotations

import unicodedata

from panelwright.plates._validate import shown
from panelwright.plates.errors import NamingError

__all__ = ["LONGEST", "usable_name"]

LONGEST = 60
"""Longest name in characters: a file name with its folder and ending stays well below the usual 255 bytes."""

_FORBIDDEN = '/\\:*?"<>|.'
_RESERVED = frozenset({"CON", "PRN", "AUX", "NUL"} | {f"COM{i}" for i in range(1, 10)} | {f"LPT{i}" for i in range(1, 10)})


def usable_name(name: str, what: str) -> str:
    """The name in Unicode normal form C.  Raises `NamingError` with the reason if it cannot name a file.

    A full stop is kept for plates of sub-assemblies, as in "drawer.front".

    >>> usable_name("rear wall", "plate")
    'rear wall'
    >>> usable_name("a/b", "plate")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.NamingError: plate name 'a/b' holds '/', which cannot stand in a file name; leave it out
    """
    if not isinstance(name, str):
        raise NamingError(f"{what} name is {shown(name)}; give text", value=name)
    known = unicodedata.normalize("NFC", name)
    told = repr(known if len(known) <= LONGEST else known[:LONGEST] + "…")
    if not known.strip():
        raise NamingError(f"{what} name {told} is empty; give one", value=name)
    if known != known.strip():
        raise NamingError(f"{what} name {told} begins or ends with a space; leave it out", value=name)
    if len(known) > LONGEST or len(known.encode("utf-8", "replace")) > 3 * LONGEST:
        raise NamingError(f"{what} name {told} has {len(known)} characters; {LONGEST} is the most", value=name, limit=LONGEST)
    for character in known:
        if character in _FORBIDDEN:
            raise NamingError(
                f"{what} name {told} holds {character!r}, which cannot stand in a file name; leave it out", value=name
            )
        if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"):
            raise NamingError(
                f"{what} name {told} holds the unprintable character U+{ord(character):04X}; leave it out", value=name
            )
    if known.split()[0].upper() in _RESERVED:
        raise NamingError(f"{what} name {told} is reserved on some systems; choose another", value=name)
    return known
