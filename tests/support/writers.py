"""Processes that write files and are killed at a step of it, for the tests of what the next run finds."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

__all__ = ["Writer"]

HEAD = """
import os, signal, sys
from pathlib import Path
from panelwright.assemblies.output import folder as output
from panelwright.assemblies.writing import replace_folder as _replace

count, at = 0, 0

def deadly(call):
    def called(*arguments, **options):
        global count
        count += 1
        if count == at:  # before this step
            os.kill(os.getpid(), signal.SIGKILL)
        return call(*arguments, **options)
    return called

if sys.argv[1] == "renames":
    _replace.exchange = lambda *_: False
else:
    _replace.exchange = deadly(_replace.exchange)
Path.rename, Path.mkdir, Path.write_bytes = deadly(Path.rename), deadly(Path.mkdir), deadly(Path.write_bytes)
os.link, os.rmdir, os.unlink = deadly(os.link), deadly(os.rmdir), deadly(os.unlink)
os.replace = deadly(os.replace)
_replace.discard, _replace.carry_over = deadly(_replace.discard), deadly(_replace.carry_over)
"""
"""What makes each step that changes the disk deadly, if it is the one with the number asked for."""

LOOP = """
for line in sys.stdin:  # for each: a process that writes so many times, and is killed before so many steps
    at, first, turns = map(int, line.split())
    child = os.fork()
    if not child:
        count = 0
        for number in range(first, first + turns):
            write(number)
        os._exit(0)
    print(child, flush=True)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


class Writer:
    """A process that has others write the folder: no test can do that itself, since it must not fork after the kernel ran."""

    def __init__(self, folder: Path, how: str, script: str) -> None:
        """`script` defines `write(number)`; `how` is "exchange", or "renames" for systems that cannot exchange folders."""
        command = [sys.executable, "-c", HEAD + script + LOOP, how]
        self.process = subprocess.Popen(command, cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def begin(self, at: int, first: int, turns: int = 1) -> int:
        """Let a process write; gives its number."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(f"{at} {first} {turns}\n")
        self.process.stdin.flush()
        return int(self.process.stdout.readline())

    def end(self) -> int:
        """Wait for that process; gives its exit code, below 0 for the signal that killed it."""
        assert self.process.stdout is not None
        return int(self.process.stdout.readline())

    def close(self) -> None:
        """End it."""
        self.process.kill()
        self.process.communicate()
