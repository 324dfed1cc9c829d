"""A design with many sizes for tests of families, quick to prove, that can misbehave in every way when it is told to."""

from __future__ import annotations

import hashlib
from pathlib import Path

__all__ = ["DESIGN", "HELPER", "SHOP", "digests", "studio_family"]

HELPER = "DEPTH = 50\n"

SHOP = """
currency = "EUR"

[machine]
bed_mm = [700, 500]
travel_mm_s = 300
acceleration_mm_s2 = 3000
edge_margin_mm = 5
part_spacing_mm = 2
cost_per_hour = 40

[stocks."card 2"]
material = "card"
thickness_mm = 2
measured_mm = 2
kerf_mm = 0.1
snug_mm = 0.05
density_kg_m3 = 700
cut_mm_s = 20
mark_mm_s = 180

[[stocks."card 2".sheets]]
width_mm = 600
height_mm = 400
count = 9
price = 3
"""

DESIGN = '''"""A stand for brushes: a base with a wall."""

import os
import signal
import time
from enum import Enum
from typing import Annotated, Literal

import depths
from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Range, rectangle, standing


class Finish(Enum):
    RAW = "raw"
    OILED = "oiled"


def design(
    width: Annotated[float, Range(60, 300)] = 100.0,
    height: int = 40,
    lid: bool = False,
    note: str = "",
    finish: Finish = Finish.RAW,
    slots: int | None = None,
    deed: Literal["none", "raise", "loop", "eat", "die", "leave", "clash"] = "none",
) -> Assembly:
    """A stand.

    Args:
        width: in mm.
    """
    if deed == "raise":
        raise ValueError(f"no stand is {width:g} wide")
    while deed == "loop":
        time.sleep(0.05)
    hoard = []
    while deed == "eat":
        hoard.append(bytearray(b"x") * 20_000_000)
    if deed == "die":
        os.kill(os.getpid(), signal.SIGSEGV)
    if deed == "leave":
        os._exit(3)
    made = Assembly("brush stand", stock=stock("card 2"))
    base = made.add("base", rectangle(120, depths.DEPTH))
    wall = made.add("wall", rectangle(width, height), standing(base.face(">Z"), facing="+Y"))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=10))
    if lid:
        made.add("lid", rectangle(40, 40), Frame((0, 0, 1.0 if deed == "clash" else 2.0)), loose=True)
    return made
'''


def studio_family(folder: Path) -> Path:
    """Write the design with what it imports and its shop file; gives the path of the design."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "depths.py").write_text(HELPER, encoding="utf-8")
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    design = folder / "stand.py"
    design.write_text(DESIGN, encoding="utf-8")
    return design


def digests(out: Path) -> dict[str, str]:
    """SHA-256 of all files of a family but for what it keeps for later runs."""
    return {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and ".family" not in path.relative_to(out).parts
    }
