"""Make the README's pictures anew: `python examples/make_pictures.py`."""

from pathlib import Path

from panelwright.assemblies.design_file import load_design, run
from panelwright.assemblies.picture import shaded_png

HERE = Path(__file__).parent


def main() -> None:
    """One picture of each example assembled and one of it taken apart."""
    for path in sorted(HERE.glob("*.py")):
        if path == Path(__file__):
            continue
        design = load_design(path)
        with design.surroundings():
            parts = run(design).product().shown
        for suffix, explode in (("", 0.0), ("-apart", 0.7)):
            target = HERE / "pictures" / f"{path.stem.replace('_', '-')}{suffix}.png"
            target.write_bytes(shaded_png(parts, width=900, height=650, explode=explode))
            print(target)


if __name__ == "__main__":
    main()
