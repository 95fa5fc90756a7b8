"""What a mold takes, against volumes of solids and figures worked out by hand."""

from __future__ import annotations

import math

import pytest

import squeeze
from squeeze.mold import BadInput
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures.table import TABLE
from squeeze.verdict.quantities import quantities_of, shrinkage_of, shrunk, under_bands

BLOCK = {"shape": "square", "width_mm": 100, "round_mm": 0}


def mold(**tables):
    return squeeze.mold_of(
        {"length_mm": 100, "rubber": {"shore_a": 20, "density_g_cm3": 1.2}, "block": BLOCK} | tables
    )


def solid(radius, length: float, count: int, **tables):
    """Return a mold whose one cavity has the radius `radius(z)` at `count` stations."""
    step = length / count
    places = [(k + 0.5) * step for k in range(count)]
    stations = [
        {
            "at_mm": z,
            "cavity": [{"name": "a", "shape": "round", "diameter_mm": 2 * radius(z - length / 2)}],
        }
        for z in places
    ]
    return mold(length_mm=length, station=stations, **tables)


def test_rubber_is_box_less_models_less_fillers_with_waste():
    hole = {"shape": "round", "diameter_mm": 40}
    filler = {"shape": "square", "width_mm": 20, "centre_mm": [-35, -35], "shore_a": 20}
    rubber = {"shore_a": 20, "density_g_cm3": 1.2, "price_per_kg": 30, "mix_by_weight": [10, 1]}
    found = quantities_of(mold(cavity=[hole], filler=[filler], rubber=rubber))
    void, old = math.pi * 20**2 * 0.1, 20**2 * 0.1
    assert found.rubber.volume_cm3 == pytest.approx(1000 - void - old)
    assert found.filler_cm3 == pytest.approx(old)
    assert found.rubber_mixed.mass_g == pytest.approx((1000 - void - old) * 1.2 * 1.1)
    assert found.rubber_mixed.price == pytest.approx(found.rubber_mixed.mass_g * 0.03)
    assert found.rubber_mixed.parts_g == pytest.approx(
        (found.rubber_mixed.mass_g * 10 / 11, found.rubber_mixed.mass_g / 11)
    )
    assert found.lifted_g == pytest.approx((1000 - void) * 1.2 + void * 1.05)


def test_resin_is_cavities_sprue_and_vents_with_waste_for_all_castings():
    found = quantities_of(
        mold(
            cavity=[{"shape": "round", "diameter_mm": 40}],
            resin={
                "head_mm": 50,
                "castings": 12,
                "waste_percent": 5,
                "density_g_cm3": 1.1,
                "price_per_kg": 20,
            },
            sprue={"diameter_mm": 8, "height_mm": 50},
            vent=[
                {"at_mm": [0, 20], "diameter_mm": 3},
                {"at_mm": [0, 20], "along_mm": 10, "diameter_mm": 4, "height_mm": 50},
            ],
        )
    )
    void = math.pi * 20**2 * 0.1
    straight_up = BLOCK["width_mm"] / 2 - 20
    sprue = math.pi * 4**2 * 0.05
    vents = math.pi * (1.5**2 * straight_up + 2**2 * 50) / 1000
    assert found.vents_cm3 == pytest.approx(vents)
    assert found.resin.volume_cm3 == pytest.approx(void + sprue + vents)
    assert found.resin_mixed.mass_g == pytest.approx((void + sprue + vents) * 1.1 * 12 * 1.05)
    assert found.price == pytest.approx(found.resin_mixed.mass_g * 0.02)


def test_what_the_outline_saves_is_the_box_less_the_outline():
    round_one = mold(block={"shape": "round", "diameter_mm": 100})
    saved = quantities_of(round_one).saved_by_outline_cm3
    assert saved == pytest.approx(1000 * (1 - math.pi / 4))
    bevelled = mold(block=BLOCK | {"bevel_mm": 20})
    assert quantities_of(bevelled).saved_by_outline_cm3 == pytest.approx(4 * 20**2 / 2 * 0.1)
    assert quantities_of(mold()).saved_by_outline_cm3 == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("radius", "length", "volume"),
    [
        (lambda z: math.sqrt(30**2 - z**2), 60.0, 4 / 3 * math.pi * 30**3),
        # an egg: a sphere of 20 mm drawn out to 30 at one end
        (
            lambda z: 20 * math.sqrt(1 - ((z - 5) / (20 if z > 5 else 30)) ** 2),
            50.0,
            2 / 3 * math.pi * 20**2 * 50,
        ),
    ],
)
def test_volumes_of_solids_come_out_with_the_square_of_the_step(radius, length, volume):
    errors = []
    for count in (10, 20, 40):
        found = quantities_of(solid(radius, length, count)).cavities_cm3
        errors.append(abs(found * 1000 - volume) / volume)
    order = math.log2(errors[0] / errors[2]) / 2
    assert 1.4 < order < 2.2
    assert errors[-1] < 1e-3


def test_rubber_of_stations_is_what_the_solid_leaves():
    found = quantities_of(solid(lambda z: math.sqrt(30**2 - z**2), 60.0, 40))
    assert found.rubber.volume_cm3 + found.cavities_cm3 == pytest.approx(600)


def test_even_shrinkage_makes_castings_smaller_and_bow_goes_with_the_square_of_the_land():
    tables = {
        "cavity": [{"name": "a", "shape": "oval", "width_mm": 40, "height_mm": 20}],
        "cut": [{"name": "c", "path_mm": [[-50, 0], [50, 0]]}],
        "rubber": {"shore_a": 20, "shrinkage_percent": 0.5},
    }
    found = shrinkage_of(mold(**tables))
    assert found is not None
    (size,) = found.sizes
    assert size == ("a", pytest.approx(0.2), pytest.approx(0.1))
    land, h = 30.0, 50.0
    assert dict(found.bow_mm)["c"] == pytest.approx(2 * 3 * 0.005 * land**2 / (16 * h))
    assert shrunk(mold(**tables)).cut[0].bow_mm == pytest.approx(dict(found.bow_mm)["c"])
    tables["rubber"] = {"shore_a": 20}
    assert shrinkage_of(mold(**tables)) is None
    assert shrunk(mold(**tables)).cut[0].bow_mm == 0


def test_a_bowed_cut_presses_less_in_its_middle():
    tables = {
        "cavity": [{"shape": "round", "diameter_mm": 20}],
        "cut": [{"path_mm": [[-50, 0], [50, 0]]}],
        "band": [{"tension_n_per_mm": 0.3}],
        "rubber": {"shore_a": 20, "shrinkage_percent": 1.0},
    }
    even = squeeze.close(mold(**tables)).lands[0].pressure_kpa
    bowed = squeeze.close(shrunk(mold(**tables))).lands[0].pressure_kpa
    assert bowed[len(bowed) // 2] < 0.9 * even[len(even) // 2]


def test_how_long_it_lies_under_its_bands_is_told():
    table = mold(resin={"head_mm": 50, "demold_min": 45, "castings": 20}).resin
    assert "45 min a filling, 15.0 h in all for 20" in under_bands(table)
    assert under_bands(None).startswith("Take the bands off after demolding")
    strained = "Under its bands, strained by up to 10 %"
    assert under_bands(table, 9.8).startswith(f"{strained}: 45 min a filling, 15.0 h")
    assert under_bands(None, 9.8).startswith(f"{strained}. Take the bands off")
    assert under_bands(None, 0.2) == under_bands(None)


def test_a_mixing_ratio_has_two_or_three_parts():
    with pytest.raises(BadInput, match="two or three parts"):
        mold(rubber={"shore_a": 20, "mix_by_weight": [1]})


@pytest.mark.parametrize("unit", ["kPa", "N/mm"])
def test_figures_of_one_unit_show_as_many_digits(unit):
    assert len({each.digits for each in TABLE if each.unit == unit}) == 1


def test_what_is_felt_as_a_hairline_shows():
    small = ("gap", "slip", "shift", "step", "thickness")
    found = [each for each in TABLE if each.unit == "mm" and any(w in each.name for w in small)]
    assert len(found) == 5
    assert {10.0**-each.digits for each in found} == {HAIRLINE_MM}
