"""The kinds of joints, one file each; large ones have a room of their own.

A kind is a frozen spec, a function of the same name, and all that is known of the kind.  Nothing outside this room names one.
"""
