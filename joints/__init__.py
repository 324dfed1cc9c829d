"""What happens where two plates meet.

>>> from panelwright.joints import tabs
>>> tabs(count=3, width=12).kind
'tabs'
"""

from .cross_lap import cross_lap
from .fingers import fingers
from .join import join
from .living_hinge import living_hinge
from .passage import pass_through
from .pattern import Joint
from .relief import Relief, dog_bone, t_bone
from .t_nut import t_nut
from .tabs import tabs
from .touching import join_touching, touching

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
