"""What a design's own tests assert: that the proof finds nothing, that it goes together, that its fits hold over real sheet."""

from __future__ import annotations

from typing import Any

from panelwright.assemblies.data.findings import Level
from panelwright.assemblies.data.verdict import LEVELS, at_least, folded
from panelwright.assemblies.variation.fit_over_sheet import fit_over_sheet
from panelwright.assemblies.variation.fit_words import fit_findings, fit_words
from panelwright.plates._validate import finite, one_of
from panelwright.plates.errors import SizeError

from .subject import Tested, subject_of

__all__ = ["assert_assembles", "assert_fits", "assert_proven"]


def assert_proven(design: Tested, /, *, level: Level = "warning", **parameters: Any) -> None:
    """That the proof finds nothing of this level or graver: "error", "warning" or "note".

    - `design`: a design file, its function, or an `Assembly`.
    - `parameters`: values for the design, as `--set` gives them, but as Python values.

    Raises `AssertionError` that lists what was found; `DesignError` for what is no design, `SizeError` for another level, and
    what the design raises.  What the design accepts (`Assembly.accept`) is a note.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> def design(width: float = 120.0) -> Assembly:
    ...     made = Assembly("drip tray", stock=Stock("birch plywood", 4, measured=3.95, kerf=0.2, clearance=0.1))
    ...     made.add("board", rectangle(width, 60))
    ...     made.add("lid", rectangle(width, 60))
    ...     return made
    >>> assert_proven(design, width=90)
    Traceback (most recent call last):
    ...
    AssertionError: 'drip tray' with width=90:
    error OVERLAP: plates 'board' and 'lid' share 21330 mm³; place them apart, or join them there
    """
    one_of(level, LEVELS, "level of a test")
    subject = subject_of(design, parameters)
    found = at_least(subject.product.findings, level)
    if found:
        raise AssertionError("\n".join([f"{subject.name}:", *folded(found)]))


def assert_assembles(design: Tested, /, **parameters: Any) -> None:
    """That it goes together: no errors in the proof, a way for every part, and nothing loose that is shut in.

    Takes and raises what `assert_proven` does; the message says which parts have no way.

    >>> from panelwright.assemblies import tray
    >>> from panelwright.plates import Stock
    >>> birch = Stock("birch plywood", 3, measured=2.95, kerf=0.15, clearance=0.1)
    >>> assert_assembles(tray("glaze tray", stock=birch, width=120, depth=80, height=30))
    """
    subject = subject_of(design, parameters)
    product, plan = subject.product, subject.product.plan
    said = folded(product.errors)
    if plan.unknown:
        said.append(f"no way is known for all of it: {plan.unknown}")
    said += [f"{' and '.join(map(repr, lock.parts))} lock each other" for lock in plan.locks]
    said += [f"{' and '.join(map(repr, one.parts))} cannot be taken out with the rest in place" for one in plan.shut_in]
    if said:
        raise AssertionError("\n".join([f"{subject.name} does not go together:", *said]))


def assert_fits(design: Tested, /, *, share: float = 0.99, draws: int = 10_000, seed: int = 1, **parameters: Any) -> None:
    """That of the products cut from real sheet at least this share neither jams nor rattles, as `check --tolerance` reckons.

    - `share`: from 0 to 1.
    - `draws`, `seed`: how many products are drawn, and from where; the same numbers give the same result.

    Takes and raises what `assert_proven` does.  Raises `AssertionError` too where thickness or kerf is known of no stock, since
    nothing holds then.

    >>> from panelwright.assemblies import tray
    >>> from panelwright.plates import Stock
    >>> measured = Stock("birch plywood", 3, measured=3.0, kerf=0.15, clearance=0.1, tolerance=(-0.05, 0.05))
    >>> assert_fits(tray("glaze tray", stock=measured, width=120, depth=80, height=30))
    """
    least = finite(share, "share of products that fit", unit="")
    if not 0 <= least <= 1:
        raise SizeError(f"share of products that fit is {share:g}; give 0 to 1, such as 0.99", value=share, limit=1)
    subject = subject_of(design, parameters)
    found = fit_over_sheet(subject.product, subject.shop, draws=draws, seed=seed)
    if found.jams is None or found.rattles is None:
        before, after = fit_words(found)
        raise AssertionError("\n".join([f"{subject.name}: nothing is known of how its fits spread", *before, *after]))
    if found.jams + found.rattles > 1 - least:
        good = 1 - found.jams - found.rattles
        why = folded(fit_findings(found))
        raise AssertionError("\n".join([f"{subject.name}: {good:.1%} fit, {least:.1%} are asked for", *why]))
