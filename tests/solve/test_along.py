"""A block over its length: the even wave is the section, and what must hold for any layout."""

import numpy as np
import pytest

import squeeze
from squeeze.solve.along import long_block as long_block_module
from squeeze.solve.along import stations as stations_module
from squeeze.solve.along.loads import (
    BandAt,
    band_series,
    bands_of,
    even_places,
    head_series,
    lying_width_mm,
)
from squeeze.solve.along.long_block import LongBlock, waves_for
from squeeze.solve.along.plane import solve_plane
from squeeze.solve.along.section_mesh import FEWEST_WAVES
from squeeze.solve.along.stations import station_blocks
from squeeze.solve.along.surface import FAR
from squeeze.solve.load_case import LEAST_FINENESS
from squeeze.solve.outcome import Outcome

WEDGED = {
    "length_mm": 90,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 20},
    "cavity": [{"shape": "round", "diameter_mm": 24, "centre_mm": [6, 4]}],
    "cut": [{"path_mm": [[-50, 4], [50, 4]], "friction": 0.3}],
    "band": [{"tension_n": 20}],
}


FAR_BAND = BandAt(90.0, 60.0, 6.0)


def long_block(waves=12, **changes):
    return LongBlock(squeeze.mold_of(WEDGED | changes), waves)


@pytest.fixture(scope="module")
def block():
    return long_block()


@pytest.fixture(scope="module")
def smooth():
    return long_block(cut=[{"path_mm": [[-50, 4], [50, 4]]}])


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"cut": [{"path_mm": [[-50, 4], [50, 4]], "gap_mm": [0.3, 0.0, 0.0]}]},
        {"resin": {"pressure_kpa": 6}},
        {"push": [{"pressure_kpa": 5}]},
        {"cut": [{"path_mm": [[-50, 4], [50, 4]]}, {"path_mm": [[6, 50], [6, 10]]}]},
    ],
    ids=["friction", "gap", "resin", "push", "two cuts"],
)
def test_even_wave_is_the_section(changes):
    mold = squeeze.mold_of(WEDGED | changes | {"band": [{"tension_n_per_mm": 0.4}]})
    long, section = LongBlock(mold, 1).close(), squeeze.Block(mold).close()
    assert long.outcome is Outcome.CONVERGED
    for ours, theirs in zip(long.lands, section.lands, strict=True):
        scale = theirs.pressure_kpa.max()
        assert ours.pressure_kpa[:, 0] == pytest.approx(theirs.pressure_kpa, abs=1e-8 * scale)
        assert (ours.is_open[:, 0] == (theirs.pressure_kpa == 0)).all()


def test_smeared_bands_do_not_ripple(block):
    closing = block.close([], smeared_n_per_mm=0.4)
    for land in closing.lands:
        assert np.ptp(land.pressure_kpa, axis=1).max() < 1e-9 * land.pressure_kpa.max()


def test_bands_side_by_side_are_smeared_bands(block):
    places = even_places(9, 90.0)
    closing = block.close([BandAt(at, 4.0, 10.0) for at in places])
    even = block.close([], smeared_n_per_mm=0.4)
    for ours, theirs in zip(closing.lands, even.lands, strict=True):
        assert ours.pressure_kpa == pytest.approx(theirs.pressure_kpa, rel=1e-6)


def test_answer_is_certified(smooth):
    closing = smooth.close([BandAt(15.0, 40.0, 4.0)])
    assert closing.outcome is Outcome.CONVERGED
    assert closing.complementarity < 1e-9
    assert closing.force_balance < 1e-9
    assert any(land.is_open.any() for land in closing.lands)
    for land in closing.lands:
        assert land.pressure_kpa.min() >= -1e-9 * land.pressure_kpa.max()
        assert (land.pressure_kpa[land.is_open] == 0).all()


def test_gaps_are_those_that_the_compliance_makes():
    """The solve goes by stiffness; its answer has to fulfil w = C p + q + G a, wave by wave."""
    block = long_block(8, cut=[{"path_mm": [[-50, 4], [50, 4]]}])
    assert block.numbers[7] * block.surface.depth.max() < FAR  # no wave is dropped
    responses, waves = block.responses, block.responses.waves
    tension = band_series([BandAt(15.0, 40.0, 4.0)], 90.0, len(block.numbers))
    none = np.zeros(8)
    solution = block._flooded(
        block._bonded(tension, none, block._mean_section(tension[0], 0.0)), (0, 0)
    )
    root = np.sqrt(8 / np.where(np.arange(8) == 0, 1.0, 2.0))
    loads = root[:, None] * np.stack([tension[:8], none], axis=1)
    p, w = waves.to_waves(solution.traction), waves.to_waves(solution.jump)
    left = (
        w
        - np.einsum("krs,ks->kr", waves.C, p)
        - np.einsum("krl,kl->kr", responses.free_gaps, loads)
    )
    left[0] -= responses.motions @ np.linalg.lstsq(responses.motions, left[0], rcond=None)[0]
    assert solution.open.any()
    assert np.abs(left).max() < 1e-9 * np.abs(w).max()


def test_twice_the_tension_doubles_pressure_and_gap(block):
    once, twice = (block.close([BandAt(30.0, F, 6.0)]) for F in (20.0, 40.0))
    for a, b in zip(once.lands, twice.lands, strict=True):
        assert b.pressure_kpa == pytest.approx(2 * a.pressure_kpa, rel=1e-6, abs=1e-9)
        assert b.gap_mm == pytest.approx(2 * a.gap_mm, rel=1e-6, abs=1e-9)


def test_turned_round_layout_gives_the_turned_round_answer(block):
    there = block.close([BandAt(12.0, 20.0, 6.0), BandAt(50.0, 25.0, 6.0)])
    back = block.close([BandAt(78.0, 20.0, 6.0), BandAt(40.0, 25.0, 6.0)])
    for a, b in zip(there.lands, back.lands, strict=True):
        assert b.pressure_kpa[:, ::-1] == pytest.approx(a.pressure_kpa, abs=1e-8)


def test_faces_carry_what_the_bands_pull():
    """A straight cut that parts the block carries 2 T in all (statics)."""
    block = long_block(cut=[{"path_mm": [[-50, 4], [50, 4]]}])
    closing = block.close([BandAt(20.0, 30.0, 6.0), BandAt(70.0, 10.0, 6.0)])
    force = sum(
        np.trapezoid(land.pressure_kpa, land.s_mm, axis=0).mean() * 90 / 1000
        for land in closing.lands
    )
    assert force == pytest.approx(2 * 40, rel=1e-9)


@pytest.mark.slow
def test_more_waves_settle_the_answer():
    """At the cavity and in the middle of the wall."""

    def least(waves):
        land = long_block(waves).close([BandAt(22.5, 30.0, 6.0), BandAt(67.5, 30.0, 6.0)]).lands[0]
        inner = land.s_mm > 0.4 * land.length_mm
        return land.pressure_kpa[inner].mean(axis=1), land.ripple()[inner]

    (_, r8), (_, r16), (mean, r32) = least(8), least(16), least(32)
    closes = mean > 0.5
    assert np.abs(r16 - r32)[closes].max() < 0.01
    assert np.abs(r8 - r32)[closes].max() < 0.04


def test_resin_of_a_standing_block_presses_its_foot(block):
    closing = block.close([BandAt(45.0, 60.0, 40.0)], resin_kpa=(3.0, 0.0))
    assert closing.resin_kpa[0] > 2.8
    assert closing.resin_kpa[-1] < 0.2
    lower = sum(land.pressure_kpa[:, :3].mean() for land in closing.lands)
    upper = sum(land.pressure_kpa[:, -3:].mean() for land in closing.lands)
    assert lower < upper - 1.0


@pytest.mark.slow
def test_resin_that_enters_opens_further():
    """At the cavity the lands stand open between far bands; let in, resin opens them further."""
    given = {"resin": {"pressure_kpa": 4}, "length_mm": 180}
    inside = long_block(16, **given).close([BandAt(90.0, 60.0, 6.0)])
    kept_out = {"resin": {"pressure_kpa": 4, "enters_cuts": False}, "length_mm": 180}
    outside = long_block(16, **kept_out).close([BandAt(90.0, 60.0, 6.0)])
    assert inside.outcome is outside.outcome is Outcome.CONVERGED
    assert inside.lands[0].largest_gap_mm > 1.05 * outside.lands[0].largest_gap_mm


def test_every_flood_counts_as_work(monkeypatch):
    """Resin that runs on is solved for again; the work of all these solves is what is bounded."""
    used = []

    def counted(*case, **most):
        solution = solve_plane(*case, **most)
        used.append(solution.products)
        return solution

    monkeypatch.setattr(long_block_module, "solve_plane", counted)
    closing = long_block(16, resin={"pressure_kpa": 4}, length_mm=180).close([FAR_BAND])
    assert len(used) > 1
    assert closing.products == sum(used)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.8])
def test_the_work_of_a_closing_is_bounded(share):
    block = long_block(16, resin={"pressure_kpa": 4}, length_mm=180)
    whole = block.close([FAR_BAND])
    most = int(share * whole.products)
    size = block.responses.waves.S.size
    closing = block.close([FAR_BAND], most_work=most * size, check=False)
    assert closing.outcome is Outcome.STEP_LIMIT
    assert closing.products <= most + 1
    assert np.isnan(closing.lands[0].pressure_kpa).all()
    again = block.close([FAR_BAND], most_work=(whole.products + 1) * size)
    assert (again.lands[0].pressure_kpa == whole.lands[0].pressure_kpa).all()


@pytest.mark.parametrize(
    "stations", [[], pytest.param([{"at_mm": 20}, {"at_mm": 60}], marks=pytest.mark.slow)]
)
def test_what_all_waves_take_is_bounded(monkeypatch, stations):
    """The mesh is made coarser, and the pressure stays what it is to a few percent."""
    mold = squeeze.mold_of(WEDGED | ({"station": stations} if stations else {}))
    usual = station_blocks(mold, 8)
    assert not any(each.block.is_coarse for each in usual)
    needed = sum(each.block.count * each.block.block.mesh.points.size for each in usual)
    monkeypatch.setattr(stations_module, "MOST_FACTORISED", needed / 2)
    coarse = station_blocks(mold, 8)
    assert all(each.block.is_coarse for each in coarse)
    taken = sum(each.block.count * each.block.block.mesh.points.size for each in coarse)
    assert taken < 0.75 * needed
    for ours, theirs in zip(coarse, usual, strict=True):
        mean = [each.block.close().lands[0].mean_pressure_kpa for each in (ours, theirs)]
        assert mean[0] == pytest.approx(mean[1], rel=0.05)


def test_waves_are_fewer_where_the_mesh_cannot_be_coarser():
    block = LongBlock(squeeze.mold_of(WEDGED), 40, LEAST_FINENESS, most_factorised=1.0)
    assert block.count == FEWEST_WAVES
    assert block.close().outcome is Outcome.CONVERGED


def test_cut_along_the_whole_length_is_a_cut():
    path = {"path_mm": [[-50, 4], [50, 4]]}
    bands = [BandAt(20.0, 30.0, 6.0)]
    whole = long_block(cut=[path | {"along_mm": [0, 90]}]).close(bands)
    plain = long_block(cut=[path]).close(bands)
    for a, b in zip(whole.lands, plain.lands, strict=True):
        assert (a.pressure_kpa == b.pressure_kpa).all()


def test_cut_over_part_of_the_length():
    """Whole rubber does not open, and the cut's own part opens less than a full cut."""
    path = {"path_mm": [[-50, 4], [50, 4]]}
    bands = [BandAt(80.0, 60.0, 6.0)]
    extent = long_block(cut=[path | {"along_mm": [0, 45]}]).close(bands)
    full = long_block(cut=[path]).close(bands)
    assert extent.outcome is Outcome.CONVERGED
    assert extent.complementarity < 1e-9
    assert not any(land.is_open[:, ~land.is_cut].any() for land in extent.lands)
    assert 0 < extent.lands[0].largest_gap_mm < full.lands[0].largest_gap_mm


def test_cut_nowhere_on_the_grid_is_whole_rubber(smooth):
    """A cut too short to reach a place along the block leaves the bonded tractions."""
    cut = [{"path_mm": [[-50, 4], [50, 4]], "along_mm": [44.9, 45.1]}]
    closing = long_block(cut=cut).close([BandAt(15.0, 40.0, 4.0)])
    opened = smooth.close([BandAt(15.0, 40.0, 4.0)])
    assert closing.lands[0].largest_gap_mm == 0
    assert closing.lands[0].closed_share == 0
    assert opened.lands[0].largest_gap_mm > 0


def test_unheld_piece_is_told():
    """A slippery keystone in a square: bands push it out, for they do not press on its flat."""
    cuts = [{"path_mm": [[0, 0], [x, 50]]} for x in (-28.9, 28.9)]
    changes = {"block": {"shape": "square", "width_mm": 100}, "cut": cuts}
    cavity = [{"shape": "round", "diameter_mm": 30}]
    closing = long_block(8, cavity=cavity, **changes).close([BandAt(45.0, 20.0, 6.0)], check=False)
    assert closing.outcome is Outcome.PIECE_NOT_HELD
    assert np.isnan(closing.lands[0].pressure_kpa).all()
    assert np.isnan(closing.lands[0].closed_share)
    assert np.isnan(closing.lands[0].largest_gap_mm)


def test_overhang_is_held_against_half_a_pitch(block):
    even = block.close([BandAt(at, 10.0, 6.0) for at in even_places(3, 90.0)])
    assert even.ends.overhang_mm == pytest.approx(15.0)
    assert even.ends.doubtful_mm == 0
    bunched = block.close([BandAt(at, 10.0, 6.0) for at in (35.0, 45.0, 55.0)])
    assert bunched.ends.doubtful_mm == pytest.approx(bunched.lands[0].length_mm, rel=0.3)


def test_band_series_sums_to_the_bands():
    bands = [BandAt(20.0, 5.0, 8.0), BandAt(71.0, 3.0, 5.0)]
    z = np.linspace(0, 100, 20001)
    a = band_series(bands, 100.0, 4000)
    T = np.cos(np.outer(z[::200], np.pi * np.arange(4000) / 100)) @ a
    assert a[0] == pytest.approx(0.08)
    on = np.array(
        [5.0 / 8 if abs(v - 20) < 4 else 0.6 if abs(v - 71) < 2.5 else 0 for v in z[::200]]
    )
    clear = np.array([min(abs(abs(v - 20) - 4), abs(abs(v - 71) - 2.5)) > 0.4 for v in z[::200]])
    assert T[clear] == pytest.approx(on[clear], abs=0.02)


def test_head_series_is_the_straight_line():
    z = np.linspace(0, 1, 11)
    sums = np.cos(np.outer(z, np.pi * np.arange(400))) @ head_series(5.0, 2.0, 400)
    assert sums == pytest.approx(5 - 3 * z, abs=3e-3)


def test_bands_lie_narrower_when_stretched():
    mold = squeeze.mold_of(WEDGED | {"band": [{"stock": "64", "count": 3}, {"tension_n": 9}]})
    bands = bands_of(mold, 2 * 2 * 3.5 * 25.4)
    assert [band.at_mm for band in bands] == [15.0, 45.0, 45.0, 75.0]
    assert lying_width_mm(mold.band[0], 2 * 2 * 3.5 * 25.4) == pytest.approx(6.35 / np.sqrt(2))


def test_waves_follow_the_length():
    assert [waves_for(length) for length in (20.0, 140.0, 2000.0)] == [16, 31, 48]
