"""Equilibria that are not the only one: faces with friction, and halves that are free to slide."""

import numpy as np
import pytest

import squeeze
from squeeze.solve import Outcome

GAPPED = {
    "length_mm": 165,
    "rubber": {"shore_a": 30},
    "block": {"shape": "rectangle", "width_mm": 76.5, "height_mm": 61.2, "bevel_mm": 8},
    "cavity": [
        {"shape": "round", "diameter_mm": 10.2, "centre_mm": [-10.2, 12.2]},
        {"shape": "oval", "width_mm": 10.2, "height_mm": 8.2, "centre_mm": [10.2, 12.2]},
    ],
    "cut": [
        {"path_mm": [[-76.5, 12.2], [76.5, 12.2]], "friction": 0.05},
        {"path_mm": [[10.2, 12.2], [10.2, 76.5]], "friction": 0.05, "gap_mm": [0.2, 0, 0.2]},
    ],
    "band": [{"stock": "84", "count": 2}],
    "filler": [{"shape": "round", "diameter_mm": 9.2, "centre_mm": [0, -18.4], "shore_a": 40}],
}
EVEN = GAPPED | {"cut": [GAPPED["cut"][0]]}


def keyed(side):
    """Make a hexagon whose smooth level cut has a slope at one outside, left (-1) or right (1)."""
    corners = [[61.7, 35.6], [0, 71.3], [-61.7, 35.6], [-61.7, -35.6], [0, -71.3], [61.7, -35.6]]
    path = [[side * x, y] for x, y in ([142.6, 14.3], [64.2, 16.3], [59.9, 14.3], [-142.6, 14.3])]
    return squeeze.mold_of(
        {
            "length_mm": 55,
            "rubber": {"youngs_modulus_mpa": 0.6},
            "block": {"points_mm": corners},
            "cavity": [
                {"shape": "oval", "width_mm": 28.5, "height_mm": 22.8, "centre_mm": [0, 14.3]}
            ],
            "cut": [{"path_mm": path}],
            "band": [{"tension_n_per_mm": 0.6}],
        }
    )


@pytest.fixture(scope="module")
def gapped():
    return squeeze.Block(squeeze.mold_of(GAPPED))


def test_friction_that_allows_several_states_has_an_answer_and_a_range(gapped):
    closing = gapped.close()
    assert closing.outcome is Outcome.NOT_UNIQUE
    assert closing.outcome.has_answer
    assert closing.trust.complementarity < 1e-8
    assert closing.trust.force_balance < 1e-6
    assert closing.trust.residual < 1e-6
    spread = 0.0
    for land, found in zip(closing.lands, closing.ranges, strict=True):
        assert (land.cut, land.land) == (found.cut, found.land)
        low, high = found.pressure_kpa
        assert (low <= land.pressure_kpa).all()
        assert (land.pressure_kpa <= high).all()
        assert (found.gap_mm[0] <= land.gap_mm).all()
        assert (land.gap_mm <= found.gap_mm[1]).all()
        spread = max(spread, float((high - low).max()))
    assert spread > 1e-4


def test_one_state_has_no_range(gapped):
    closing = gapped.close(friction=0.5)
    assert closing.outcome is Outcome.CONVERGED
    assert closing.ranges == ()


def test_press_and_close_tell_the_same_of_several_states(gapped):
    closing, pressing = gapped.close(), gapped.press()
    for a, b in zip(closing.lands, pressing.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(a.pressure_kpa, abs=1e-9)


def test_without_gaps_the_state_does_not_depend_on_the_size_of_the_loads():
    block = squeeze.Block(squeeze.mold_of(EVEN))
    once, ten_times = (block.close(band_tension_n_per_mm=pull) for pull in (0.1, 1.0))
    for a, b in zip(once.lands, ten_times.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(10 * a.pressure_kpa, rel=1e-9)


@pytest.mark.parametrize("side", [-1, 1])
def test_smooth_halves_rest_with_the_slope_open(side):
    """The level part carries the bands; a slope that pressed would push the halves sideways."""
    closing = squeeze.Block(keyed(side)).close()
    assert closing.outcome is Outcome.CONVERGED
    assert closing.trust.force_balance < 1e-8
    assert closing.trust.complementarity < 1e-8
    x = np.concatenate([land.x_mm for land in closing.lands])
    p = np.concatenate([land.pressure_kpa for land in closing.lands])
    most = p.max()
    assert (p[side * x > 60.5] == 0).all()
    assert (p[side * x < 59] > 0.1 * most).all()
    # two pulls of the bands, per mm of block, on the level lands
    assert sum(land.force_n_per_mm for land in closing.lands) == pytest.approx(1.2, rel=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize("deformation", ["small", "large"])
def test_mirrored_slopes_give_mirrored_answers(deformation):
    """Pressures, and the widest gap within the errors that both answers give for it.

    At small deformation it rises steeply towards the bend of the cut, and each mesh has its last
    place elsewhere: 0.12 mm from the bend it is 0.118 mm, 0.15 mm from it 0.111 mm.
    """
    left, right = (squeeze.close(keyed(side), deformation=deformation) for side in (-1, 1))
    for a, b in zip(left.lands, right.lands, strict=True):
        assert a.mean_pressure_kpa == pytest.approx(b.mean_pressure_kpa, rel=0.02)
        assert a.closed_share == pytest.approx(b.closed_share, abs=0.01)
    widest = [max(land.largest_gap_mm for land in each.lands) for each in (left, right)]
    if deformation == "large":
        assert widest[0] == pytest.approx(widest[1], rel=0.02)
    errors = [max(land.gap_mm for land in each.errors.lands) for each in (left, right)]
    assert max(errors) < 0.1 * max(widest)
    assert abs(widest[0] - widest[1]) < sum(errors)
