"""The command line.  What each command takes is told apart from its work, so that `--help` loads nothing heavy.

Comes in: arguments.  Goes out: exit codes 0, 1, 2 or 130, and words for people on the terminal.
"""
