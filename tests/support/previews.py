"""A preview at work in a process of its own, and what it tells; for tests, with patience rather than clocks."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

__all__ = ["DESIGN", "HELPER", "Live", "are_gone", "descendants"]

PATIENCE_S = 90.0
"""How long anything may take before a test gives up: far more than it does on a busy machine."""

HELPER = "HEIGHT = 50\n"

DESIGN = '''"""A board for glaze tests."""

from typing import Annotated, Literal

import heights
from panelwright.assemblies import Assembly
from panelwright.plates import Frame, Range, Stock, rectangle


def design(
    width: Annotated[float, Range(60, 300)] = 100.0, lid: bool = False, finish: Literal["raw", "oiled"] = "raw", note: str = ""
) -> Assembly:
    """A board, and a lid on it.

    Args:
        width: in mm.
    """
    made = Assembly("glaze board", stock=Stock("MDF", 3, sheet=(600, 400)))
    made.add("board", rectangle(width, heights.HEIGHT))
    if lid:
        made.add("lid", rectangle(40, 40), Frame((0, 0, 3.0)), loose=True)
    return made
'''


class Live:
    """`panelwright preview` of a design in a folder; the last state that it told is in `state`.

    `given` is the design's path as the command line has it, from that folder.
    Used as a context it is gone afterwards, whatever became of the test.
    """

    def __init__(self, folder: Path, *options: str, text: str = DESIGN, given: str = "board.py") -> None:
        self.design = folder / given
        self.folder = self.design.parent
        self.restore()
        self.design.write_text(text, encoding="utf-8")
        command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "preview", given, *options]
        self.process = subprocess.Popen(command, cwd=folder, stderr=subprocess.PIPE, text=True)
        assert self.process.stderr is not None
        said = self.process.stderr.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)", said)
        assert found is not None, said + self.process.stderr.read()
        self.address, self.port = found.group(0), int(found.group(1))
        self.state: dict[str, Any] = {}
        threading.Thread(target=self._listen, daemon=True).start()

    def __enter__(self) -> Live:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()  # a test that fails leaves it at work; its builds see that it is gone
            self.process.wait()
        assert self.process.stderr is not None
        self.process.stderr.close()

    def restore(self) -> None:
        """The design and its helper as they were."""
        (self.folder / "heights.py").write_text(HELPER, encoding="utf-8")
        self.design.write_text(DESIGN, encoding="utf-8")

    def save(self, *changes: tuple[str, str]) -> None:
        """Save the design with some texts replaced."""
        text = DESIGN
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        self.design.write_text(text, encoding="utf-8")

    def request(
        self, path: str, data: Any = None, *, headers: dict[str, str] | None = None, method: str | None = None
    ) -> tuple[int, bytes, dict[str, str]]:
        """Status, body and headers of an answer; a POST comes from the page itself unless `headers` say otherwise."""
        body = None if data is None else json.dumps(data).encode()
        own = {"Content-Type": "application/json", "Origin": self.address}
        given = own if headers is None and body is not None else headers
        request = urllib.request.Request(self.address + path, data=body, headers=given or {}, method=method)
        try:
            with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
                return answer.status, answer.read(), dict(answer.headers)
        except urllib.error.HTTPError as error:
            return error.code, error.read(), dict(error.headers)

    def until(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """The first state that is wanted, builds in progress left out."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            state = self.state
            if state and not state["building"] and wanted(state):
                return state
            time.sleep(0.02)
        raise AssertionError(f"never told what was waited for; the last was {self.state}")

    def until_building(self) -> None:
        """Wait until a build is at work."""
        end = time.monotonic() + PATIENCE_S
        while not self.state.get("building"):
            assert time.monotonic() < end, f"never built; the last state was {self.state}"
            time.sleep(0.02)

    def end(self) -> int:
        """Ctrl-C, and the exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE_S)

    def _listen(self) -> None:
        try:
            with urllib.request.urlopen(f"{self.address}/events", timeout=PATIENCE_S) as stream:
                for line in stream:
                    if line.startswith(b"data:"):
                        self.state = json.loads(line[5:])
        except OSError:
            return


def descendants(pid: int) -> set[int]:
    """Processes that a process has started, directly or not."""
    children: dict[int, list[int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            children.setdefault(int(fields[1]), []).append(int(entry.name))
    found: set[int] = set()
    waiting = [pid]
    while waiting:
        for child in children.get(waiting.pop(), []):
            if child not in found:
                found.add(child)
                waiting.append(child)
    return found


def are_gone(pids: set[int]) -> bool:
    """Whether none of some processes lives any more, after some patience."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if not any(_lives(pid) for pid in pids):
            return True
        time.sleep(0.05)
    return False


def _lives(pid: int) -> bool:
    try:
        return (Path("/proc") / str(pid) / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
