"""What all commands share: options told once, a run's outcome in words and as JSON, tables, the terminal's streams.

Comes in: arguments, and what a command came to.  Goes out: words for people, documents for programs, exit codes.
"""
