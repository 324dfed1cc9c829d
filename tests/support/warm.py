"""Commands in processes of their own, forked from one that has imported everything and built nothing.

A command that is started anew spends more time on imports than on its work.  What is tested of a command's own process
(signals, streams, what it imports) is tested on `python -m panelwright.assemblies.commands.main`; what it makes of a design
may come from here.
"""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
import tempfile
import traceback
from functools import cache
from importlib import import_module
from pathlib import Path

__all__ = ["Warm", "warm"]

MODULES = (
    "panelwright.assemblies.preview.preload",  # what a build takes, and what may be imported before a fork
    "panelwright.assemblies.commands.main",
    "panelwright.assemblies.commands.lay_sheets",
    "panelwright.assemblies.commands.make_command",
    "panelwright.assemblies.files.dxf",
    "panelwright.assemblies.files.pdf",
    "ezdxf",
    "reportlab.pdfgen.canvas",
    "PIL.Image",
)


class Warm:
    """Runs commands one after the other, each in a process of its own that has this hash seed."""

    def __init__(self, seed: str) -> None:
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        self._server = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
        )

    def run(self, *arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        """Exit code and what was said, of a command run in a folder."""
        assert self._server.stdin is not None
        assert self._server.stdout is not None
        words = [str(argument) for argument in arguments]
        with tempfile.TemporaryDirectory() as folder:
            self._server.stdin.write(json.dumps({"arguments": words, "cwd": str(cwd or Path.cwd()), "folder": folder}) + "\n")
            self._server.stdin.flush()
            code = self._server.stdout.readline()
            assert code, "the process that commands are forked from has ended"
            said = [(Path(folder) / name).read_text("utf-8") for name in ("1", "2")]
        return subprocess.CompletedProcess(words, int(code), *said)

    def close(self) -> None:
        """End the process that commands are forked from."""
        assert self._server.stdin is not None
        self._server.stdin.close()
        self._server.wait()


@cache
def warm(seed: str = "0") -> Warm:
    """One for each hash seed, as long as this process lives."""
    started = Warm(seed)
    atexit.register(started.close)
    return started


def _serve() -> None:
    for name in MODULES:
        import_module(name)
    for line in sys.stdin:
        child = os.fork()
        if not child:
            os._exit(_work(**json.loads(line)))
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)


def _work(arguments: list[str], cwd: str, folder: str) -> int:
    """Run one command with its streams in files of a folder."""
    os.chdir(cwd)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    for stream in (1, 2):
        os.dup2(os.open(Path(folder) / str(stream), os.O_WRONLY | os.O_CREAT), stream)
    from panelwright.assemblies.commands.main import main

    try:
        code = main(arguments)
    except BaseException:  # a command may end in any way, and its end is what is asked for
        traceback.print_exc()
        code = 70
    sys.stdout.flush()
    sys.stderr.flush()
    return code


if __name__ == "__main__":
    _serve()
