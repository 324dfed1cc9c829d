"""The output folder: what is in it, that it is replaced whole or not at all, and that the bytes never vary."""

from __future__ import annotations

import csv
import errno
import hashlib
import io
import json
import math
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel, Part
from panelwright.assemblies.data.product import Hardware, JointRecord, Product
from panelwright.assemblies.output.bom import bom_csv
from panelwright.assemblies.output.folder import check_out, write_product
from panelwright.assemblies.product.json_entries import plain
from panelwright.assemblies.writing.exchange import exchange
from panelwright.assemblies.writing.locks import hold
from panelwright.joints import tabs
from panelwright.plates.errors import KernelError, OutputError
from panelwright.plates.geometry.curves import Loop, loop_through
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock

BIRCH = Stock("birch plywood", 4, measured=3.9, kerf=0.2, density=680)
CARD = Stock("=grey card", 1.5)


def box_loop(width: float, height: float, grow: float = 0.0) -> Loop:
    return loop_through([(-grow, -grow), (width + grow, -grow), (width + grow, height + grow), (-grow, height + grow)])


def part(name: str, stock: Stock, width: float, height: float, frame: Frame) -> Part:
    solid = cq.Solid.makeBox(width, height, stock.t).wrapped
    return Part(name, stock, frame, solid, (box_loop(width, height),))


def panel(name: str, stock: Stock, plates: tuple[str, ...], width: float, height: float) -> Panel:
    mass = None if stock.density is None else width * height * stock.t * 1e-9 * stock.density
    cuts = (box_loop(width, height, stock.kerf / 2),)
    return Panel(name, stock, plates, (box_loop(width, height),), cuts, (), width * height, mass)


def glaze_drawer(depth: float = 60.0, *, name: str = "glaze-card drawer", lid: str = "Böden") -> Product:
    upright = Frame((0, 0, 4), (1, 0, 0), (0, 0, 1), (0, -1, 0))
    return Product(
        name=name,
        parts=(
            part("base", BIRCH, 120, depth, Frame()),
            part("left side", BIRCH, depth, 30, upright),
            part("right side", BIRCH, depth, 30, upright.shifted((0, 50, 0))),
            part(lid, CARD, 120, depth, Frame((0, 0, 40))),
        ),
        panels=(
            panel("base", BIRCH, ("base",), 120, depth),
            panel("left side", BIRCH, ("left side", "right side"), depth, 30),
            panel(lid, CARD, (lid,), 120, depth),
        ),
        joints=(
            JointRecord(
                "tabs", ("left side", "base"), ("<Z", ">Z"), 0.1, {"tab_mm": 10 / 3, "at_mm": (5.0, 25.0)}, words=tabs().words
            ),
        ),
        hardware=(Hardware("ISO 4762 M3 × 16", 4), Hardware('@odd, "quoted"', 1)),
        findings=(Finding("warning", "WEB", ("base",), "web is 2 mm", (1.0, 2.0, 1 / 3), {"web_mm": 2.0, "least": math.inf}),),
    )


def snapshot(folder: Path) -> dict[str, bytes | None]:
    """Every path below a folder, with the bytes of files and None for folders."""
    return {
        path.relative_to(folder).as_posix(): None if path.is_dir() else path.read_bytes() for path in sorted(folder.rglob("*"))
    }


FILES = sorted(
    [
        "assembly.step",
        "bom.csv",
        "manifest.json",
        "panels/base.dxf",
        "panels/base.svg",
        "panels/left side.dxf",
        "panels/left side.svg",
        "panels/Böden.dxf",
        "panels/Böden.svg",
        "report.html",
    ]
)


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A folder that an earlier build wrote."""
    write_product(glaze_drawer(), tmp_path / "out", file="drawer.py", parameters={"depth": 60.0})
    return tmp_path / "out"


def manifest(folder: Path) -> Any:
    return json.loads((folder / "manifest.json").read_text("utf-8"))


class TestContents:
    def test_every_file_of_the_contract_and_no_other(self, tmp_path: Path) -> None:
        """One STEP, a DXF and an SVG for each distinct panel, the bill and the manifest; all of them returned."""
        written = write_product(glaze_drawer(), tmp_path / "out")
        assert [path.relative_to(tmp_path / "out").as_posix() for path in written] == FILES
        assert sorted(key for key, data in snapshot(tmp_path / "out").items() if data is not None) == FILES
        assert [path.name for path in tmp_path.iterdir()] == ["out"]

    def test_manifest_lists_each_panel_with_its_numbers_and_digests(self, out: Path) -> None:
        """One entry a distinct panel, with quantity, the plates served, and digests that match the files."""
        found = manifest(out)
        entries = {entry["name"]: entry for entry in found["panels"]}
        side = entries["left side"]
        assert side["quantity"] == 2
        assert side["instances"] == ["left side", "right side"]
        assert (side["stock"], side["thickness_mm"], side["kerf_mm"]) == ("birch plywood", 3.9, 0.2)
        assert (side["area_mm2"], side["bbox_mm"]) == (1800.0, [60.0, 30.0])
        assert side["mass_kg"] == pytest.approx(1800 * 3.9e-9 * 680, abs=1e-6)
        assert entries["Böden"]["mass_kg"] is None
        listed = {path: digest for entry in found["panels"] for path, digest in entry["files"].items()}
        assert len(listed) == 6
        assert listed.items() <= found["files"].items()
        assert sorted([*found["files"], "manifest.json"]) == FILES
        for path, digest in found["files"].items():
            assert hashlib.sha256((out / path).read_bytes()).hexdigest() == digest

    def test_manifest_tells_design_parameters_joints_hardware_and_checks(self, out: Path) -> None:
        """The rest of the contract, rounded to 1e-6, with null for what JSON has no number for."""
        found = manifest(out)
        assert found["design"] == {"file": "drawer.py", "name": "glaze-card drawer"}
        assert found["parameters"] == {"depth": 60.0}
        assert found["units"] == "mm"
        assert set(found["versions"]) == {"panelwright", "cadquery", "cadquery-ocp", "ezdxf", "python"}
        assert found["versions"]["python"] == f"{sys.version_info.major}.{sys.version_info.minor}"
        assert found["joints"] == [
            {
                "by_join_touching": False,
                "joined_in": None,
                "kind": "tabs",
                "plates": ["left side", "base"],
                "faces": ["<Z", ">Z"],
                "clearance_mm": 0.1,
                "numbers": {"tab_mm": 3.333333, "at_mm": [5.0, 25.0]},
            }
        ]
        assert found["hardware"][0] == {"designation": "ISO 4762 M3 × 16", "mass_kg": None, "note": "", "quantity": 4}
        assert found["checks"] == [
            {
                "level": "warning",
                "code": "WEB",
                "plates": ["base"],
                "message": "web is 2 mm",
                "place_mm": [1.0, 2.0, 0.333333],
                "numbers": {"web_mm": 2.0, "least": None},
            }
        ]

    def test_manifest_is_utf8_with_sorted_keys_and_a_last_newline(self, out: Path) -> None:
        """Names stay readable, and a diff of two manifests shows what changed."""
        text = (out / "manifest.json").read_bytes().decode("utf-8")
        assert "Böden" in text
        assert text.endswith("}\n")
        found = json.loads(text, object_pairs_hook=lambda pairs: pairs)
        assert [key for key, _ in found] == sorted(key for key, _ in found)
        assert str(out.parent) not in text

    def test_bill_has_panels_first_and_nothing_a_spreadsheet_would_run(self, out: Path) -> None:
        """Rows by RFC 4180; text that begins like a formula is led by an apostrophe."""
        data = (out / "bom.csv").read_bytes().decode("utf-8")
        assert data.count("\r\n") == data.count("\n") == 6
        rows = list(csv.DictReader(io.StringIO(data, newline="")))
        assert [row["kind"] for row in rows] == ["panel"] * 3 + ["hardware"] * 2
        assert rows[1] == {
            "kind": "panel",
            "name": "left side",
            "quantity": "2",
            "stock": "birch plywood",
            "thickness_mm": "3.9",
            "width_mm": "60",
            "height_mm": "30",
            "area_mm2": "1800",
            "mass_kg": "0.004774",
            "notes": "for left side, right side",
        }
        assert rows[2]["stock"] == "'=grey card"
        assert rows[2]["mass_kg"] == ""
        assert rows[4]["name"] == '\'@odd, "quoted"'

    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
    def test_each_sign_that_starts_a_formula_is_disarmed(self, start: str) -> None:
        """Also for bought parts, whose designations come from a design."""
        product = Product("tray", (), (), (), (Hardware(f"{start}1+1", 1),), ())
        row = list(csv.reader(io.StringIO(bom_csv(product), newline="")))[1]
        assert row[1] == f"'{start}1+1"

    def test_values_json_cannot_hold_become_ones_it_can(self) -> None:
        """Enums by name, sets sorted, tuples as lists; no text with a memory address in it."""
        assert plain(signal.Signals.SIGINT) == "SIGINT"
        assert plain({3, 1, 2}) == [1, 2, 3]
        assert plain(object()) == "object"
        assert plain(-0.0000001) == 0.0
        assert math.copysign(1, plain(-0.0000001)) == 1


class TestSameBytes:
    def test_two_folders_get_the_same_bytes(self, tmp_path: Path) -> None:
        """Neither the folder's name nor what stood there before shows in any file."""
        write_product(glaze_drawer(), tmp_path / "one")
        write_product(glaze_drawer(80), tmp_path / "somewhere" / "else")
        write_product(glaze_drawer(), tmp_path / "somewhere" / "else")
        first = snapshot(tmp_path / "one")
        assert first == snapshot(tmp_path / "somewhere" / "else")
        assert len(first) == len(FILES) + 1

    def test_two_processes_with_other_hash_seeds_write_the_same_bytes(self, tmp_path: Path) -> None:
        """Fresh interpreters, other hash seeds, other folders and other times: the same files."""
        script = (
            "import importlib.util as u, sys, pathlib\n"
            f"spec = u.spec_from_file_location('made', {str(Path(__file__).resolve())!r})\n"
            "made = u.module_from_spec(spec); sys.modules['made'] = made; spec.loader.exec_module(made)\n"
            "made.write_product(made.glaze_drawer(), 'out', file='drawer.py', parameters={'depth': 60.0})\n"
        )
        for seed in ("1", "77"):
            (tmp_path / seed).mkdir()
            environment = {**os.environ, "PYTHONHASHSEED": seed}
            subprocess.run([sys.executable, "-c", script], cwd=tmp_path / seed, env=environment, check=True)
        first = snapshot(tmp_path / "1" / "out")
        assert len(first) == len(FILES) + 1
        assert first == snapshot(tmp_path / "77" / "out")


def full_disk(*_: object, **__: object) -> Any:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def ctrl_c(*_: object, **__: object) -> Any:
    raise KeyboardInterrupt


def broken_kernel(*_: object, **__: object) -> Any:
    raise KernelError("no STEP today")


FAILURES = [(full_disk, OutputError), (ctrl_c, KeyboardInterrupt), (broken_kernel, KernelError)]
PLACES = [
    "panelwright.plates._kernel.files.step.step_bytes",
    "panelwright.assemblies.files.dxf.panel_dxf",
    "panelwright.assemblies.files.svg.panel_svg",
    "panelwright.assemblies.output.folder.bom_csv",
    "panelwright.assemblies.output.folder.report_html",
    "panelwright.assemblies.output.folder.document_text",
    "panelwright.assemblies.output.folder.carry_over",
    "panelwright.assemblies.writing.replace_folder._swap",
]


@pytest.fixture
def two_renames(monkeypatch: pytest.MonkeyPatch) -> None:
    """A system that cannot exchange two folders at once."""
    monkeypatch.setattr("panelwright.assemblies.writing.replace_folder.exchange", lambda *_: False)


class TestWholeOrNotAtAll:
    @pytest.mark.parametrize("place", PLACES)
    @pytest.mark.parametrize(("failure", "raised"), FAILURES)
    def test_failure_at_any_stage_leaves_the_old_folder(
        self,
        out: Path,
        monkeypatch: pytest.MonkeyPatch,
        place: str,
        failure: Callable[..., Any],
        raised: type[BaseException],
    ) -> None:
        """Whatever fails, and however: same bytes as before, and nothing else beside the folder."""
        (out / "notes.txt").write_text("sand the edges")
        before = snapshot(out)
        monkeypatch.setattr(place, failure)
        with pytest.raises(raised):
            write_product(glaze_drawer(90), out)
        assert snapshot(out) == before
        assert [path.name for path in out.parent.iterdir()] == ["out"]

    @pytest.mark.parametrize(("failure", "raised"), FAILURES)
    def test_failure_without_an_old_folder_leaves_nothing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failure: Callable[..., Any], raised: type[BaseException]
    ) -> None:
        """Folders created on the way to the output are taken away again; those that were there stay."""
        (tmp_path / "shop").mkdir()
        monkeypatch.setattr("panelwright.assemblies.files.svg.panel_svg", failure)
        with pytest.raises(raised):
            write_product(glaze_drawer(), tmp_path / "shop" / "june" / "drawer")
        assert list(snapshot(tmp_path)) == ["shop"]

    @pytest.mark.usefixtures("two_renames")
    @pytest.mark.parametrize("failing", [1, 2])
    def test_failure_of_either_rename_puts_the_old_folder_back(
        self, out: Path, monkeypatch: pytest.MonkeyPatch, failing: int
    ) -> None:
        """Old aside, new in place: if one of the two fails, the old one stands where it stood."""
        before = snapshot(out)
        calls = 0
        rename = Path.rename

        def failing_rename(self: Path, target: Path) -> Path:
            nonlocal calls
            calls += 1
            if calls == failing:
                raise OSError(errno.EBUSY, "busy")
            return rename(self, target)

        monkeypatch.setattr(Path, "rename", failing_rename)
        with pytest.raises(OutputError, match="in use, or a mount point; what was there before is untouched"):
            write_product(glaze_drawer(90), out)
        monkeypatch.undo()
        assert calls >= failing
        assert snapshot(out) == before
        assert [path.name for path in out.parent.iterdir()] == ["out"]

    @pytest.mark.usefixtures("two_renames")
    def test_interrupt_between_the_renames_waits_and_undoes_both(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A real signal in the middle of the exchange neither loses the old folder nor leaves two."""
        before = snapshot(out)
        rename = Path.rename
        sent: list[bool] = []

        def rename_and_signal(self: Path, target: Path) -> Path:
            moved = rename(self, target)
            if not sent:
                sent.append(True)
                os.kill(os.getpid(), signal.SIGINT)
            return moved

        monkeypatch.setattr(Path, "rename", rename_and_signal)
        with pytest.raises(KeyboardInterrupt):
            write_product(glaze_drawer(90), out)
        monkeypatch.undo()
        assert sent
        assert snapshot(out) == before
        assert [path.name for path in out.parent.iterdir()] == ["out"]
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler

    def test_interrupt_in_the_exchange_undoes_it(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A real signal right after the one step that exchanges the folders: the old one is back, nothing is beside it."""
        before = snapshot(out)
        sent: list[bool] = []

        def exchange_and_signal(one: Path, other: Path) -> bool:
            done = exchange(one, other)
            if done and not sent:
                sent.append(True)
                os.kill(os.getpid(), signal.SIGINT)
            return done

        monkeypatch.setattr("panelwright.assemblies.writing.replace_folder.exchange", exchange_and_signal)
        if not sys.platform.startswith("linux"):
            pytest.skip("only Linux exchanges two folders at once")
        with pytest.raises(KeyboardInterrupt):
            write_product(glaze_drawer(90), out)
        assert sent
        assert snapshot(out) == before
        assert [path.name for path in out.parent.iterdir()] == ["out"]

    def test_full_disk_is_named(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """The message says what to do something about, and that nothing is lost."""
        monkeypatch.setattr("panelwright.assemblies.files.dxf.panel_dxf", full_disk)
        with pytest.raises(OutputError, match="the disk is full; what was there before is untouched") as caught:
            write_product(glaze_drawer(90), out)
        assert isinstance(caught.value, OSError)
        assert isinstance(caught.value.__cause__, OSError)


class TestForeignFiles:
    def test_notes_survive_and_outdated_panels_do_not(self, out: Path) -> None:
        """What the old manifest doesn't list is carried over wherever it lies; what it lists goes."""
        (out / "notes.txt").write_text("sand the edges")
        (out / "panels" / "lid jig.svg").write_text("<svg/>")
        (out / "photos" / "june").mkdir(parents=True)
        (out / "photos" / "june" / "one.jpg").write_bytes(b"\xff\xd8")
        (out / "to do").mkdir()
        (out / "latest").symlink_to("photos/june")
        write_product(glaze_drawer(lid="Deckel"), out)
        found = snapshot(out)
        assert found["notes.txt"] == b"sand the edges"
        assert found["panels/lid jig.svg"] == b"<svg/>"
        assert found["photos/june/one.jpg"] == b"\xff\xd8"
        assert found["to do"] is None
        assert os.readlink(out / "latest") == "photos/june"
        assert "panels/Böden.dxf" not in found
        assert "panels/Deckel.dxf" in found
        assert "notes.txt" not in manifest(out)["files"]
        write_product(glaze_drawer(), out)
        assert snapshot(out)["notes.txt"] == b"sand the edges"

    def test_carried_file_is_copied_where_links_are_impossible(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """File systems without hard links get a copy."""

        def no_link(*_: object, **__: object) -> None:
            raise OSError(errno.EPERM, "no links here")

        (out / "notes.txt").write_text("sand the edges")
        monkeypatch.setattr(os, "link", no_link)
        write_product(glaze_drawer(90), out)
        assert (out / "notes.txt").read_text() == "sand the edges"

    def test_file_of_somebody_elses_is_never_overwritten(self, out: Path) -> None:
        """A foreign file under the name of a new panel stops the build and is named."""
        (out / "panels" / "Deckel.svg").write_text("drawn by hand")
        before = snapshot(out)
        with pytest.raises(OutputError, match=r"Deckel\.svg.* was not written by an earlier build"):
            write_product(glaze_drawer(lid="Deckel"), out)
        assert snapshot(out) == before

    @pytest.mark.parametrize(
        "text",
        [None, "{}", "not json", '{"name": "an app"}', '{"files": {}, "plates": [], "versions": {}}', "[" * 9999],
    )
    def test_folder_without_a_manifest_of_ours_is_refused(self, tmp_path: Path, text: str | None) -> None:
        """It may hold somebody's work: nothing in it changes, with or without somebody else's manifest."""
        folder = tmp_path / "thesis"
        folder.mkdir()
        (folder / "chapter.txt").write_text("one")
        if text is not None:
            (folder / "manifest.json").write_text(text)
        before = snapshot(folder)
        for action in (check_out, lambda path: write_product(glaze_drawer(), path)):
            with pytest.raises(OutputError, match=r"holds files but no manifest\.json of an earlier build"):
                action(folder)
        assert snapshot(folder) == before

    def test_empty_folder_is_taken(self, tmp_path: Path) -> None:
        """An empty folder holds nobody's work; its permissions stay."""
        (tmp_path / "out").mkdir(mode=0o750)
        mode = (tmp_path / "out").stat().st_mode
        write_product(glaze_drawer(), tmp_path / "out")
        assert (tmp_path / "out" / "manifest.json").is_file()
        assert (tmp_path / "out").stat().st_mode == mode


class TestWhereTo:
    def test_file_is_refused(self, tmp_path: Path) -> None:
        """Neither the file itself nor a folder below it can be the output folder."""
        (tmp_path / "out").write_text("mine")
        with pytest.raises(OutputError, match="is a file"):
            write_product(glaze_drawer(), tmp_path / "out")
        with pytest.raises(OutputError, match="would lie in a file"):
            write_product(glaze_drawer(), tmp_path / "out" / "below")
        assert (tmp_path / "out").read_text() == "mine"

    def test_symbolic_link_leads_to_the_folder_replaced(self, out: Path) -> None:
        """The link stays a link; what it leads to is replaced, and a dangling link's target is created."""
        link, dangling = out.parent / "link", out.parent / "dangling"
        link.symlink_to("out")
        dangling.symlink_to("new/place")
        written = write_product(glaze_drawer(90), link)
        assert link.is_symlink()
        assert written[0].parent == link
        assert manifest(out)["panels"][0]["bbox_mm"] == [120.0, 90.0]
        write_product(glaze_drawer(), dangling)
        assert dangling.is_symlink()
        assert (out.parent / "new" / "place" / "manifest.json").is_file()

    def test_links_in_a_circle_are_refused(self, tmp_path: Path) -> None:
        """A path that leads nowhere is an error, not a hang."""
        (tmp_path / "a").symlink_to("b")
        (tmp_path / "b").symlink_to("a")
        with pytest.raises(OutputError, match=r"'.*a' leads nowhere"):
            write_product(glaze_drawer(), tmp_path / "a")

    def test_folder_without_the_right_to_write_is_refused(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Found before the long work, with the folder that lacks the right."""
        access = os.access
        monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != out.parent and access(path, mode))
        with pytest.raises(OutputError, match="no right to read and write in"):
            check_out(out)

    def test_refusal_of_the_file_system_is_an_output_error(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Rights that only show when writing end the same way."""

        def refuse(*_: object, **__: object) -> None:
            raise PermissionError(errno.EACCES, "Permission denied")

        monkeypatch.setattr(Path, "mkdir", refuse)
        with pytest.raises(OutputError, match="no right to write there"):
            write_product(glaze_drawer(), tmp_path / "out")

    def test_folder_one_stands_in_is_refused(self, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A shell would be left in a folder that is gone."""
        monkeypatch.chdir(out)
        with pytest.raises(OutputError, match="the folder you stand in"):
            check_out(".")

    @pytest.mark.parametrize(
        "name",
        ["../../escape", "/etc/passwd", "..", ".", "", " ", ".hidden", "a\\b", "C:x", "nul", "a\x00b", "x" * 300],
    )
    def test_panel_name_cannot_lead_out_of_the_folder(self, tmp_path: Path, name: str) -> None:
        """Names that are no plain file name stop the build before anything is written."""
        with pytest.raises(OutputError, match="cannot name a file"):
            write_product(glaze_drawer(lid=name), tmp_path / "deep" / "out")
        assert snapshot(tmp_path) == {}

    def test_panel_names_that_some_systems_confuse_are_refused(self, tmp_path: Path) -> None:
        """Two names that differ in case only would be one file on many disks."""
        with pytest.raises(OutputError, match="'base' and 'BASE' would be one file") as caught:
            write_product(glaze_drawer(lid="BASE"), tmp_path / "out")
        assert caught.value.plates == ("base", "BASE")

    def test_left_over_of_a_killed_build_goes_and_a_running_ones_stays(self, out: Path) -> None:
        """An unfinished folder that no run writes in any more is cleared away; one with its lock held is left alone."""
        stale, busy = out.parent / f".out.new-{os.getpid()}-0", out.parent / ".out.new-1-0"
        for folder in (stale, busy):
            (folder / "panels").mkdir(parents=True)
            (folder / "panels" / "base.dxf").write_text("half a")
        held = hold(busy)
        assert held is not None
        write_product(glaze_drawer(90), out)
        assert manifest(out)["panels"][0]["bbox_mm"] == [120.0, 90.0]
        assert sorted(path.name for path in out.parent.iterdir()) == [busy.name, "out"]
        os.close(held)
        check_out(out)
        assert [path.name for path in out.parent.iterdir()] == ["out"]


def test_builds_of_several_processes_into_one_folder_leave_one_whole_result(tmp_path: Path) -> None:
    """Whoever comes last wins; nobody fails, and nothing is left beside the folder."""
    script = (
        "import importlib.util as u, sys\n"
        f"spec = u.spec_from_file_location('made', {str(Path(__file__).resolve())!r})\n"
        "made = u.module_from_spec(spec); sys.modules['made'] = made; spec.loader.exec_module(made)\n"
        "for turn in range(12):\n"
        "    made.write_product(made.glaze_drawer(float(sys.argv[1])), 'out')\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", script, depth], cwd=tmp_path, stderr=subprocess.PIPE) for depth in ("50", "70")
    ]
    for process in running:
        _, complaint = process.communicate(timeout=120)
        assert process.returncode == 0, complaint.decode()
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    found = manifest(tmp_path / "out")
    for path, digest in found["files"].items():
        assert hashlib.sha256((tmp_path / "out" / path).read_bytes()).hexdigest() == digest
