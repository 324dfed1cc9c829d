"""The work of `panelwright compare`: open both versions, lay them beside each other, tell what changed."""

from __future__ import annotations

from panelwright.assemblies.console.outcome import FINE, FOUND_ERRORS, Outcome
from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.console.shown import Progress, Table
from panelwright.assemblies.console.terminal import stdout_to_stderr, tell

__all__ = ["run_compare"]


def run_compare(chosen: Chosen) -> Outcome:
    """What changed; exit code 1 with `--exit-code` where something has to be cut again."""
    from panelwright.assemblies.compare.comparison_document import comparison_document
    from panelwright.assemblies.compare.differences import compare
    from panelwright.assemblies.compare.opened import open_version
    from panelwright.assemblies.compare.told import Rows, markdown_of, told
    from panelwright.plates.errors import ArgumentError

    if chosen.json and chosen.markdown:
        raise ArgumentError("--json and --markdown are both what is to be printed; give one of them")
    if chosen.out is not None:
        from panelwright.assemblies.output.folder import check_out

        tell(check_out(chosen.out))
    with Progress(["before", "after", "compare"]) as progress, stdout_to_stderr():
        opened = []
        for given, own in ((chosen.before, chosen.set_before), (chosen.after, chosen.set_after)):
            progress.next()
            settings = (*(chosen.settings if _is_design(given) else ()), *own)
            opened.append(open_version(given, settings=settings, shop=chosen.shop, lays_out=chosen.sheets))
        progress.next()
        found = compare(opened[0].version, opened[1].version)
        if chosen.out is not None:
            from panelwright.assemblies.compare.showing.compare_folder import write_comparison

            write_comparison(found, chosen.out)
    code = FOUND_ERRORS if chosen.exit_code and found.must_cut else FINE
    if chosen.json:
        from panelwright.assemblies.product.json_documents import document_text

        return Outcome(code, text=document_text(comparison_document(found)))
    if chosen.markdown:
        return Outcome(code, text=markdown_of(found))
    parts: list[str | Table] = []
    for part in told(found):
        parts.append(Table((part.head, *part.rows), part.right, has_head=True) if isinstance(part, Rows) else part)
    if chosen.out is not None:
        parts[-1:] = [f"written to {chosen.out}; open {chosen.out}/compare.html to look at it", parts[-1]]
    return Outcome(code, told=tuple(parts))


def _is_design(given: str) -> bool:
    """Whether the word names a design, at whatever revision: only designs take settings."""
    from panelwright.assemblies.compare.revision import split_revision

    return split_revision(given)[0].endswith(".py")
