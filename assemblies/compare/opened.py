"""A version from what the command line names: an output folder, a manifest, a design file, or one of these at a revision."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.plates.errors import DesignError, OutputError, PanelwrightError

from .revision import at_revision, split_revision
from .version import Version, version_of

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product

__all__ = ["Opened", "manifest_at", "open_version"]

MANIFEST = "manifest.json"


class Opened:
    """A version, and the product itself where it was made just now."""

    def __init__(self, version: Version, product: Product | None = None) -> None:
        self.version, self.product = version, product


def open_version(given: str, *, settings: Sequence[str] = (), shop: str | None = None, lays_out: bool = False) -> Opened:
    """Read or make the version that a word of the command line means.

    A folder, or the one folder in it that was built, tells by its manifest; a manifest tells by itself; a design file is run
    with `settings` and `shop`, and its panels laid out on sheets if `lays_out`; behind an "@" stands the git revision at which
    either is read.  Raises `OutputError` for folders and manifests that tell nothing, `DesignError` for designs and revisions.
    """
    path, revision = split_revision(given)
    if revision is None:
        return _open(Path(path), given, settings, shop, lays_out)
    with at_revision(path, revision) as found:
        try:
            return _open(found, given, settings, shop, lays_out)
        except PanelwrightError as error:
            home = str(found.parent)
            message = str(error).replace(home + "/", f"{revision}:").replace(home, revision)
            raise DesignError(
                f"at revision {revision!r}: {message}",
                plates=error.plates,
                face=error.face,
                value=error.value,
                limit=error.limit,
            ) from error


def _open(path: Path, label: str, settings: Sequence[str], shop: str | None, lays_out: bool) -> Opened:
    if path.suffix == ".py":
        return _made(path, label, settings, shop, lays_out)
    if settings:
        raise DesignError(f"{label!r} is no design file, so nothing can be set in it; build it with other values", value=label)
    return Opened(version_of(manifest_at(path, label), label))


def manifest_at(path: Path, label: str) -> dict[str, Any]:
    """The manifest of a folder, or of the one folder in it that has one, or the file itself.

    Raises `OutputError` if there is none or it cannot be read, and if a panel file is not the one that it tells of.
    """
    from panelwright.assemblies.output.manifest import read_manifest

    file = _manifest_file(path, label)
    found = read_manifest(file, label)
    _check_panels(file.parent, found, label)
    return found


def _manifest_file(path: Path, label: str) -> Path:
    if path.is_file():
        if path.suffix == ".json":
            return path
        raise OutputError(f"{label!r} is neither a folder that was built, nor its manifest, nor a design file", value=label)
    if not path.is_dir():
        raise OutputError(
            f"there is no {label!r}; give a folder that was built, a design file, or DESIGN.py@REVISION", value=label
        )
    if (path / MANIFEST).is_file():
        return path / MANIFEST
    below = sorted(path.rglob(MANIFEST))[:3]
    if len(below) == 1:
        return below[0]
    if below:
        names = ", ".join(str(file.parent) for file in below)
        raise OutputError(f"{label!r} holds several folders that were built ({names}); give one of them", value=label)
    raise OutputError(f"{label!r} holds no {MANIFEST}; give a folder that `panelwright build` wrote", value=label)


def _check_panels(folder: Path, manifest: Mapping[str, Any], label: str) -> None:
    """Refuse a folder whose panels somebody changed: what is compared is what is cut."""
    files = manifest.get("files")
    for name, digest in files.items() if isinstance(files, dict) else ():
        panel = folder / name
        if not str(name).startswith("panels/") or not panel.is_file():
            continue
        if hashlib.sha256(panel.read_bytes()).hexdigest() != digest:
            raise OutputError(
                f"{name} in {label!r} is not the file that its manifest tells of; build the folder again",
                value=name,
            )


def _made(path: Path, label: str, settings: Sequence[str], shop: str | None, lays_out: bool) -> Opened:
    from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
    from panelwright.assemblies.output.manifest import manifest_of

    design = load_design(path, shop=shop)
    values = parse_settings(design, settings)
    assembly = run(design, values)
    with design.surroundings():
        product = assembly.product()
    sheets = None
    if lays_out and not product.errors:
        from panelwright.assemblies.sheets.costs import cost_of
        from panelwright.assemblies.sheets.laid import LaidSheets
        from panelwright.assemblies.sheets.laying import lay_sheets
        from panelwright.assemblies.sheets.request import Batch, SheetRules

        batches = [Batch(product)]
        plan = lay_sheets(batches, design.shop, SheetRules())
        sheets = LaidSheets(plan, cost_of(plan, batches, design.shop))
    manifest = manifest_of(product, {}, file=path.name, parameters=design.values(values), sheets=sheets)
    return Opened(version_of(manifest, label), product)
