"""The table of lands."""

from __future__ import annotations

import io
from types import SimpleNamespace

import pytest
from rich.console import Console

from squeeze.show.text.errors import missed_lines
from squeeze.show.text.lands import notes, table
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge


def printed(closing, **how) -> str:
    screen = Console(file=io.StringIO(), width=100)
    screen.print(table(closing, judge(closing), **how))
    return screen.file.getvalue()


def test_one_line_a_land_within_100_columns(gaping):
    lines = printed(gaping).splitlines()
    assert max(map(len, lines)) <= 100
    rows = [line.split() for line in lines if line.strip()[:1].isdigit()]
    assert len(rows) == 3
    assert "left outside to 'barrel 1'" in printed(gaping)
    assert rows[1][-8:] == ["30.0", "0", "0.0", "0.0", "0.0", "1.00", "0.000", "no"]


def test_no_terminal_no_colour_codes(gaping):
    assert "\x1b" not in printed(gaping)


def test_inches(gaping):
    assert "0.039" in printed(gaping, inches=True)
    assert "1.00" not in printed(gaping, inches=True)


def test_without_an_answer_there_are_no_numbers(made_up):
    closing = made_up(outcome=Outcome.STEP_LIMIT).closing()
    assert printed(closing).count("no answer") == 3
    assert notes(closing) == []


@pytest.mark.parametrize(("gap_mm", "said"), [(0.002, "highest."), (0.04, "highest, gaps by 0.04")])
def test_a_mesh_that_is_too_coarse_names_gaps_only_where_they_show(gap_mm, said):
    errors = SimpleNamespace(is_enough=False, pressure_pct=3.2, gap_mm=gap_mm)
    closing = SimpleNamespace(errors=errors, deformation=SimpleNamespace(finer=None))
    (line,) = missed_lines(closing)
    assert f"off by 3.2 % of the {said}" in line
