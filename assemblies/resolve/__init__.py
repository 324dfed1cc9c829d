"""From plates and joins to finished solids: who gives way, who keeps which cube, one cut a plate, flat patterns.

Comes in: `Collected`.  Goes out: `Resolved` (parts with their solids, joints as made), distinct panels and bought parts.
"""
