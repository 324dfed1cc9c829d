"""Make the README's pictures anew: `python examples/make_pictures.py`."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

from panelwright.assemblies.picture import shaded_png

HERE = Path(__file__).parent


def main() -> None:
    """One picture of each example assembled and one of it taken apart."""
    for path in sorted(HERE.glob("*.py")):
        if path == Path(__file__):
            continue
        spec = spec_from_file_location(path.stem, path)
        assert spec is not None
        assert spec.loader is not None
        module = module_from_spec(spec)
        spec.loader.exec_module(module)
        parts = module.design().product().shown
        for suffix, explode in (("", 0.0), ("-apart", 0.7)):
            target = HERE / "pictures" / f"{path.stem.replace('_', '-')}{suffix}.png"
            target.write_bytes(shaded_png(parts, width=900, height=650, explode=explode))
            print(target)


if __name__ == "__main__":
    main()
