"""What the commands take: values in a row, options without values, and help that states the defaults in force."""

from __future__ import annotations

import inspect
import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import click
import pytest
from panelwright.assemblies.commands.design_commands import PAPERS, VIEW_NAMES
from panelwright.assemblies.commands.main import COMMANDS, main, panelwright
from panelwright.assemblies.console.shared_options import Sheet


def read(*arguments: str) -> dict[str, Any]:
    """What a command's options come to, without running it."""
    command = panelwright.commands[arguments[0]]
    return dict(command.make_context(arguments[0], list(arguments[1:])).params)


def helps() -> dict[str, str]:
    """The help of every option that takes a value, by command and name."""
    return {
        f"{command.name} {option.opts[0]}": option.help or ""
        for command in COMMANDS
        for option in command.params
        if isinstance(option, click.Option) and not option.is_flag
    }


class TestValuesInARow:
    def test_one_name_for_several_values(self) -> None:
        """And the name may be given again; what follows another option is no longer its."""
        found = read("calibrate", "birch 4", "--thickness", "3.9", "3.95", "--strips", "78.1", "--thickness", "3.92")
        assert (found["stock"], found["thickness"], found["strips"]) == ("birch 4", (3.9, 3.95, 3.92), (78.1,))

    def test_a_row_ends_before_an_argument(self) -> None:
        """A stock and a design are found behind a row too: they are no number, and set nothing."""
        found = read("coupon", "--thickness", "3.9", "3.95", "birch 4", "--out", "test")
        assert (found["stock"], found["thickness"]) == ("birch 4", (3.9, 3.95))
        found = read("nest", "--copies", "2", "3", "tray.py", "rack.py", "--set", "width=80", "lid=no", "pot.py", "--out", "x")
        assert found["wanted"] == ("tray.py", "rack.py", "pot.py")
        assert (found["copies"], found["settings"]) == ((2, 3), ("width=80", "lid=no"))

    def test_negative_numbers_are_values(self) -> None:
        """A press fit's mark may lie below 0; an option's name is no value."""
        assert read("calibrate", "birch 4", "--press", "-0.1", "--snug", "-.05")["press"] == -0.1
        assert read("picture", "tray.py", "--azimuth", "-30")["azimuth"] == -30
        assert read("calibrate", "birch 4", "--strips", "78.1", "-1")["strips"] == (78.1, -1.0)

    @pytest.mark.parametrize("row", [["--out", "--json"], ["--set"], ["--set", "-h"], ["--seed", "--no-marks"]])
    def test_an_option_is_never_taken_for_a_value(self, row: list[str]) -> None:
        """`--out --json` would write a folder of that name."""
        with pytest.raises(click.BadOptionUsage, match=f"Option '{row[0]}' requires an argument"):
            read("build", "tray.py", *row)

    def test_everything_behind_two_dashes_is_an_argument(self) -> None:
        """So a design may be named as options are."""
        assert read("check", "--json", "--", "--set")["design"] == "--set"

    def test_value_behind_an_equals_sign(self) -> None:
        """As many are used to."""
        found = read("check", "tray.py", "--shop=our.toml", "--set=width=80")
        assert (found["shop"], found["settings"]) == ("our.toml", ("width=80",))


class TestHelp:
    def test_every_value_states_its_default_or_that_it_is_needed(self) -> None:
        """Whoever leaves an option out knows what happens."""
        told = helps()
        assert len(told) > 60, "options of all commands"
        needed = re.compile(r"\(default: [^)]+\)|replace\.|keep their defaults")
        assert [name for name, said in told.items() if not needed.search(said)] == []

    @pytest.mark.parametrize("unit", ["mm", "mm/s", "degrees", "pixels"])
    def test_lengths_speeds_and_angles_name_their_unit(self, unit: str) -> None:
        """By the letter that stands for the value."""
        letters = {"mm": ("MM", "T", "W", "M", "E"), "mm/s": ("V",), "degrees": ("DEG",), "pixels": ("PX",)}[unit]
        told = [
            (option.opts[0], option.help or "")
            for command in COMMANDS
            for option in command.params
            if isinstance(option, click.Option) and (option.metavar or "").split(" ")[0] in letters
        ]
        assert told
        assert [name for name, said in told if not re.search(rf"\b{unit}\b", said)] == []

    def test_defaults_stated_are_those_in_force(self) -> None:
        """They live in modules that help does not load."""
        from panelwright.assemblies.commands.preview_command import DEFAULT_LIMIT_S
        from panelwright.assemblies.measuring.calibrate import CALIPER
        from panelwright.assemblies.nest.job import LEAST_TURN_STEP
        from panelwright.assemblies.sheets.request import Bridges, SheetRules
        from panelwright.assemblies.shop.shop_file import Machine

        rules, machine, told = SheetRules(), {field.name: field.default for field in fields(Machine)}, helps()
        expected = {
            "nest --effort": f"{rules.effort}",
            "nest --seed": f"{rules.seed}",
            "nest --spacing": f"the machine's, or {machine['part_spacing_mm']:g}",
            "nest --margin": f"the machine's, or {machine['edge_margin_mm']:g}",
            "nest --turn-step": f"{rules.turn_step_deg:g}",
            "nest --least-offcut": "{:g} {:g}".format(*rules.least_offcut),
            "nest --face-up": rules.face_up,
            "nest --bridge-width": f"{Bridges().width_mm:g}",
            "calibrate --caliper": f"{CALIPER:g}",
            "preview --time-limit": f"{DEFAULT_LIMIT_S:g}",
        }
        for name, default in expected.items():
            assert re.search(rf"\(default: {re.escape(default)}[,)]", told[name]), name
        assert f"{LEAST_TURN_STEP:g} or more" in told["nest --turn-step"]

    def test_ranges_stated_are_those_in_force(self) -> None:
        """Views, papers, and how many pictures and speeds there may be."""
        from panelwright.assemblies.commands.picture_command import MOST_APART, MOST_TURNS
        from panelwright.assemblies.measuring.coupon import MOST_SPEEDS
        from panelwright.assemblies.paper import press
        from panelwright.assemblies.pictures.picture import VIEWS

        told = helps()
        assert tuple(VIEWS) == VIEW_NAMES
        assert [press.paper_of(name).name for name in PAPERS] == list(PAPERS)
        assert f"2 to {MOST_TURNS}," in told["picture --turntable"]
        assert f"{MOST_APART:g} at most" in told["picture --apart"]
        assert f"Up to {MOST_SPEEDS} " in told["coupon --mark-speeds"]

    def test_sheet_options_are_listed_by_themselves(self, capsys: pytest.CaptureFixture[str]) -> None:
        """The same ones for both commands that lay out sheets."""
        listed = []
        for command in ("build", "nest"):
            assert main([command, "--help"]) == 0
            listed.append(capsys.readouterr().out.partition("Sheet options:\n")[2].partition("\n\n")[0])
        names = {option.opts[0] for option in panelwright.commands["nest"].params if isinstance(option, Sheet)}
        assert set(re.findall(r"^  (--[a-z-]+)", listed[0], re.MULTILINE)) == names
        assert listed[0].strip() == listed[1].strip()

    def test_every_command_tells_its_use_in_a_sentence(self) -> None:
        """A docstring that Click shows, and a line for the list."""
        for command in COMMANDS:
            assert inspect.cleandoc(command.help or "").strip(), command.name
            assert (command.short_help or "").endswith("."), command.name


def test_one_name_for_wrong_use(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Scripts that read JSON see `UsageError`, whatever is wrong with the line."""
    import json

    for arguments in (
        ["check", "--widht"],
        ["nest"],
        ["check", "a.py", "b.py"],
        ["explian"],
        ["build", str(tmp_path), "--out"],
    ):
        assert main([*arguments, "--json"]) == 2
        error = json.loads(capsys.readouterr().out)["error"]
        assert error["type"] == "UsageError"
        assert "Usage: panelwright" in error["message"]
