"""Bring the cookbook up to date: `python examples/make_cookbook.py` puts every recipe's code and the contents into README.md.

What README.md says in words is written by hand.  Code stands behind a line `<!-- recipes/NAME.py -->`, the contents behind
`<!-- contents -->`; tests hold that running this changes nothing.
"""

import ast
import re
from pathlib import Path

HERE = Path(__file__).parent
COOKBOOK = HERE / "README.md"
CODE = re.compile(r"(<!-- (recipes/(\w+)\.py) -->\n)(```python\n.*?```\n)?", re.DOTALL)
CONTENTS = re.compile(r"(<!-- contents -->\n)(.*?\n)??(?=\n)", re.DOTALL)


def anchor_of(heading: str) -> str:
    """Where a link to a heading leads, as the forges that show Markdown make it."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def summary_of(name: str) -> str:
    """The first sentence of a recipe's docstring."""
    doc = ast.get_docstring(ast.parse((HERE / "recipes" / f"{name}.py").read_text("utf-8"))) or ""
    return " ".join(doc.split("\n\n")[0].split())


def picture_of(name: str, width: int) -> str:
    """A recipe's picture as HTML, which Markdown takes and which can have a width."""
    return f'<img src="pictures/recipes/{name.replace("_", "-")}.png" alt="{summary_of(name).split(":")[0]}" width="{width}">'


def contents(text: str) -> str:
    """One row for each recipe, in the order of the headings."""
    rows = ["| | recipe | what is made |", "|---|---|---|"]
    for part in re.split(r"^### ", text, flags=re.MULTILINE)[1:]:
        heading, found = part.partition("\n")[0], CODE.search(part)
        if found:
            name, link = found[3], f"#{anchor_of(heading)}"
            rows.append(f"| [{picture_of(name, 120)}]({link}) | [{heading}]({link}) | {summary_of(name)} |")
    return "\n".join(rows)


def renewed(text: str) -> str:
    """The cookbook's text with its code and contents as they are now."""

    def block(found: re.Match[str]) -> str:
        return f"{found[1]}```python\n{(HERE / found[2]).read_text('utf-8')}```\n"

    text = CODE.sub(block, text)
    return CONTENTS.sub(lambda found: f"{found[1]}{contents(text)}\n", text)


if __name__ == "__main__":
    COOKBOOK.write_text(renewed(COOKBOOK.read_text("utf-8")), "utf-8")
    print(COOKBOOK)
