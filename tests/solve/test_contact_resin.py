"""Resin that enters open lands: how far it gets, what it pries open, and what keeps it out."""

import numpy as np
import pytest

import squeeze
from squeeze.solve import Outcome

OUTSIDE_KPA = 20.0
GAPES = [0.8, 0.8, 0.3, 0.0, 0.0]
"""Unloaded gap along the cut from the middle of the cavity on [mm]."""


def ring(resin_kpa, enters, path=((0, 0), (40, 0)), outside_kpa=OUTSIDE_KPA, fineness=1.0):
    return squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": {"shape": "round", "diameter_mm": 60},
                "cavity": [{"shape": "round", "diameter_mm": 20}],
                "cut": [{"path_mm": path}],
                "push": [{"pressure_kpa": outside_kpa}],
                "resin": {"pressure_kpa": resin_kpa, "enters_cuts": enters},
            }
        ),
        fineness,
    )


def test_a_closed_cut_keeps_the_resin_out():
    for enters in (False, True):
        closing = ring(0.9 * 1.8 * OUTSIDE_KPA, enters).close()
        assert not closing.pried
        assert closing.lands[0].closed_share == 1
        assert not closing.lands[0].wet.any()


def test_once_it_gets_in_it_pries_the_whole_cut_open():
    """The ring begins to open at 1.8 (Lame); a wet cut of a free ring cannot stand more than 1."""
    pressure = 1.1 * 1.8 * OUTSIDE_KPA
    dry, wet = (ring(pressure, enters).close() for enters in (False, True))
    assert 0.5 < dry.lands[0].closed_share < 1
    assert not dry.pried
    assert not dry.lands[0].wet.any()
    assert wet.pried
    assert wet.lands[0].wet.all()
    assert wet.lands[0].closed_share == 0
    assert wet.lands[0].largest_gap_mm > 100 * dry.lands[0].largest_gap_mm


def test_wet_places_carry_the_pressure_of_the_resin():
    """A wet cut all open: the walls are in balance with resin on all of their faces."""
    closing = ring(50.0, True, path=((-40, 0), (40, 0))).close(check=False)
    assert closing.trust.outcome == "a piece is not held"  # two halves driven apart
    assert all(piece.goes is None or abs(piece.goes[1]) > 0.99 for piece in closing.trust.pieces)


def test_resin_stops_where_the_cut_presses():
    """A cut that gapes at the cavity by itself fills up to where it closes, and a little beyond."""
    (land,) = ring(1.0, True, outside_kpa=4.0).close(gap_mm=GAPES).lands
    assert 0 < land.wet.sum() < len(land.wet)
    last = int(np.flatnonzero(land.wet).max())
    assert land.wet[: last + 1].all()
    assert (land.gap_mm[land.wet] > 0).all()
    assert (land.pressure_kpa[~land.wet] > 0).all()
    (dry,) = ring(1.0, False, outside_kpa=4.0).close(gap_mm=GAPES).lands
    assert dry.gap_mm.max() < land.gap_mm.max()


def test_a_gap_that_no_cavity_feeds_stays_dry():
    (land,) = ring(1.0, True, outside_kpa=4.0).close(gap_mm=[0.0, 0.0, 0.0, 1.0, 1.0]).lands
    assert (land.gap_mm > 0).any()
    assert land.gap_mm[0] == 0
    assert not land.wet.any()


def test_a_wet_place_that_others_close_again_is_dry(tables_of):
    """Resin that opens one land lets another close over the resin that came there first."""
    tables = tables_of(760215, 2, 3)
    cuts = ((1.2, [0.0, 0.15, 0.0]), (0.5, [0.0, 0.15, 0.0]), (0.8, 0.0))
    for cut, (friction, gap) in zip(tables["cut"], cuts, strict=True):
        cut |= {"friction": friction, "gap_mm": gap}
    closing = squeeze.close(
        squeeze.mold_of(tables | {"resin": {"pressure_kpa": 5.0}}), fineness=0.4
    )
    assert closing.trust.outcome is Outcome.CONVERGED
    assert any(land.wet.any() for land in closing.lands)
    assert not any((land.wet & (land.pressure_kpa > 0)).any() for land in closing.lands)


def test_the_given_pressure_counts_for_each_close():
    block = ring(1.0, True)
    assert not block.close(resin_kpa=1.7 * OUTSIDE_KPA).pried
    assert block.close(resin_kpa=1.9 * OUTSIDE_KPA).pried


@pytest.mark.parametrize("friction", [0.0, 0.5])
def test_the_fixed_point_is_one(friction):
    """Every wet place is open, and every open place next to a wet one is wet."""
    closing = ring(1.0, True, outside_kpa=4.0).close(gap_mm=GAPES, friction=friction)
    (land,) = closing.lands
    opens = land.gap_mm > 0
    assert (opens | ~land.wet).all()
    assert not (land.wet[:-1] & opens[1:] & ~land.wet[1:]).any()
    assert closing.trust.force_balance < 1e-8


def test_the_ring_begins_to_open_at_18_times_the_outside_pressure():
    """Lame: 2 b^2 / (a^2 + b^2), dry faces; found by bisection (Timoshenko & Goodier 1970)."""
    block = ring(1.0, False, fineness=4)
    low, high = 1.5 * OUTSIDE_KPA, 2.1 * OUTSIDE_KPA
    while high - low > 1e-3 * OUTSIDE_KPA:
        middle = 0.5 * (low + high)
        shut = block.close(resin_kpa=middle).lands[0].closed_share == 1
        low, high = (middle, high) if shut else (low, middle)
    assert high / OUTSIDE_KPA == pytest.approx(2 * 30**2 / (10**2 + 30**2), rel=0.01)


def test_resin_stays_within_the_block_and_wets_no_seat():
    """A board under the bands lifts off the middle of its face; no cut leads there."""
    closing = squeeze.Block(
        squeeze.mold_of(
            {
                "length_mm": 100,
                "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
                "block": {"shape": "square", "width_mm": 60},
                "cavity": [{"shape": "round", "diameter_mm": 20}],
                "cut": [{"path_mm": [[0, 0], [40, 0]], "gap_mm": 2.0}],
                "cradle": [{"covers": "top", "thickness_mm": 6, "youngs_modulus_mpa": 5.0}],
                "band": [{"tension_n_per_mm": 0.1}],
                "resin": {"pressure_kpa": 1.0},
            }
        ),
        0.7,
    ).close()
    assert closing.lands[0].wet.any()
    (seat,) = closing.seats
    assert seat.closed_share < 1
    assert not seat.wet.any()
