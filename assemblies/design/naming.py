"""Names that every file system, spreadsheet and STEP reader can carry."""

from __future__ import annotations

import unicodedata

from panelwright.assemblies.writing.file_names import file_name_fault
from panelwright.plates._validate import shown
from panelwright.plates.errors import NamingError

__all__ = ["LONGEST", "usable_name"]

LONGEST = 60
"""Longest name in characters: a file name with its folder and ending stays well below the usual 255 bytes."""


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
    if len(known) > LONGEST or len(known.encode("utf-8", "replace")) > 3 * LONGEST:
        raise NamingError(f"{what} name {told} has {len(known)} characters; {LONGEST} is the most", value=name, limit=LONGEST)
    if "." in known:
        raise NamingError(f"{what} name {told} holds '.', which names plates of sub-assemblies; leave it out", value=name)
    fault = file_name_fault(known)
    if fault:
        raise NamingError(f"{what} name {told} {fault}", value=name)
    return known
