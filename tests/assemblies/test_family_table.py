"""Tables of variants: CSV, TOML and functions give the same variants, and every fault is told with its place and its mend."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from families import studio_family
from panelwright.assemblies.family.tables.gathered import MOST_VARIANTS, natural_order
from panelwright.assemblies.family.tables.variant_table import read_variants
from panelwright.assemblies.loading.design_file import Design, load_design
from panelwright.plates.errors import DesignError

Reader = Callable[..., list[tuple[str, dict[str, str]]]]


@pytest.fixture(scope="module")
def design(tmp_path_factory: pytest.TempPathFactory) -> Design:
    """The stand, loaded once."""
    return load_design(studio_family(tmp_path_factory.mktemp("studio")))


@pytest.fixture
def read(design: Design, tmp_path: Path) -> Reader:
    """Writes a table and reads it."""

    def read(text: str | bytes, name: str = "sizes.csv", function: str = "") -> list[tuple[str, dict[str, str]]]:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        found = read_variants(f"{path}:{function}" if function else str(path), design)
        return [(variant.name, dict(setting.split("=", 1) for setting in variant.settings)) for variant in found]

    return read


CSV = "variant,width,lid,finish,slots\nlarge,200,yes,oiled,3\nsmall,60.5,no,RAW,none\n"

SAME = [
    ("large", {"width": "200.0", "lid": "true", "finish": "OILED", "slots": "3"}),
    ("small", {"width": "60.5", "lid": "false", "finish": "RAW", "slots": "none"}),
]


@pytest.mark.parametrize(
    ("name", "text", "function"),
    [
        ("sizes.csv", CSV, ""),
        ("sizes.csv", "\ufeff" + CSV.replace(",", ";").replace("\n", "\r\n"), ""),
        ("sizes.csv", CSV.replace(",", "\t") + "\n\n", ""),
        (
            "sizes.toml",
            '[all]\nlid = true\n[variants]\nsmall = { width = 60.5, lid = false, finish = "RAW", slots = "none" }\n'
            'large = { width = 200, finish = "oiled", slots = 3 }\n',
            "",
        ),
        (
            "sizes.py",
            "import depths\n"
            "def all_sizes():\n"
            "    yield 'small', {'width': 60.5, 'lid': False, 'finish': 'raw', 'slots': None}\n"
            "    yield 'large', dict(width=depths.DEPTH * 4, lid=True, finish='OILED', slots=3)\n",
            "all_sizes",
        ),
    ],
)
def test_the_same_variants_from_any_kind_of_table(read: Reader, tmp_path: Path, name: str, text: str, function: str) -> None:
    """Sorted by name; a function may import what lies beside it, and spreadsheets write other separators."""
    (tmp_path / "depths.py").write_text("DEPTH = 50\n", encoding="utf-8")
    assert read(text, name, function) == SAME


def test_a_grid_is_every_combination_of_lists_and_ranges(read: Reader) -> None:
    """Both ends of a range are in it, tenths stay tenths, and what all have can be said once."""
    found = read(
        "[all]\nheight = 30\n[[grid]]\nset = { width = { from = 60, to = 60.3, step = 0.1 }, lid = [true, false] }\n"
        '[[grid]]\nname = "{height} high"\nset = { height = [40, 50] }\n',
        "sizes.toml",
    )
    assert len(found) == 10
    by_name = dict(found)
    assert by_name["40 high"] == {"height": "40"}
    assert by_name["width 60.3, lid true"] == {"width": "60.3", "height": "30", "lid": "true"}
    assert [name for name, _ in found] == sorted((name for name, _ in found), key=natural_order)


def test_the_table_of_the_examples_is_read(request: pytest.FixtureRequest) -> None:
    """The cookbook says that it lists fourteen trays."""
    examples = request.config.rootpath / "examples"
    found = read_variants(str(examples / "tile_tray_sizes.toml"), load_design(examples / "tile_tray.py"))
    assert len(found) == 14
    assert found[0].name == "4 by 2, tiles of 42"


def test_rows_in_any_order_are_the_same_family(read: Reader) -> None:
    """Numbers count by their value, so 9 comes before 10."""
    rows = [f"size {n},{60 + n}" for n in range(1, 31)]
    first = read("variant,width\n" + "\n".join(rows))
    random.Random(4).shuffle(rows)
    assert read("variant,width\n" + "\n".join(rows)) == first
    assert [name for name, _ in first] == [f"size {n}" for n in range(1, 31)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("variant,widht\na,70\n", "has no parameter 'widht'; did you mean 'width'"),
        ("varient,width\na,70\n", "no column 'variant' for the names of variants; is it 'varient'?"),
        ("variant,width,width\na,70,80\n", "two columns 'width'"),
        ("variant,width\na,\nb,70\n", "line 2: width of 'a' is missing; give it, or leave the column out"),
        ("variant,width\na\n", "line 2: 1 values are given for 2 columns"),
        ("variant,width\na,wide\n", "line 2, 'a': parameter 'width' (float from 60 to 300): 'wide' is no number"),
        ("variant,width\na,400\n", "parameter 'width' is 400; it must lie from 60 to 300"),
        ("variant;width\na;70,5\n", "write a decimal point"),
        ("variant,width\na,70\na,80\n", "line 3: there are two variants 'a'; give each a name of its own"),
        ("variant,width\nOak,70\noak,80\n", "variants 'Oak' and 'oak' would be one folder on some systems"),
        ("variant,width\n../a,70\n", "the name '../a' cannot name a folder: it holds '/'"),
        ("variant,width\nnul,70\n", "is reserved on some systems"),
        ("variant,width\n,70\n", "the name '' cannot name a folder: it is empty"),
        (f"variant,width\n{'a' * 200},70\n", "is longer than 120 bytes"),
        ("variant,width\n", "there are no variants in it"),
        ("", "there are no variants in it"),
        ('variant,width\n"a,70\n', "this is not CSV"),
        (b"variant,width\n\xff,70\n", "is not UTF-8"),
    ],
)
def test_faults_of_a_csv(read: Reader, text: str | bytes, says: str) -> None:
    """Each names the table, the place and what to change."""
    with pytest.raises(DesignError) as caught:
        read(text)
    assert says in str(caught.value)
    assert "sizes.csv" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[variant]\n", "no key 'variant'; did you mean 'variants'"),
        ("[all]\nwidht = 3\n", "did you mean 'width'"),
        ('[variants]\na = { width = "70" }\n', "'70' is no number"),
        ("[variants]\na = { height = 40.5 }\n", "40.5 is no whole number"),
        ("[variants]\na = { lid = 1 }\n", "1 is neither True nor False"),
        ("[variants]\na = 70\n", "give parameters, { name = value"),
        ("[[grid]]\nset = { width = [] }\n", "width of grid 1 is an empty list"),
        ("[[grid]]\nset = { width = { from = 60, to = 70, stop = 1 } }\n", "no key 'stop' of width of grid 1"),
        ("[[grid]]\nset = { width = { from = 70, to = 60 } }\n", "must go up"),
        ('[[grid]]\nname = "{with} wide"\nset = { width = [70, 80] }\n', "speaks of {with}, which the grid does not set"),
        ('[[grid]]\nname = "all"\nset = { width = [70, 80] }\n', "two variants 'all'"),
        ("[[grid]]\nset = { width = { from = 60, to = 61, step = 1e-9 } }\n", "so take a larger step"),
        (
            "[[grid]]\nset = { height = { from = 1, to = 999 }, slots = { from = 1, to = 999 } }\n",
            "998001 variants; 100000 are",
        ),
        ("[variants\n", "this is not TOML"),
        ("[variants.small tray]\nwidth = 100\n", 'quote names with a space: [variants."small tray"]'),
    ],
)
def test_faults_of_a_toml(read: Reader, text: str, says: str) -> None:
    """Numbers in quotes are a slip, and a grid is counted before it is made."""
    with pytest.raises(DesignError) as caught:
        read(text, "sizes.toml")
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("def sizes():\n    yield 'a'\n", "yielded 'a' as its variant 1; yield a name and a dict"),
        ("def sizes():\n    yield 3, {}\n", "the name of a variant is 3; give a text"),
        ("def sizes():\n    yield 'a', {'width': 70}\n    raise KeyError('b')\n", "sizes.py:3 in sizes"),
        ("def size():\n    yield 'a', {}\n", "no function 'sizes' in table 'sizes.py'; did you mean 'size'?"),
        ("import nowhere\n", "No module named 'nowhere'"),
        ("def sizes(:\n", "sizes.py"),
    ],
)
def test_faults_of_a_function(read: Reader, text: str, says: str) -> None:
    """Its own lines are shown."""
    with pytest.raises(DesignError) as caught:
        read(text, "sizes.py", "sizes")
    assert says in str(caught.value)


def test_several_faults_are_told_at_once_and_reading_stops_in_time(read: Reader) -> None:
    """Two rows, two faults; a thousand wrong rows are no thousand lines."""
    with pytest.raises(DesignError, match=r"2 faults\n.*line 2.*\n.*line 3"):
        read("variant,width\na,1\nb,2\n")
    with pytest.raises(DesignError) as caught:
        read("variant,width\n" + "".join(f"{n},1\n" for n in range(1000)))
    assert str(caught.value).count("\n") == 8
    assert "there may be more" in str(caught.value)


def test_a_million_rows_are_refused_with_the_limit(design: Design, tmp_path: Path) -> None:
    """Read as far as the limit, not into memory first."""
    path = tmp_path / "many.csv"
    # far behind the limit stands what nobody could read
    path.write_text("variant\n" + "".join(f"v{n}\n" for n in range(1_000_000)) + "b\xe4d row\n", encoding="latin-1")
    with pytest.raises(DesignError, match=f"more than {MOST_VARIANTS} variants"):
        read_variants(str(path), design)


def test_other_files_are_refused(read: Reader, design: Design, tmp_path: Path) -> None:
    """A file that is not there, a folder, a kind that nobody knows."""
    with pytest.raises(DesignError, match="there is no table"):
        read_variants(str(tmp_path / "none.csv"), design)
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(DesignError, match="cannot be read"):
        read_variants(str(tmp_path / "folder.csv"), design)
    with pytest.raises(DesignError, match=r"give a \.csv, a \.toml, or FILE\.py:function"):
        read("variant\na\n", "sizes.xlsx")
