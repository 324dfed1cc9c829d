"""What happens where two plates meet.

>>> from panelwright.joints import tabs
>>> tabs(count=3, width=12).kind
'tabs'
"""

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
