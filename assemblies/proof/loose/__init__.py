"""What is loose: whether a drawer, or a lid let in, has play between what stands on both sides of it.

Comes in: `Resolved` and the names of what is loose.  Goes out: findings.
"""
