"""The live preview without a browser: it follows saves, survives what designs do, and answers its own page only."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.loading.signature import parameters_of
from panelwright.assemblies.preview.builds import PRELOAD, Builder
from panelwright.assemblies.preview.controls import controls_of
from panelwright.assemblies.preview.session import Session
from panelwright.assemblies.preview.watch import Watch
from panelwright.assemblies.preview.worker import Job, Outcome
from panelwright.assemblies.processes.within_worker import MOST_PRINTED, Printed
from previews import DESIGN, HELPER, Live, are_gone, descendants

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="processes are ended by their group")


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One preview for all tests here; a build may take 30 s, so that only real loops are stopped by time."""
    with Live(tmp_path_factory.mktemp("preview"), "--time-limit", "30") as live:
        live.until(lambda state: state["model"] >= 1)
        yield live
        assert live.end() == 0


@pytest.fixture
def live(running: Live) -> Live:
    """The preview with the design as it was, built."""
    number = running.state["model"]
    running.request("/values", {})
    running.restore()
    running.until(lambda state: state["model"] > number and not state["error"] and not state["settings"])
    return running


def test_it_follows_the_design_and_what_it_reads(live: Live) -> None:
    """A save of the design and one of a module beside it: each makes a new model."""
    first = live.state["model"]
    live.save(("glaze board", "glaze plank"))
    live.until(lambda state: state["model"] > first)
    model = json.loads(live.request("/model")[1])
    assert model["content"]["title"] == "glaze plank"
    second = live.state["model"]
    (live.folder / "heights.py").write_text("HEIGHT = 77\n", encoding="utf-8")
    live.until(lambda state: state["model"] > second)
    assert "77" in json.loads(live.request("/model")[1])["content"]["sections"]


def test_an_error_shows_its_line_and_the_last_model_stays(live: Live) -> None:
    """Of syntax, of the design's own making, in a module that it imports; mended, it goes on."""
    number = live.state["model"]
    live.save(("return made", "retun made"))
    told = live.until(lambda state: bool(state["error"]))
    assert "does not parse" in told["error"]
    assert "retun made" in told["error"]
    assert told["parameters"]
    live.save(("return made", "return made.sides[3]"))
    told = live.until(lambda state: "sides" in state["error"])
    assert "board.py:" in told["error"]
    (live.folder / "heights.py").write_text("HEIGHT = \n", encoding="utf-8")
    live.save()
    live.until(lambda state: "heights.py:1" in state["error"])
    assert live.state["model"] == number
    assert json.loads(live.request("/model")[1])["number"] == number
    (live.folder / "heights.py").write_text("HEIGHT = 60\n", encoding="utf-8")
    live.until(lambda state: not state["error"] and state["model"] > number)


def test_a_missing_module_may_appear(live: Live) -> None:
    """It could not be watched before it was there."""
    live.save(("import heights", "import widths as heights"))
    live.until(lambda state: "No module named 'widths'" in state["error"])
    (live.folder / "widths.py").write_text("HEIGHT = 40\n", encoding="utf-8")
    live.until(lambda state: not state["error"])
    (live.folder / "widths.py").unlink()


def test_a_failed_proof_is_shown_with_its_findings(live: Live) -> None:
    """It is a model like others."""
    number = live.state["model"]
    live.save(("    return made", '    made.add("loose end", rectangle(20, 20), Frame((0, 0, 300)))\n    return made'))
    live.until(lambda state: state["model"] > number)
    content = json.loads(live.request("/model")[1])["content"]
    assert "FLOATS" in content["findings"]
    assert live.state["error"] == ""


def test_an_endless_loop_is_stopped_on_request(live: Live) -> None:
    """And the next save is built."""
    number = live.state["model"]
    live.save(("    return made", "    while True:\n        pass"))
    live.until_building()
    status, _, _ = live.request("/stop", {})
    assert status == 200
    assert live.until(lambda state: "stopped" in state["error"])["model"] == number
    live.save()
    live.until(lambda state: state["model"] > number)


def test_a_newer_save_ends_a_build_that_is_stale(live: Live) -> None:
    """Nobody waits for what is not wanted any more."""
    number = live.state["model"]
    live.save(("    return made", "    while True:\n        pass"))
    live.until_building()
    live.save()
    live.until(lambda state: state["model"] > number and not state["error"])


@pytest.mark.parametrize(
    ("deed", "says"),
    [
        ("import os; os.kill(os.getpid(), 11)", "died of SIGSEGV"),
        ("import os; os._exit(5)", "ended with code 5"),
        ("import sys; sys.exit(5)", "ended the program"),
        ("raise MemoryError", "MemoryError"),
        ("def deeper(): deeper()\n    deeper()", "RecursionError"),
    ],
)
def test_crashes_are_told(live: Live, deed: str, says: str) -> None:
    """Whatever a design does to its process, the preview goes on."""
    live.save(("    return made", f"    {deed}\n    return made"))
    live.until(lambda state: says in state["error"])
    live.save()
    live.until(lambda state: not state["error"])


def test_prints_files_and_folders_do_no_harm(live: Live) -> None:
    """Megabytes are cut down to their ends, a changed directory is the build's own, a written file starts no new build."""
    number = live.state["model"]
    deed = 'import os\n    print("head", "x" * 3_000_000, "tail")\n    open("made.toml", "w").write("a = 1")\n    os.chdir("/")'
    live.save(("    return made", f"    {deed}\n    return made"))
    told = live.until(lambda state: state["model"] > number)
    assert told["printed"].startswith("head x")
    assert told["printed"].endswith("tail\n")
    assert len(told["printed"]) < MOST_PRINTED + 100
    # another save is the next to be built, so nothing was in between
    live.save()
    assert live.until(lambda state: state["model"] > told["model"])["model"] == told["model"] + 1


def test_parameters_are_taken_from_the_page(live: Live) -> None:
    """As texts, checked as the command line checks them."""
    number = live.state["model"]
    live.request("/values", {"width": "180", "lid": "true"})
    told = live.until(lambda state: state["model"] > number)
    assert told["settings"] == {"width": "180", "lid": "true"}
    values = {control["name"]: control["value"] for control in told["parameters"]}
    assert (values["width"], values["lid"], values["finish"]) == ("180", "true", "raw")
    model = json.loads(live.request("/model")[1])
    assert [part["name"] for part in model["scene"]["parts"]] == ["board", "lid"]
    live.request("/values", {"width": "9000"})
    assert "60 to 300" in live.until(lambda state: bool(state["error"]))["error"]
    live.request("/values", {"wide": "90"})
    live.until(lambda state: "did you mean 'width'?" in state["error"])


def test_other_hosts_and_origins_are_refused(live: Live) -> None:
    """A name that somebody points here, a page of another site, a request without a page: all get 403 and change nothing."""
    number = live.state["model"]
    for headers in ({"Host": "evil.example"}, {"Host": f"evil.example:{live.port}"}, {"Origin": "http://evil.example"}):
        for path in ("/", "/model", "/events"):
            assert live.request(path, headers=headers)[0] == 403
    for headers in ({}, {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": "http://127.0.0.1:1"}):
        assert live.request("/values", {"width": "90"}, headers=headers)[0] == 403
        assert live.request("/stop", {}, headers=headers)[0] == 403
    assert live.request("/values", ["width"])[0] == 400
    assert live.request("/values", {"width": 90})[0] == 400
    assert live.request("/values", {"width": "9" * 100_000})[0] == 400
    assert live.request("/elsewhere")[0] == 404
    assert live.request("/model", method="DELETE")[0] == 405
    assert (live.state["model"], live.state["settings"]) == (number, {})


def test_the_page_carries_its_policy(live: Live) -> None:
    """In itself and as a header: its own scripts only, asking this server only; never kept, never framed."""
    status, page, headers = live.request("/")
    assert status == 200
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert policy.endswith("connect-src 'self'")
    assert policy in page.decode("utf-8")
    assert (headers["cache-control"], headers["x-frame-options"]) == ("no-store", "DENY")
    assert b"http://" not in page.replace(b"http://www.w3.org/", b"")


def test_ctrl_c_leaves_no_process(tmp_path: Path) -> None:
    """Not even those that an endless design has started."""
    with Live(tmp_path) as live:
        live.until(lambda state: state["model"] >= 1)
        deed = 'import subprocess\n    subprocess.Popen(["sleep", "600"])\n    while True:\n        pass'
        live.save(("    return made", f"    {deed}"))
        live.until_building()
        started = descendants(live.process.pid)
        assert len(started) >= 3
        assert live.end() == 0
        assert are_gone(started)


def test_a_preview_that_is_killed_takes_its_builds_along(tmp_path: Path) -> None:
    """The build's process sees that nobody waits for it."""
    with Live(tmp_path) as live:
        live.until(lambda state: state["model"] >= 1)
        live.save(("    return made", "    while True:\n        pass"))
        live.until_building()
        started = descendants(live.process.pid)
        live.process.send_signal(signal.SIGKILL)
        live.process.wait()
        assert are_gone(started)


def test_a_build_may_take_only_so_long(tmp_path: Path) -> None:
    """Then it is stopped, with a word on what to do."""
    with Live(tmp_path, "--time-limit", "2") as live:
        live.save(("    return made", "    while True:\n        pass"))
        told = live.until(lambda state: bool(state["error"]))
        assert "took longer than 2 s and was stopped" in told["error"]
        assert "--time-limit" in told["error"]
        assert live.end() == 0


def test_a_port_in_use_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With its number, and what to do; so is one that does not exist, and a design that is not there."""
    (tmp_path / "board.py").write_text("", encoding="utf-8")
    design = str(tmp_path / "board.py")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert main(["preview", design, "--port", str(port)]) == 2
        assert f"port {port} cannot be used" in capsys.readouterr().err
    assert main(["preview", design, "--port", "70000"]) == 2
    assert "port 70000 does not exist" in capsys.readouterr().err
    assert main(["preview", str(tmp_path / "bord.py")]) == 2
    assert "there is no design file" in capsys.readouterr().err
    assert main(["preview", design, "--set", "width"]) == 2
    assert "sets nothing; write name=value" in capsys.readouterr().err
    assert main(["preview", design, "--time-limit", "0"]) == 2
    assert "time limit of a build is 0 s" in capsys.readouterr().err


def test_help_is_light() -> None:
    """Neither the server's libraries nor the kernel are loaded for it."""
    program = (
        "import sys\nfrom panelwright.assemblies.commands.main import main\ncode = main(['preview', '--help'])\n"
        "print('HEAVY', sorted(sys.modules.keys() & {'starlette', 'uvicorn', 'watchfiles', 'OCP', 'cadquery', 'numpy'}), code)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "HEAVY [] 0" in done.stdout


class TestControls:
    def test_each_kind(self) -> None:
        """Numbers with and without a range, switches, choices, texts, and numbers that may be none."""
        from typing import Annotated, Literal

        from panelwright.plates import Range

        def design(
            width: Annotated[float, Range(80, 400)] = 240.0,
            rows: int = 4,
            lid: bool = True,
            wood: Literal["ash", "oak"] = "oak",
            name: str = "tray",
            inset: float | None = None,
        ) -> None: ...

        design.__annotations__ = {  # as a file without postponed annotations has them
            "width": Annotated[float, Range(80, 400)],
            "rows": int,
            "lid": bool,
            "wood": Literal["ash", "oak"],
            "name": str,
            "inset": float | None,
        }
        found = {c["name"]: c for c in controls_of(parameters_of(design, "tray.py"), {"rows": 6})}
        assert [c["kind"] for c in found.values()] == ["number", "number", "switch", "choice", "text", "text"]
        assert (found["width"]["low"], found["width"]["high"], found["width"]["is_bound"]) == (80, 400, True)
        assert (found["rows"]["low"], found["rows"]["high"], found["rows"]["step"], found["rows"]["value"]) == (2, 8, 1, "6")
        assert found["wood"]["options"] == ["ash", "oak"]
        assert (found["lid"]["value"], found["inset"]["value"]) == ("true", "none")

    @pytest.mark.parametrize(("default", "low", "high"), [(0.0, 0.0, 1.0), (-4.0, -8.0, -2.0), (0.3, 0.15, 0.6)])
    def test_sliders_without_a_range(self, default: float, low: float, high: float) -> None:
        """From half to double, whichever way that goes; nothing has from 0 to 1."""

        def design(size: float = default) -> None: ...

        design.__annotations__ = {"size": float}
        (control,) = controls_of(parameters_of(design, "tray.py"), {})
        assert (control["low"], control["high"]) == (low, high)
        assert 0 < control["step"] <= (high - low) / 50


class TestTail:
    def test_short_texts_are_whole(self) -> None:
        """And nothing is said to be missing."""
        stream = Printed()
        stream.write("a\n")
        stream.write("b\n")
        assert stream.kept == "a\nb\n"

    def test_long_texts_keep_both_ends(self) -> None:
        """Also when they come in small pieces; what is missing is counted."""
        stream = Printed()
        for n in range(20_000):
            stream.write(f"{n}\n")
        whole = "".join(f"{n}\n" for n in range(20_000))
        head, _, rest = stream.kept.partition("\n… ")
        count, _, tail = rest.partition(" characters left out …\n")
        assert whole.startswith(head)
        assert whole.endswith(tail)
        assert len(head) + int(count) + len(tail) == len(whole)


class TestWatch:
    def test_files_that_matter(self, tmp_path: Path) -> None:
        """The design, what was read, and after a failure new modules beside it."""
        watch = Watch(tmp_path / "board.py")
        read, other = tmp_path / "heights.py", tmp_path / "notes.py"
        assert watch.matters(str(tmp_path / "board.py"))
        watch.look_at([str(read)], failed=False)
        assert watch.matters(str(read))
        assert not watch.matters(str(other))
        watch.look_at([], failed=True)
        assert watch.matters(str(read))
        assert watch.matters(str(other))
        assert not watch.matters(str(tmp_path / "deep" / "notes.py"))
        watch.look_at([], failed=False)
        assert not watch.matters(str(read))


def test_two_saves_within_a_second_are_both_seen(live: Live) -> None:
    """Of the same size too, which Python's compiled modules cannot be told apart by."""
    for height in ("51", "52", "53"):
        number = live.state["model"]
        (live.folder / "heights.py").write_text(f"HEIGHT = {height}\n", encoding="utf-8")
        live.until(lambda state, number=number: state["model"] > number)
        assert f"× {height} ×" in json.loads(live.request("/model")[1])["content"]["sections"]


class TestBuilder:
    def test_cadquery_is_loaded_early_where_a_design_speaks_of_it(self) -> None:
        """Else never: it takes longer to load than most designs to build."""
        from multiprocessing import forkserver

        recipes = Path(__file__).parents[2] / "examples" / "recipes"
        loaded = []
        for name in ("shapes_from_cadquery", "leaning_plates"):
            Session(str(recipes / f"{name}.py"), {}, None, 60.0)
            loaded.append(list(forkserver._forkserver._preload_modules))
        assert loaded == [[PRELOAD, "cadquery"], [PRELOAD]]

    def test_a_build_may_be_stopped_before_its_process_is_ready(self, tmp_path: Path) -> None:
        """Then it never begins, and says why."""

        async def stopped() -> Outcome:
            builder = Builder(60.0)
            build = asyncio.create_task(builder.build(Job(str(tmp_path / "none.py"))))
            await asyncio.sleep(0)
            builder.stop("enough")
            outcome = await build
            await builder.close()
            return outcome

        assert asyncio.run(stopped()).error == "enough"

    def test_a_waiting_process_that_died_is_no_fault_of_the_design(self, tmp_path: Path) -> None:
        """Another one takes its place."""
        (tmp_path / "heights.py").write_text(HELPER, encoding="utf-8")
        design = tmp_path / "board.py"
        design.write_text(DESIGN, encoding="utf-8")

        async def built() -> Outcome:
            builder = Builder(60.0)
            builder.prepare()
            assert builder._spare is not None
            waiting = await builder._spare
            waiting.process.kill()
            waiting.process.join()
            outcome = await builder.build(Job(str(design)))
            await builder.close()
            return outcome

        outcome = asyncio.run(built())
        assert outcome.error == ""
        assert outcome.model is not None
