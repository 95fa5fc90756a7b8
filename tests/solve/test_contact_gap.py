"""Unloaded gaps: with them more bands do help, and there is a tension at which a land closes."""

import numpy as np
import pytest

import squeeze


@pytest.fixture(scope="module")
def block():
    """Two cavities side by side under the top face; the cut parts the block."""
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": {"shape": "round", "diameter_mm": 100},
                "cavity": [
                    {"shape": "round", "diameter_mm": 16, "centre_mm": [x, 0]} for x in (-20, 20)
                ],
                "cut": [{"path_mm": [[-50, 0], [50, 0]]}],
                "band": [{"tension_n_per_mm": 0.6}],
            }
        )
    )


BOW = [0.0, 0.15, 0.2, 0.15, 0.0]


def shut(closing):
    return all(land.closed_share == 1 for land in closing.lands)


def closing_tension(block, gap, high):
    low = 0.0
    assert shut(block.close(band_tension_n_per_mm=high, gap_mm=gap))
    while high - low > 1e-4 * high:
        middle = 0.5 * (low + high)
        low, high = (
            (low, middle)
            if shut(block.close(band_tension_n_per_mm=middle, gap_mm=gap))
            else (middle, high)
        )
    return high


def test_the_tension_at_which_a_bowed_cut_closes(block):
    """From there on it stays closed, and twice the gap needs twice the tension."""
    once = closing_tension(block, BOW, 5.0)
    assert not shut(block.close(band_tension_n_per_mm=0.98 * once, gap_mm=BOW))
    assert all(
        shut(block.close(band_tension_n_per_mm=k * once, gap_mm=BOW)) for k in (1.001, 1.5, 4)
    )
    twice = closing_tension(block, [2 * g for g in BOW], 10.0)
    assert twice == pytest.approx(2 * once, rel=1e-3)


def test_more_bands_help_against_a_gap_and_only_then(block):
    def share(**case):
        return np.mean([land.closed_share for land in block.close(**case).lands])

    once = closing_tension(block, BOW, 5.0)
    shares = [share(band_tension_n_per_mm=k * once, gap_mm=BOW) for k in (0.02, 0.1, 0.3, 0.7, 1.1)]
    assert (np.diff(shares) > 0).all()
    assert shares[0] < 0.6 < shares[-1] == 1
    lens = [
        share(band_tension_n_per_mm=k, resin_kpa=4 * k) for k in (0.1, 0.5, 2.5)
    ]  # no gap, all loads as many times
    assert 0 < lens[0] == lens[1] == lens[2]


def test_an_even_gap_right_through_is_taken_up_without_any_force(block):
    none, even = block.close(), block.close(gap_mm=0.4)
    for a, b in zip(none.lands, even.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(a.pressure_kpa, abs=1e-9 * a.pressure_kpa.max())
        moved = (b.faces_mm[:, 0] - b.faces_mm[:, 1]) - (a.faces_mm[:, 0] - a.faces_mm[:, 1])
        assert moved[:, 1] == pytest.approx(-0.4, abs=1e-6)


def test_a_gap_given_in_more_detail_is_the_same_gap(block):
    coarse = block.close(gap_mm=[0.0, 0.2, 0.0])
    fine = block.close(gap_mm=[0.0, 0.1, 0.2, 0.1, 0.0])
    for a, b in zip(coarse.lands, fine.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(a.pressure_kpa, abs=1e-6)


def test_what_is_open_under_no_load_is_the_given_gap(block):
    closing = block.close(band_tension_n_per_mm=0.0, gap_mm=BOW)
    for land in closing.lands:
        given = np.interp(land.x_mm, np.linspace(-50, 50, 5), BOW)
        apart = land.faces_mm[:, 0, 1] - land.faces_mm[:, 1, 1]
        # a gap is the mean round its place, and the given one has kinks
        assert land.gap_mm == pytest.approx(given + apart, abs=0.03 * max(BOW))
        assert not land.pressure_kpa.any()
