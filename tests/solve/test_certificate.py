"""The certificate of the random molds: it passes what is right and finds what is spoilt."""

from dataclasses import replace

import certificate
import numpy as np
import pytest

import squeeze

BASE = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 8},
    "cavity": [{"shape": "round", "diameter_mm": 14, "centre_mm": [4, 0]}],
    "cut": [{"path_mm": [[-30, 0], [30, 0]], "friction": 0.3}],
    "band": [{"tension_n_per_mm": 0.3}],
}
MORE = {
    "bands alone": {},
    "a seat on a curve": {
        "block": {"shape": "oval", "width_mm": 60, "height_mm": 50},
        "cradle": [{"covers": "top", "thickness_mm": 10, "material": "rigid foam"}],
    },
    "resin that runs into the cut": {
        "cut": [{"path_mm": [[-30, 0], [30, 0]], "friction": 0.1, "gap_mm": [0, 2, 0]}],
        "resin": {"pressure_kpa": 6},
    },
    "clamp pads": {
        "band": [],
        "push": [{"at_mm": [x, 0], "width_mm": 20, "force_n_per_mm": 0.4} for x in (-30, 30)],
        "cut": [{"path_mm": [[4, -30], [4, 30]], "friction": 0.2}],
    },
    "a crossing and a filler": {
        "cut": [{"path_mm": p, "friction": 0.5} for p in ([[-30, 3], [30, -3]], [[4, 0], [9, 30]])],
        "filler": [{"shape": "round", "diameter_mm": 9, "centre_mm": [-15, -15], "shore_a": 40}],
        "push": [{"pressure_kpa": 5}],
    },
    "a cut whose end is carried onto it": {
        "cut": [{"path_mm": [[35, 5], [-16, -17], [-10, 10], [3.4, -8.1]], "friction": 1.0}],
    },
    "a wide board on a narrow seat": {
        "block": {"shape": "oval", "width_mm": 196.4, "height_mm": 153.19},
        "cut": [{"path_mm": [[-98.2, 0], [98.2, 0]], "friction": 1.0, "gap_mm": [0.3, 0, 0.3]}],
        "cradle": [
            {
                "points_mm": [[-79, 76.595], [79, 76.595], [79, 99.6], [-79, 99.6]],
                "material": "rigid foam",
                "friction": 1.1,
            }
        ],
    },
}


def closed(more):
    return squeeze.Block(squeeze.mold_of(BASE | more), fineness=0.7).close()


@pytest.mark.parametrize("more", MORE.values(), ids=MORE)
def test_what_is_right_passes(more):
    answer = closed(more)
    assert certificate.faults(answer) == []
    assert answer.trust.complementarity < 1e-8


def test_resin_stands_in_the_cut():
    wet = closed(MORE["resin that runs into the cut"])
    assert any(land.wet.any() for land in wet.lands)
    dry = replace(wet, lands=tuple(replace(x, wet=np.zeros_like(x.wet)) for x in wet.lands))
    assert any("out of balance" in fault for fault in certificate.faults(dry))


@pytest.fixture(scope="module")
def answer():
    return closed(MORE["a seat on a curve"])


def of_land(answer, **figures):
    """Return the answer with other figures on its first land."""
    first, *others = answer.lands
    return replace(answer, lands=(replace(first, **figures), *others))


def of_field(answer, **values):
    return replace(answer, field=replace(answer.field, **values))


def test_a_little_more_pressure_is_found(answer):
    more = of_land(answer, pressure_kpa=1.001 * answer.lands[0].pressure_kpa)
    assert any("out of balance" in fault for fault in certificate.faults(more))


def test_pressure_that_pulls_is_found(answer):
    pressure = answer.lands[0].pressure_kpa.copy()
    pressure[3] = -0.1
    spoilt = of_land(answer, pressure_kpa=pressure)
    assert any("pulls" in fault for fault in certificate.faults(spoilt))


def test_a_gap_where_faces_press_is_found(answer):
    spoilt = of_land(answer, gap_mm=np.full_like(answer.lands[0].gap_mm, 0.001))
    found = certificate.faults(spoilt)
    assert any("presses across a gap" in fault for fault in found)
    assert any("off its displacements" in fault for fault in found)


def test_friction_over_its_limit_is_found(answer):
    land = answer.lands[0]
    spoilt = of_land(answer, shear_kpa=0.31 * land.pressure_kpa)
    assert any("more friction" in fault for fault in certificate.faults(spoilt))


def test_friction_that_helps_the_slip_is_found(answer):
    land = answer.lands[0]
    slips = {"sticks": np.zeros_like(land.sticks), "slip_mm": np.full_like(land.slip_mm, 0.1)}
    spoilt = of_land(answer, shear_kpa=0.3 * land.pressure_kpa, **slips)
    assert any("the way it slides" in fault for fault in certificate.faults(spoilt))


def test_one_node_a_micrometre_off_is_found(answer):
    moved = answer.field.displacement_mm.copy()
    moved[len(moved) // 2] += 0.001
    spoilt = of_field(answer, displacement_mm=moved)
    assert any("out of balance" in fault for fault in certificate.faults(spoilt))


def test_a_pressure_that_is_not_that_of_the_volume_is_found(answer):
    spoilt = of_field(answer, pressure_mpa=answer.field.pressure_mpa + 0.1)
    assert any("change of volume" in fault for fault in certificate.faults(spoilt))


def test_other_bands_are_found(answer):
    push = 1.001 * answer.wrap.push_n_per_mm
    spoilt = replace(answer, wrap=replace(answer.wrap, push_n_per_mm=push))
    assert any("out of balance" in fault for fault in certificate.faults(spoilt))


def test_a_triangle_turned_inside_out_is_found(answer):
    points = answer.field.points_mm.copy()
    a, b, middle = answer.field.triangles[5][[0, 1, 3]]
    points[middle] = points[a] + 0.8 * (points[b] - points[a])
    spoilt = of_field(answer, points_mm=points)
    assert certificate.faults(spoilt) == ["a triangle is inside out"]
