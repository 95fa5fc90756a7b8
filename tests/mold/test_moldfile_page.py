"""docs/moldfile.md names every key of the mold file, and the printed mold files can be read."""

import re
from pathlib import Path
from typing import get_args

import pytest

from squeeze.mold.file.mold_file import parse
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.table import Table

TOP = Path(__file__).parents[2]
PAGE = (TOP / "docs" / "moldfile.md").read_text(encoding="utf-8")


def tables_of(kind: object) -> list[type[Table]]:
    """Return the tables that stand inside a field's type."""
    if isinstance(kind, type) and issubclass(kind, Table):
        return [kind]
    return [table for inner in get_args(kind) for table in tables_of(inner)]


def section_of(name: str) -> str:
    """Return the text from the heading that names a table to the next heading."""
    found = re.search(rf"^## [^\n]*\[{name}\][^\n]*\n(.*?)(?=^## |\Z)", PAGE, re.M | re.S)
    assert found, f"docs/moldfile.md has no section for [{name}]"
    return found.group(1)


def keys() -> list[tuple[str, str]]:
    """Return (table, key) for every key of the file; the top of the file is called ""."""
    found = []
    for name, entry in Mold.model_fields.items():
        inner = tables_of(entry.annotation)
        found += [(name, key) for table in inner for key in table.model_fields]
        found += [] if inner else [("", name)]
    return found


@pytest.mark.parametrize(("table", "key"), keys())
def test_key_is_described(table: str, key: str) -> None:
    text = section_of(table) if table else PAGE.split("## At the top")[1].split("\n## ")[0]
    assert f"`{key}`" in text


def test_readme_shows_the_barrels_with_one_cavity() -> None:
    shown = re.findall(r"```toml\n(.*?)```", (TOP / "README.md").read_text(encoding="utf-8"), re.S)
    study = parse((TOP / "studies/barrels/barrels.toml").read_text(encoding="utf-8"))
    one = study.model_copy(update={"cavity": study.cavity[:1]})
    assert [parse(text) for text in shown] == [one]


def test_the_three_outlines_differ_in_the_outline_alone() -> None:
    names = ("barrels", "barrels-beveled", "barrels-round")
    files = [TOP / f"studies/barrels/{name}.toml" for name in names]
    molds = [parse(file.read_text(encoding="utf-8")) for file in files]
    same = {(mold.length_mm, mold.rubber, mold.cavity, mold.cut, mold.band) for mold in molds}
    assert len(same) == 1
    assert len({mold.block for mold in molds}) == 3
