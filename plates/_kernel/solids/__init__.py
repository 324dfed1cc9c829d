"""Solids: built from loops, read back as loops, cut by the kernel where curves ask for it, picked by selectors.

Comes in: loops and frames.  Goes out: the kernel's solids as opaque values, and loops read from them.  Whatever the kernel
throws comes out as `KernelError`.
"""
