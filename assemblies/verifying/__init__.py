"""Whether an output folder is what its manifest says, and whether the same comes out again.

Comes in: a folder that was built, and another one built of the same.  Goes out: what is missing, changed or differs, and which
inputs do.
"""
