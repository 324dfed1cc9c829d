"""The command line.  One module a command; options in modules of their own, so that `--help` loads nothing heavy.

Comes in: arguments.  Goes out: exit codes 0, 1, 2 or 130, and words for people on the terminal.
"""
