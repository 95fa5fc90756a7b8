"""How good an answer is: errors fall as the theory says, and are told as large as they are."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import squeeze
from squeeze.mold.geometry.tolerance import SAME_MM
from squeeze.show.text.errors import missed_lines
from squeeze.solve import refined
from squeeze.solve.accuracy import fine_spots as fine_spots_module
from squeeze.solve.accuracy.errors import OF_STRAIN, errors_of
from squeeze.solve.accuracy.fine_spots import edge_at_contact_ends, fine_spots
from squeeze.solve.accuracy.lips import lip_power, lip_spots
from squeeze.solve.large.deformation import deformed_closing
from squeeze.solve.mesh.size import outlet_mm

refined_module = sys.modules[refined.__module__]
deformation_module = sys.modules[deformed_closing.__module__]
SQUARE = {"shape": "square", "width_mm": 120, "bevel_mm": 3}
ROUND = {"shape": "round", "diameter_mm": 120}
BORE = {"shape": "round", "diameter_mm": 40}
LADDER = (1.0, 1.25, 1.5, 1.8, 2.2, 2.6, 3.1, 3.6)
FINEST = 5.0


def mold(block, path, cavities=(BORE,), **tables):
    whole = {
        "length_mm": 140,
        "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
        "block": block,
        "cavity": list(cavities),
        "cut": [{"path_mm": path} | tables.pop("faces", {})],
        "band": [{"tension_n_per_mm": 0.6}],
    } | tables
    return squeeze.mold_of({key: value for key, value in whole.items() if value != []})


FOUR = tuple({"shape": "round", "diameter_mm": 10, "centre_mm": [x, 40]} for x in (-24, -8, 8, 24))
PUSHES = [{"at_mm": [0, side * 20], "width_mm": 10, "force_n_per_mm": 1.0} for side in (-1, 1)]
MOLDS = {
    "closed": mold(ROUND, [[0, 0], [0, 70]]),
    "partly open": mold(SQUARE, [[-60, 40], [60, 40]], FOUR),
    "slides with friction": mold(SQUARE, [[0, 0], [40, 70]], faces={"friction": 0.3}),
    "leaves aslant": mold(SQUARE, [[0, 0], [40, 70]]),
    "layers that recede": mold(
        {"shape": "rectangle", "width_mm": 120, "height_mm": 40},
        [[-70, 0], [70, 0]],
        (),
        band=[],
        push=PUSHES,
    ),
}


@cache
def closed(name: str, fineness: float):
    return squeeze.close(MOLDS[name], fineness=fineness, deformation="small")


def off(closing, finest) -> tuple[float, float]:
    """Return the largest error of an inner place's pressure [% of the highest], of a gap [mm]."""
    peak = max(float(land.pressure_kpa.max()) for land in finest.lands)
    pressure = gap = 0.0
    for land, limit in zip(closing.lands, finest.lands, strict=True):
        wanted = np.interp(land.s_mm, limit.s_mm, limit.pressure_kpa)
        inner = np.abs(land.pressure_kpa - wanted)[1:-1]
        pressure = max(pressure, 100.0 * float(inner.max()) / peak)
        between = np.interp(land.s_mm, limit.s_mm, limit.gap_mm)
        gap = max(gap, float(np.abs(land.gap_mm - between).max()))
    return pressure, gap


@cache
def worst_inner_places(name: str) -> np.ndarray:
    """Error of the worst inner place on each mesh of the ladder [% of the highest pressure]."""
    finest = closed(name, FINEST)
    return np.array([off(closed(name, fineness), finest)[0] for fineness in LADDER])


@pytest.mark.slow
@pytest.mark.parametrize("name", MOLDS)
def test_no_inner_place_is_off_by_much_on_any_mesh(name):
    errors = worst_inner_places(name)
    assert errors.max() < 2.0
    assert errors[-3:].max() < 1.1


@pytest.mark.slow
@pytest.mark.parametrize("name", MOLDS)
def test_pressure_goes_to_its_limit_as_the_square_of_the_edge(name):
    """On eight meshes, none twice as fine as another: the worst inner place, and its estimate.

    Each error is at most a fifth over the least of those before it; the fitted power is near two;
    the estimate is 0.4 to 4 times the error.
    """
    found, errors = [closed(name, fineness) for fineness in LADDER], worst_inner_places(name)
    least = np.minimum.accumulate(errors)
    assert (errors[1:] < 1.2 * least[:-1]).all()
    power = -np.polyfit(np.log(LADDER), np.log(errors), 1)[0]
    assert 1.4 < power < 3.0
    estimated = np.array([each.errors.pressure_pct for each in found])
    assert ((estimated > 0.4 * errors) & (estimated < 4.0 * errors)).all()


SLOW = [pytest.param(name, marks=pytest.mark.slow) for name in ("partly open", "leaves aslant")]


@pytest.mark.parametrize("name", ["closed", *SLOW])
def test_the_error_told_is_the_error_made(name):
    """Against a mesh three times as fine."""
    closing = closed(name, 1.5)
    pressure, gap = off(closing, closed(name, 4.0))
    assert 0.4 * pressure < closing.errors.pressure_pct < 4.0 * pressure
    assert gap < 4.0 * closing.errors.gap_mm + 1e-4


def test_an_accuracy_asked_for_is_reached():
    rough, good = (
        squeeze.close(MOLDS["leaves aslant"], accuracy_pct=accuracy, deformation="small")
        for accuracy in (3.0, 0.7)
    )
    assert good.errors.is_enough
    assert rough.errors.is_enough
    assert good.errors.pressure_pct <= 0.7
    assert good.trust.unknowns > rough.trust.unknowns
    assert off(good, closed("leaves aslant", 4.0))[0] < 1.0


def test_an_answer_stands_where_no_finer_mesh_can_be_made(monkeypatch):
    given = squeeze.Block.remeshed

    def to_a_point(block, fineness, finer=()):
        if fineness > 1.0:
            raise squeeze.BadInput([squeeze.mold.Fault("block", "no finer mesh")])
        return given(block, fineness, finer)

    monkeypatch.setattr(squeeze.Block, "remeshed", to_a_point)
    found = refined(MOLDS["leaves aslant"], accuracy_pct=0.05, deformation="small")
    assert found.closing.errors.fineness == 1.0
    assert not found.closing.errors.is_enough


def test_what_the_bounded_work_does_not_reach_is_said():
    found = refined(MOLDS["partly open"], accuracy_pct=0.05, most_work=0, deformation="small")
    assert not found.closing.errors.is_enough
    assert found.closing.errors.fineness == 1.0


@pytest.mark.parametrize("side", [-1, 1])
def test_contact_ends_between_its_last_closed_place_and_the_first_open_one(made_up, side):
    """By hand: a single place presses, at either end of the land, and the next one is open."""
    closing = made_up(
        centres_mm=(),
        gap=lambda x: np.where(side * x > 59.0, 0.0, 1.0),
        press=lambda x: np.full_like(x, 5.0),
    ).closing()
    ((x, y, size),) = fine_spots(closing, 1.0)
    assert 58.0 < side * x < 60.0
    assert y == 40.0
    assert size < 2.0


def test_a_share_that_both_meshes_give_alike_has_no_error():
    closing = closed("closed", 1.0)
    assert closing.lands[0].closed_share == 1.0
    assert closing.errors.lands[0].closed_share == 0.0


def test_an_answer_that_is_good_enough_is_not_refined():
    found = refined(MOLDS["closed"], accuracy_pct=20.0, deformation="small")
    assert found.closing.errors.is_enough
    assert found.closing.errors.fineness == 1.0


@pytest.mark.parametrize("given", [0.0, 50.0, "fine", float("nan")])
def test_an_accuracy_out_of_range_is_refused(given):
    with pytest.raises(squeeze.BadInput, match="accuracy_pct"):
        squeeze.close(MOLDS["closed"], accuracy_pct=given)


def test_the_mesh_is_fine_where_contact_ends():
    """The end is where pressure comes to zero; edges next to it are as short as asked for."""
    closing = closed("partly open", 1.5)
    wanted = edge_at_contact_ends(closing.section, 1.5)
    for land in (closing.lands[0], closing.lands[-1]):
        changes = np.flatnonzero(np.diff(land.pressure_kpa > 0))
        assert len(changes) == 1
        assert np.diff(land.s_mm)[changes[0]] < 12 * wanted
    spots = fine_spots(closing, 1.5)
    assert sorted(np.sign(x) for x, _, _ in spots) == [-1, 1]
    assert all(y == pytest.approx(40.0) for _, y, _ in spots)


def test_a_cut_that_leaves_aslant_has_a_fine_outlet():
    """The edge at an outlet off the right angle is shorter than at one on it."""
    aslant, straight = (
        squeeze.Block(MOLDS[name]).close().lands[0].s_mm for name in ("leaves aslant", "closed")
    )
    assert np.diff(aslant)[-1] < 0.2 * np.diff(aslant).max()
    assert np.diff(straight)[-1] > 0.8 * np.diff(straight).max()


def edges_along(land) -> np.ndarray:
    return np.hypot(np.diff(land.x_mm), np.diff(land.y_mm))


@pytest.mark.parametrize("fineness", [1.5, 2.2])
def test_a_lip_ends_in_edges_as_short_as_its_power_asks_for(fineness):
    """Not in those of the distance at which sizes are asked for, nor in 0.02 mm."""
    closing = closed("slides with friction", fineness)
    (corner, lip) = lip_spots(closing, fineness)
    edges = edges_along(closing.lands[0])
    assert lip[2] < 0.25 * outlet_mm(closing.section, fineness)
    assert 0.25 * lip[2] < edges[-1] < 3.0 * lip[2]
    assert edges[0] < 2.0 * corner[2]


def test_a_lip_is_made_no_finer_at_large_deformation_nor_on_the_default_mesh():
    """There faces that slide and turn press without limit, the more so the shorter the edges."""
    name = "slides with friction"
    assert lip_spots(closed(name, 1.0), 1.0) == ()
    large = squeeze.Block(MOLDS[name], 0.5).close(deformation="large")
    assert large.deformation.is_large
    assert lip_spots(large, 1.5) == ()
    assert all(size >= SAME_MM for _, _, size in fine_spots(large, 4.0))


@pytest.mark.slow
def test_pressure_at_a_lip_goes_to_zero_as_two_wedges_that_rub():
    """Measured over a factor of ten in the distance, against the closed form."""
    land = closed("slides with friction", 3.6).lands[0]
    away = land.length_mm - land.s_mm
    near = (away > 5e-4) & (away < 5e-3)
    assert near.sum() > 5
    power = np.polyfit(np.log(away[near]), np.log(land.pressure_kpa[near]), 1)[0]
    angle = np.arctan2(70.0, 40.0)
    assert power == pytest.approx(lip_power(angle, 0.3), abs=0.03)


@pytest.mark.parametrize("friction", [0.0, 0.3, 0.6])
def test_a_lip_at_the_right_angle_has_no_power(friction):
    assert lip_power(0.5 * np.pi, friction) is None


@pytest.mark.parametrize(("degrees", "friction"), [(60.0, 0.3), (75.0, 0.0), (30.0, 0.3)])
def test_a_lip_has_one_power_from_either_side_of_the_cut(degrees, friction):
    power, other = (lip_power(np.radians(each), friction) for each in (degrees, 180.0 - degrees))
    assert 0.1 < power < 0.6
    assert power == pytest.approx(other, abs=1e-6)


@pytest.mark.parametrize("apart_mm", [2.0, 4.0])
def test_an_end_of_contact_is_as_fine_as_it_is_known(made_up, apart_mm, monkeypatch):
    """It lies between two places; edges much shorter than their distance would be a guess."""
    monkeypatch.setattr(fine_spots_module, "EDGES_ACROSS", 1e6)
    closing = made_up(
        centres_mm=(), gap=lambda x: np.where(x > 0.0, 1.0, 0.0), press=lambda x: 5.0 - 0.05 * x
    ).closing()
    land = closing.lands[0]
    k = int(np.flatnonzero(np.diff(land.pressure_kpa > 0))[0])
    width = land.s_mm[k + 1] - land.s_mm[k]
    stretched = replace(land, s_mm=land.s_mm * apart_mm / width)
    ((_, _, size),) = fine_spots(replace(closing, lands=(stretched,)), 1.0)
    assert apart_mm / 10 <= size <= apart_mm / 5


def test_two_meshes_that_give_the_same_have_no_error(closed, gaping):
    for closing in (closed, gaping):
        errors = errors_of(closing, closing, 1.0, 0.5)
        for land in errors.lands:
            sizes = land.pressure_kpa, land.lip_kpa, land.mean_pressure_kpa, land.gap_mm
            assert (*sizes, land.closed_share) == (0, 0, 0, 0, 0)
            assert not land.pressures_kpa.any()
            assert not land.gaps_mm.any()
        assert (errors.pressure_pct, errors.gap_mm, errors.strain_pct) == (0, 0, 0)
        assert errors.strain_is_settled


@pytest.mark.parametrize(("fineness", "coarser"), [(1.0, 0.5), (1.5, 1.0), (2.0, 0.5)])
def test_a_strain_that_falls_with_the_edge_is_off_by_what_is_left_of_its_change(
    made_up, fineness, coarser
):
    """Strain goes to its limit e0 as e0 + c h^n: of two meshes the error told is c h^n."""
    closing, limit, c = made_up().closing(), 8.0, 1.3

    def on(mesh: float):
        strain, unknowns = limit + c / mesh**OF_STRAIN, int(1e6 * mesh**2)
        trust = replace(closing.trust, largest_strain_pct=strain, unknowns=unknowns)
        return replace(closing, trust=trust)

    errors = errors_of(on(fineness), on(coarser), fineness, coarser)
    assert errors.strain_pct == pytest.approx(c / fineness**OF_STRAIN)


def test_errors_need_two_answers_of_one_theory():
    mold = MOLDS["closed"]
    small = squeeze.Block(mold).close()
    large = squeeze.Block(mold, 0.5).close(deformation="large")
    assert errors_of(small, large, 1.0, 0.5) is None
    loose = squeeze.Block(mold, 0.5).close(band_tension_n_per_mm=0.0, check=False)
    assert loose.outcome.has_answer or errors_of(small, loose, 1.0, 0.5) is None


@pytest.mark.parametrize("where", ["the finer mesh", "the coarser mesh"])
def test_errors_are_told_where_only_one_of_two_meshes_asks_for_large_deformation(
    where, monkeypatch
):
    """The change that large deformation makes hangs on the mesh a little, as all figures do."""
    mold = MOLDS["closed"]
    least = 0.7 * squeeze.Block(mold).mesh.points.size

    def changes(model, *_):
        return float((model.mesh.points.size > least) == (where == "the finer mesh"))

    monkeypatch.setattr(deformation_module, "estimated_change", changes)
    found = refined(mold, fineness=1.0)
    assert found.closing.deformation.is_large == (where == "the finer mesh")
    assert found.coarse[1].deformation.is_large == found.closing.deformation.is_large
    assert found.closing.errors.pressure_pct < 5


def test_the_place_of_the_jump_where_resin_ends_is_no_error_of_the_pressure(made_up):
    """Two answers know all that stands between the faces, and differ on where the resin ends."""
    closing, resin = made_up().closing(), 2.0
    land = closing.lands[0]
    between = np.linspace(3 * resin, 0, len(land.s_mm)).clip(min=resin)
    first_wet = int(np.argmax(between == resin))

    def ends_at(k: int, last_dry: float):
        wet = np.arange(len(between)) >= k
        pressure = between - resin * wet
        pressure[k - 1] = min(pressure[k - 1], last_dry)
        return replace(
            closing,
            lands=(replace(land, wet=wet, pressure_kpa=pressure),),
            loads=replace(closing.loads, cavity_mpa=resin / 1000),
        )

    pair = ends_at(first_wet + 2, 0.1 * resin), ends_at(first_wet + 4, 0.7 * resin)
    assert errors_of(*pair, 1.0, 0.5).lands[0].pressure_kpa == pytest.approx(0, abs=1e-12)
    dry = [replace(each, loads=replace(each.loads, cavity_mpa=0.0)) for each in pair]
    assert errors_of(*dry, 1.0, 0.5).lands[0].pressure_kpa > 0.1 * resin


def test_a_block_made_anew_on_another_mesh_is_that_block():
    block = squeeze.Block(MOLDS["closed"], 0.5)
    anew, direct = block.remeshed(1.0).close(), squeeze.Block(MOLDS["closed"]).close()
    assert anew.trust.unknowns == direct.trust.unknowns
    assert (anew.lands[0].pressure_kpa == direct.lands[0].pressure_kpa).all()


def test_a_mesh_that_cannot_be_made_fine_is_an_even_one(monkeypatch):
    """Rather than no answer; an even mesh that cannot be made is told."""
    whole = squeeze.Block.remeshed
    asked = []

    def fails(block, fineness, finer=()):
        asked.append(bool(finer))
        if finer:
            raise squeeze.BadInput([])
        return whole(block, fineness)

    monkeypatch.setattr(squeeze.Block, "remeshed", fails)
    closing = squeeze.close(MOLDS["partly open"], fineness=1.0, deformation="small")
    assert closing.outcome.has_answer
    assert asked[-2:] == [True, False]


def test_errors_at_places_are_no_less_than_the_figures_of_their_land():
    for told in closed("partly open", 1.0).errors.lands:
        assert told.pressures_kpa[told.inner].max() >= told.pressure_kpa
        assert told.gaps_mm.max() == told.gap_mm


def test_a_mesh_without_a_coarser_one_tells_no_errors():
    closing = squeeze.close(MOLDS["closed"], fineness=0.25, deformation="small")
    assert closing.errors is None


@pytest.mark.slow
def test_the_coarser_answer_stands_where_the_work_ends_before_the_finer_one(monkeypatch):
    """The bound holds for all meshes together; that the errors are unknown then is said."""
    asked, whole = [], squeeze.Block.close

    def counted(block, *given, **case):
        closing = whole(block, *given, **case)
        asked.append((block.mesh.points.size, closing.deformation.tangents))
        return closing

    monkeypatch.setattr(squeeze.Block, "close", counted)
    loose = refined(MOLDS["partly open"], deformation="large")
    enough = sum(size * tangents for size, tangents in asked[:-1])
    assert loose.closing.deformation.is_large
    assert loose.closing.errors is not None
    asked.clear()
    monkeypatch.setattr(refined_module, "MOST_WORK_IN_ALL", enough + 1)
    found = refined(MOLDS["partly open"], deformation="large")
    assert sum(size * tangents for size, tangents in asked) <= enough + 1
    assert found.closing.deformation.is_large
    assert found.closing.errors is None
    assert found.closing.deformation.finer is squeeze.Outcome.NOT_SETTLED
    assert "not known" in missed_lines(found.closing)[0]


def test_a_block_that_gives_way_is_not_deformed_again_on_a_finer_mesh(monkeypatch):
    """Its mesh is stiffer than a finer one: that gives way no later."""
    asked, whole = [], squeeze.Block.close

    def gives_way(block, *given, **case):
        closing = whole(block, *given, **case | {"deformation": "small"})
        asked.append(case["deformation"])
        if case["deformation"] == "large":
            how = replace(closing.deformation, outcome=squeeze.Outcome.UNSTABLE, share=0.3)
            closing = replace(closing, deformation=how)
        return closing

    monkeypatch.setattr(squeeze.Block, "close", gives_way)
    found = refined(MOLDS["partly open"], deformation="large")
    assert asked[0] == "large"
    assert set(asked[1:]) == {"small"}
    assert found.closing.deformation.outcome is squeeze.Outcome.UNSTABLE
    assert found.closing.deformation.share == 0.3
