"""Tables of the command line as plain data for the page: the same heads, the same cells."""

from __future__ import annotations

from typing import Any

from rich.table import Table


def plain_table(table: Table, caption: str = "") -> dict[str, Any]:
    """Return a table's caption, its heads and its rows of texts.

    Examples
    --------
    >>> made = Table()
    >>> made.add_column("land")
    >>> made.add_row("1")
    >>> plain_table(made, "Lands")
    {'caption': 'Lands', 'heads': ['land'], 'rows': [['1']]}
    """
    columns = [[str(cell) for cell in column.cells] for column in table.columns]
    heads = [", ".join(str(column.header).split("\n")).strip(", ") for column in table.columns]
    return {
        "caption": caption,
        "heads": heads,
        "rows": [list(row) for row in zip(*columns, strict=True)],
    }
