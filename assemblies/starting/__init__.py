"""A new design project: a design, its test, a shop file, and what git, pip and a build server need.

Comes in: a name.  Goes out: a folder that passes its tests and builds as it is.
"""
