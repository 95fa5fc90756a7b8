"""Models that take a part of the block's length each, such as knobs in a row."""

import pytest

import squeeze
from squeeze.mold import BadInput
from squeeze.mold.file.mold_file import dump, parse
from squeeze.mold.fit import volumes_of
from squeeze.verdict.air.void import void_of
from squeeze.verdict.casting.flash import flash_of

KNOBS = [{"at_mm": 20 + 20 * k, "length_mm": 16} for k in range(6)]


def row(models):
    """Return a block with knobs of 16 x 16 mm in a row, or with a bar where there are none."""
    cavity = {"name": "knob", "shape": "square", "width_mm": 16, "round_mm": 0}
    return {
        "length_mm": 140,
        "rubber": {"shore_a": 25},
        "block": {"shape": "rectangle", "width_mm": 60, "height_mm": 45, "round_mm": 0},
        "cavity": [cavity | ({"models": models} if models else {})],
        "cut": [{"path_mm": [[-30, 0], [30, 0]]}],
        "band": [{"tension_n_per_mm": 0.1}],
    }


def test_six_knobs_take_the_resin_of_six_knobs():
    knobs, bar = (volumes_of(squeeze.mold_of(row(each))) for each in (KNOBS, None))
    assert knobs.cavities == pytest.approx(6 * 16**3 / 1000)
    assert bar.cavities == pytest.approx(16 * 16 * 140 / 1000)
    assert knobs.rubber + knobs.cavities == pytest.approx(60 * 45 * 140 / 1000)


def test_air_and_flash_count_the_knobs_alone():
    mold = squeeze.mold_of(row(KNOBS))
    void = void_of(mold)
    assert void.filled.sum() * void.cell_mm3 == pytest.approx(6 * 16**3, rel=0.05)
    closing = squeeze.close(mold, deformation="small", fineness=0.5)
    assert flash_of(closing, mold).parting_line_mm == pytest.approx(2 * 6 * 16)


def test_the_file_keeps_them():
    mold = squeeze.mold_of(row(KNOBS))
    assert parse(dump(mold)) == mold


@pytest.mark.parametrize(
    ("models", "said"),
    [
        ([{"at_mm": 5, "length_mm": 16}], "reaches from -3 to 13 mm"),
        ([{"at_mm": 20, "length_mm": 16}, {"at_mm": 30, "length_mm": 16}], "begins at 22 mm"),
        ([{"at_mm": 20}], "is missing"),
        ([3], "is not a table"),
    ],
)
def test_models_that_cannot_be_are_refused(models, said):
    with pytest.raises(BadInput, match=said):
        squeeze.mold_of(row(models))
