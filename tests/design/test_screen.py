"""The coarse mesh: two pulls give every other; what is given up is given up with its reason."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.design.blocks.limits import limits_of
from squeeze.design.search import given_up
from squeeze.design.search import screen as screening
from squeeze.design.search.given_up import Unfit
from squeeze.design.search.screen import Linear, screen, smooth_margin
from squeeze.mold.tables.design import DesignTable

BASE = {
    "length_mm": 90,
    "rubber": {"shore_a": 30},
    "block": {"shape": "round", "diameter_mm": 92},
    "cavity": [{"name": "egg", "shape": "oval", "width_mm": 44, "height_mm": 30}],
    "cut": [{"name": "through", "path_mm": [[-46, 0], [46, 0]]}],
    "band": [{"stock": "64", "count": 4}],
}

LARGE = {
    "block": {"shape": "round", "diameter_mm": 110},
    "cut": [{"name": "through", "path_mm": [[-55, 0], [55, 0]]}],
}


def limits(**more):
    return limits_of(squeeze.mold_of(BASE | more))


def test_a_figure_at_a_third_pull_is_the_one_that_is_computed():
    data = BASE | {"resin": {"head_mm": 40}}
    got = screen(data, limits_of(squeeze.mold_of(data)))
    pull = 0.7 * got.most_pull
    block = squeeze.Block(squeeze.mold_of(data), screening.COARSE)
    closing = block.close(band_tension_n_per_mm=pull, friction=0.0, check=False)
    weakest = squeeze.judge(closing).seal.weakest
    assert got.margin(pull) == pytest.approx(weakest.margin, rel=0.02)
    assert got.bands[0][1] == 4
    assert got.rubber_g > 0
    assert got.wall_mm == pytest.approx(24.0, abs=0.1)


def test_the_pull_for_a_value_gives_that_value():
    line = Linear((1.0, 2.0), (3.0, 7.0))
    assert line(line.pull_for(5.5)) == pytest.approx(5.5)
    assert Linear((1.0, 2.0), (3.0, 3.0)).pull_for(5.0) == math.inf


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({"pot": {"bore_mm": 80, "depth_mm": 300}}, given_up.FITS_NOT),
        ({"pot": {"bore_mm": 200, "depth_mm": 80}}, given_up.TOO_LONG),
        ({"design": {"most_width_mm": 80}}, given_up.OVERSIZE),
        ({"band": [{"stock": "107", "count": 4}]}, given_up.LOOSE),
        (LARGE | {"band": [{"stock": "30", "count": 4}]}, given_up.OVERSTRETCHED),
        ({"cut": [{"path_mm": [[-46, 30], [46, 30]]}]}, given_up.SHUT_IN),
    ],
)
def test_a_block_is_given_up_with_its_reason(more, reason):
    data = BASE | more
    with pytest.raises(Unfit) as told:
        screen(data, limits_of(squeeze.mold_of(data)))
    assert told.value.reason == reason


def land(pressure, gap):
    return SimpleNamespace(pressure_kpa=np.array(pressure), gap_mm=np.array(gap), length_mm=20.0)


class Faces:
    """Closed faces, without the block that they belong to."""

    def __init__(self, *lands):
        self.lands, self.loads = lands, squeeze.Loads()


def test_the_smooth_margin_goes_below_zero_where_a_land_is_open():
    shut = land([5.0] * 9, [0.0] * 9)
    opened = land([0.0] * 9, [0.2] * 9)
    wider = land([0.0] * 9, [0.4] * 9)
    values = [smooth_margin(Faces(shut, each), 0.7) for each in (shut, opened, wider)]
    assert values[0] > 0 > values[1] > values[2]
    assert smooth_margin(Faces(shut), 0.7) == pytest.approx(5.0 / 1.0297, rel=1e-3)


def test_wishes_and_file_name_the_bands_at_hand():
    assert [(k.name, k.most) for k in limits().bands] == [("size 64", 4)]
    more = limits(design={"most_bands": 7, "band_stock": ["84", "64"]})
    assert [(k.name, k.most) for k in more.bands] == [("size 64", 7), ("size 84", 7)]
    none = limits_of(squeeze.mold_of({k: v for k, v in BASE.items() if k != "band"}))
    assert len(none.bands) > 10
    together = limits(band=[{"tension_n_per_mm": 0.4}])
    assert [(k.name, k.most) for k in together.bands] == [("the bands", 0)]
    assert not limits(design={"most_board_mm": 80}).allows_boards
    assert limits_of(squeeze.mold_of(BASE), DesignTable(cut="free")).has_own_cuts is False
