"""What small deformation would have said names a figure that reads differently, or says nothing."""

from dataclasses import replace

import pytest

import squeeze
from squeeze.solve import Closing
from squeeze.verdict.remarks import deformation_lines


@pytest.fixture(scope="module")
def small() -> Closing:
    mold = squeeze.load("studies/barrels/barrels.toml")
    return squeeze.Block(mold, fineness=0.35).close()


def followed(small: Closing, gap: float, pressure: float) -> Closing:
    """Return an answer that follows the block: its gaps and pressures so many times as large."""
    lands = tuple(
        replace(land, gap_mm=gap * land.gap_mm, pressure_kpa=pressure * land.pressure_kpa)
        for land in small.lands
    )
    how = replace(small.deformation, is_large=True, small=small, change=0.05)
    return replace(small, lands=lands, deformation=how)


@pytest.mark.parametrize(
    ("gap", "pressure", "figure"),
    [(0.5, 1.0, "a widest gap of"), (1.0, 1.2, "a mean pressure of"), (1.0, 1.0, None)],
)
def test_no_figure_is_set_against_itself(small, gap, pressure, figure) -> None:
    said = deformation_lines(followed(small, gap, pressure))
    if figure is None:
        assert said == ()
        return
    (line,) = said
    assert figure in line
    before, _, after = line.partition(", not ")
    assert before.rpartition(" of ")[2] != after.partition(". It")[0]
