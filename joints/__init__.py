"""What happens where two plates meet.

Names are loaded when first used, so that a design pays for no kind of joint that it does not use.

>>> from panelwright.joints import tabs
>>> tabs(count=3, width=12).kind
'tabs'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .joining.join import join
    from .joining.touching import join_touching, touching
    from .kinds.captures.t_nut import t_nut
    from .kinds.cross_lap import cross_lap
    from .kinds.fingers import fingers
    from .kinds.hinges.living_hinge import living_hinge
    from .kinds.pass_through import pass_through
    from .kinds.tabs import tabs
    from .spec.pattern import Joint
    from .spec.relief import Relief, dog_bone, t_bone

__all__ = [
    "Joint",
    "Relief",
    "cross_lap",
    "dog_bone",
    "fingers",
    "join",
    "join_touching",
    "living_hinge",
    "pass_through",
    "t_bone",
    "t_nut",
    "tabs",
    "touching",
]

_HOMES = {
    "joining.join": ("join",),
    "joining.touching": ("join_touching", "touching"),
    "kinds.captures.t_nut": ("t_nut",),
    "kinds.cross_lap": ("cross_lap",),
    "kinds.fingers": ("fingers",),
    "kinds.hinges.living_hinge": ("living_hinge",),
    "kinds.pass_through": ("pass_through",),
    "kinds.tabs": ("tabs",),
    "spec.pattern": ("Joint",),
    "spec.relief": ("Relief", "dog_bone", "t_bone"),
}


def __getattr__(name: str) -> object:
    home = next((home for home, names in _HOMES.items() if name in names), None)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{home}"), name)
