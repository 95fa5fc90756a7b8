"""The group of models: turned, moved, arranged anew, and cut."""

import math

import numpy as np
import pytest
import shapely

import squeeze
from squeeze.design.blocks.block_dict import mold_dict
from squeeze.design.models.arrange import arrangements
from squeeze.design.models.group import models_of, moved, trimmed, with_free_cuts
from squeeze.mold import dict_of
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.tables.shape import CavityTable

SHAPES = (
    {"shape": "round", "diameter_mm": 10},
    {"shape": "oval", "width_mm": 20, "height_mm": 8},
    {"shape": "rectangle", "width_mm": 20, "height_mm": 8, "bevel_mm": 1},
    {"shape": "square", "width_mm": 12},
    {"shape": "hexagon", "width_mm": 12},
    {"shape": "drawn", "points_mm": [[-6, -4], [7, -5], [4, 6]]},
)


@pytest.fixture(scope="module")
def barrels():
    return models_of(squeeze.load("studies/barrels/barrels.toml"), True)


def loop(cavity):
    return loop_of(CavityTable.model_validate(cavity))


def mold_with(*cavities, **more):
    tables = [{"name": f"m{k}", **each} for k, each in enumerate(cavities)]
    data = {
        "length_mm": 60,
        "rubber": {"shore_a": 20},
        "block": {"shape": "round", "diameter_mm": 200},
        "cavity": tables,
    }
    return squeeze.mold_of(data | more)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s["shape"])
@pytest.mark.parametrize("turn", [0.0, 45.0, 90.0, 180.0, 270.0])
def test_a_turned_model_is_the_same_one_turned(shape, turn):
    models = models_of(mold_with({**shape, "centre_mm": [20, 5]}), True)
    made = loop(moved(models, turn, (3.0, -4.0)).sections[0].cavities[0]).polygon
    turned = shapely.affinity.rotate(loop(models.sections[0].cavities[0]).polygon, turn, (0, 0))
    wanted = shapely.affinity.translate(turned, 3.0, -4.0)
    assert made.symmetric_difference(wanted).area < 0.02 * wanted.area


def test_the_cut_goes_with_the_models_and_ends_at_the_new_outside(barrels):
    there = moved(barrels, 0.0, (0.0, -40.0))
    outside = shapely.Point(0, 0).buffer(45.0, 256)
    (cut,) = there.sections[0].cuts
    path = trimmed(cut, outside)
    assert path == [pytest.approx((-45, 0), abs=0.02), pytest.approx((45, 0), abs=0.02)]


def test_a_cut_that_ends_in_a_model_is_not_carried_on():
    cut = [{"name": "down", "path_mm": [[0, 0], [0, 120]]}]
    models = models_of(mold_with({"shape": "round", "diameter_mm": 20}, cut=cut), True)
    path = trimmed(models.sections[0].cuts[0], shapely.Point(0, 0).buffer(40.0, 256))
    assert path == [pytest.approx((0, 0)), pytest.approx((0, 40), abs=0.02)]


def test_free_cuts_lead_through_every_row(barrels):
    (row,) = with_free_cuts(barrels, 0.0, {}).sections[0].cuts
    assert {y for _, y in row.path} == {40.0}
    assert len(with_free_cuts(barrels, 90.0, {}).sections[0].cuts) == 4


def test_a_free_cut_runs_through_the_whole_block(barrels):
    """Both of its ends are carried to the outside, from wherever they lie."""
    (row,) = with_free_cuts(moved(barrels, 0.0, (0.0, -40.0)), 0.0, {}).sections[0].cuts
    path = trimmed(row, shapely.Point(0, 0).buffer(45.0, 256))
    assert path == [pytest.approx((-45, 0), abs=0.02), pytest.approx((45, 0), abs=0.02)]


def test_a_cut_is_carried_on_to_an_outside_that_lies_beyond_both_ends(barrels):
    (cut,) = moved(barrels, 0.0, (0.0, -40.0)).sections[0].cuts
    assert max(x for x, _ in cut.path) == 60.0
    path = trimmed(cut, shapely.Point(0, 0).buffer(75.0, 256))
    assert path == [pytest.approx((-75, 0), abs=0.02), pytest.approx((75, 0), abs=0.02)]


def test_arranged_models_keep_their_distance(barrels):
    found = list(arrangements(barrels, 6.0, {"friction": 0.1}))
    assert [each.say for each in found] == [
        "models in a row",
        "models in 2 rows of 2",
        "models one over the other",
        "models in a ring",
    ]
    for each in found:
        loops = [loop(c).polygon for c in each.sections[0].cavities]
        apart = min(a.distance(b) for k, a in enumerate(loops) for b in loops[:k])
        assert apart >= 6.0 - 0.02
        assert all(cut.table["friction"] == 0.1 for cut in each.sections[0].cuts)
        reached = [
            any(shapely.LineString(cut.path).intersects(each_loop) for cut in each.sections[0].cuts)
            for each_loop in loops
        ]
        assert all(reached)


def test_the_ring_is_a_ring(barrels):
    *_, ring = arrangements(barrels, 6.0, {})
    far = [math.hypot(*c["centre_mm"]) for c in ring.sections[0].cavities]
    assert np.ptp(far) < 0.01


def test_vents_and_the_place_of_the_sprue_stay_with_the_old_block():
    """Models stand elsewhere in another block, so the places of their channels are void."""
    old = squeeze.load("studies/barrels/barrels.toml")
    at = old.cavity[0].centre_mm
    tables = dict_of(old) | {
        "vent": [{"at_mm": at}],
        "model": [{"file": "barrel.stl", "at_mm": at}],
        "sprue": {"diameter_mm": 6, "height_mm": 30, "at_mm": at},
    }
    block = {"shape": "round", "diameter_mm": 120}
    made = mold_dict(squeeze.mold_of(tables), block, models_of(old, True), [])
    assert not {"vent", "model"} & set(made)
    assert made["sprue"] == {"diameter_mm": 6, "height_mm": 30}
