"""No mold with a leak, flash, an unreached cavity or an unsolved variation reads as good.

The quick test reads the table that docs/hundred.md keeps; the slow one computes some of it anew.
"""

from __future__ import annotations

import pytest

from tests.verdict import hundred

GOOD = ("Clean", "Fine line")


def breaks(row: dict[str, str]) -> bool:
    """Return whether a row of the table calls a mold good that is not."""
    bad = row["trouble"] != "-" or not float(row["gap at a cavity"]) <= hundred.FLASH_MM
    return bad and (row["grade"] in GOOD or row["good"] == "yes")


def test_no_row_of_the_page_calls_a_mold_good_that_is_not():
    rows = hundred.kept()
    assert len(rows) == hundred.MOLDS
    assert [row["mold"] for row in rows if breaks(row)] == []


def test_the_page_holds_good_molds_and_every_kind_of_trouble():
    rows = hundred.kept()
    grades = {row["grade"] for row in rows}
    seen = {each for row in rows for each in row["trouble"].split(", ")}
    assert {"Clean", "Leaks", "Flash", "Comes apart", "Cannot be opened"} <= grades
    assert {"unreached cavity", "cut ends in rubber", "flash", "leak"} <= seen
    assert any(row["good"] == "yes" for row in rows)


@pytest.mark.parametrize(
    "spoilt",
    [{"trouble": "leak"}, {"gap at a cavity": "0.051"}, {"gap at a cavity": "nan"}],
)
def test_the_rule_notices_a_false_good(spoilt):
    good = next(row for row in hundred.kept() if row["good"] == "yes")
    assert not breaks(good)
    assert breaks(good | spoilt)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(0, hundred.MOLDS, 10))
def test_the_rows_are_what_the_program_gives(number):
    row = hundred.row_of(number)
    told = {each["mold"]: each for each in hundred.kept()}.get(str(number))
    assert (row is None) == (told is None)
    if row is not None and told is not None:
        now = dict(zip(hundred.HEADER, hundred.cells(row), strict=True))
        named = ("grade", "cause", "trouble", "good")
        assert [now[name] for name in named] == [told[name] for name in named]
