"""The order of assembly: which parts go together one after the other, proven on their shapes, and what locks.

Comes in: a proven product.  Goes out: the same with its plan and what there is to tell of it.  The search works on plain bodies
and knows nothing of joints' kinds.
"""
