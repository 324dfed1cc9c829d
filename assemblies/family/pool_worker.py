"""What runs in the processes of a family: one reads the table, the others make variants until there are no more."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from panelwright.assemblies.processes.within_worker import settle_in
from panelwright.plates.errors import PanelwrightError

from .one_variant import Asked, Maker, Work

__all__ = ["TableRead", "read_work", "serve_table", "serve_variants"]


class TableRead(dict[str, Any]):
    """What reading a table came to: `count` and the design's `parameters`, or an `error` in words."""


def serve_variants(pipe: Any, asked: Asked) -> None:
    """Make every variant that comes on a connection and answer with its row; ends when the connection does."""
    settle_in()
    maker = Maker(asked)
    pipe.send(None)  # ready: what starting took counts for no variant
    while True:
        try:
            work = pipe.recv()
        except EOFError:
            return
        if work is None:
            return
        pipe.send(maker.made(work))


def serve_table(pipe: Any, design_path: str, shop: str | None, table: str, spool: str) -> None:
    """Read a table, write one line of JSON a variant to the file `spool`, and answer with a `TableRead`."""
    settle_in()
    pipe.send(None)
    try:
        pipe.send(_spooled(design_path, shop, table, Path(spool)))
    except PanelwrightError as error:
        pipe.send(TableRead(error="\n".join([str(error), *getattr(error, "__notes__", ())])))
    except MemoryError:
        pipe.send(TableRead(error=f"table {table!r} is larger than the memory; part it into several families"))
    except Exception as error:  # whatever goes wrong is told where the run is led
        pipe.send(TableRead(error=f"table {table!r} cannot be read: {type(error).__name__}: {error}"))


def _spooled(design_path: str, shop: str | None, table: str, spool: Path) -> TableRead:
    from panelwright.assemblies.loading.design_file import load_design, parse_settings
    from panelwright.assemblies.product.json_entries import plain

    from .tables.variant_table import read_variants

    design = load_design(design_path, shop=shop)
    variants = read_variants(table, design)
    with spool.open("w", encoding="ascii", newline="\n") as file:
        for variant in variants:
            values = plain(design.values(parse_settings(design, variant.settings)), digits=None)
            file.write(json.dumps([variant.name, variant.settings, values], separators=(",", ":")) + "\n")
    return TableRead(
        count=len(variants),
        doc=design.doc,
        parameters=[{"help": parameter.help, "name": parameter.name} for parameter in design.parameters],
    )


def read_work(line: str) -> Work:
    """The variant that a line of the spool tells."""
    name, settings, parameters = json.loads(line)
    return Work(name, tuple(settings), parameters)
