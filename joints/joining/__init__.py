"""Joining faces: what a design calls, and which faces touch and have no joint yet.

Comes in: faces of placed plates and a joint's spec.  Goes out: joins, kept by the assembly; nothing is cut here.
"""
