"""What may have been wrong: each suspect changes the mold by what it says, and nothing else."""

from __future__ import annotations

import sys

import numpy as np
import pytest

import squeeze
from squeeze.mold.faces import FACES
from squeeze.mold.forces.bands import tension_n_per_mm
from squeeze.mold.rubber import material
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.suspects import Suspect, suspects
from squeeze.verdict.why import _explanation
from squeeze.verdict.words import length

why_module = sys.modules["squeeze.verdict.why"]
suspects_module = sys.modules["squeeze.verdict.suspects"]

HALF = 30.0
RADIUS = 6.0
ROD = {
    "length_mm": 100,
    "rubber": {"shore_a": 30},
    "block": {"shape": "round", "diameter_mm": 2 * HALF},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 2 * RADIUS}],
    "cut": [{"name": "across", "path_mm": [[-HALF, 0], [HALF, 0]], "friction": 0.4}],
    "band": [{"tension_n_per_mm": 0.1}],
    "resin": {"head_mm": 40},
}
WRAP_MM = np.pi * 2 * HALF


@pytest.fixture(autouse=True)
def on_a_coarse_mesh(monkeypatch):
    """Where lands lie does not hang on the mesh."""
    monkeypatch.setattr(suspects_module, "FINENESS", 0.3)


def found(data: dict = ROD, at: str = "") -> dict[str, Suspect]:
    return {each.kind: each for each in suspects(squeeze.mold_of(data), at)}


@pytest.fixture(scope="module")
def of_the_rod() -> dict[str, Suspect]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(suspects_module, "FINENESS", 0.3)
        return found()


BANDS = [
    {"tension_n_per_mm": 0.3},
    {"tension_n": 4.0, "count": 3},
    {"stock": "64", "count": 2},
    {"width_mm": 8, "thickness_mm": 1, "flat_length_mm": 60, "count": 2},
]


@pytest.mark.parametrize("band", BANDS, ids=lambda band: next(iter(band)))
def test_slack_bands_pull_less_by_that_share(band, monkeypatch):
    monkeypatch.setattr(suspects_module, "_of_cuts", lambda *_: iter(()))
    other = {"tension_n_per_mm": 0.2}
    slack = found(ROD | {"band": [band, other]})["slack bands"]
    as_given = tension_n_per_mm(squeeze.mold_of(ROD | {"band": [band, other]}), WRAP_MM)
    assert tension_n_per_mm(slack.change(0.25), WRAP_MM) == pytest.approx(0.75 * as_given)
    assert "25 % less" in slack.say(0.25)


def test_soft_rubber_has_a_lower_modulus(of_the_rod):
    E = material(squeeze.mold_of(ROD).rubber).youngs_modulus_mpa
    soft = of_the_rod["soft rubber"]
    assert material(soft.change(0.25).rubber).youngs_modulus_mpa == pytest.approx(0.75 * E)
    assert material(soft.change(1.0).rubber).youngs_modulus_mpa > 0
    assert "25 % softer" in soft.say(0.25)


def test_slippery_faces_grip_less_by_that_share(of_the_rod):
    slippery = of_the_rod["slippery faces"]
    assert slippery.change(0.25).cut[0].coefficient == pytest.approx(0.3)
    assert "25 % less" in slippery.say(0.25)


def test_faces_by_name_grip_less_too(monkeypatch):
    monkeypatch.setattr(suspects_module, "_of_cuts", lambda *_: iter(()))
    name = max(FACES, key=lambda each: FACES[each].friction)
    cut = {"path_mm": [[-HALF, 0], [HALF, 0]], "faces": name}
    slippery = found(ROD | {"cut": [cut]})["slippery faces"]
    assert slippery.change(0.5).cut[0].coefficient == pytest.approx(FACES[name].friction / 2)


def test_faces_without_friction_cannot_grip_less(monkeypatch):
    monkeypatch.setattr(suspects_module, "_of_cuts", lambda *_: iter(()))
    cut = {"path_mm": [[-HALF, 0], [HALF, 0]], "friction": 0.0}
    assert "slippery faces" not in found(ROD | {"cut": [cut]})


@pytest.mark.parametrize(("key", "value"), [("head_mm", 40.0), ("pressure_kpa", 3.0)])
def test_a_taller_head_presses_harder_by_that_share(key, value, monkeypatch):
    monkeypatch.setattr(suspects_module, "_of_cuts", lambda *_: iter(()))
    changed = found(ROD | {"resin": {key: value}})["head"].change(0.5)
    assert getattr(changed.resin, key) == pytest.approx(1.5 * value)


def test_without_resin_no_head_is_suspected(monkeypatch):
    monkeypatch.setattr(suspects_module, "_of_cuts", lambda *_: iter(()))
    assert "head" not in found({key: value for key, value in ROD.items() if key != "resin"})


def gap_at(mold: squeeze.Mold, s_mm: float, length_mm: float = 2 * HALF) -> float:
    gap = np.atleast_1d(mold.cut[0].gap_mm)
    return float(np.interp(s_mm / length_mm, np.linspace(0, 1, len(gap)), gap))


@pytest.mark.parametrize("own", [0.0, 0.1])
def test_a_cut_out_of_true_is_open_at_the_casting_and_shut_ten_mm_away(own):
    cut = ROD["cut"][0] | {"gap_mm": own}
    hollow = found(ROD | {"cut": [cut]}, "rod")["gap"].change(0.3)
    for mouth, away in ((HALF - RADIUS, -1), (HALF + RADIUS, 1)):
        assert gap_at(hollow, mouth) == pytest.approx(own + 0.3, abs=0.01)
        assert gap_at(hollow, mouth + 5 * away) == pytest.approx(own + 0.15, abs=0.01)
        assert gap_at(hollow, mouth + 10.5 * away) == pytest.approx(own, abs=1e-9)


def test_a_bow_adds_to_that_of_the_cut():
    bowed = found(ROD | {"cut": [ROD["cut"][0] | {"bow_mm": 0.1}]})["bow"]
    assert bowed.change(0.2).cut[0].bow_mm == pytest.approx(0.3)


def test_dirt_lies_on_the_half_of_a_land_away_from_the_casting(of_the_rod):
    cut = of_the_rod["film"].change(0.2).cut[0]
    assert cut.film_mm == pytest.approx(0.2)
    low, high = cut.film_at_mm
    wall = HALF - RADIUS
    sides = [(0.0, wall / 2), (2 * HALF - wall / 2, 2 * HALF)]
    assert any((low, high) == pytest.approx(side, abs=0.05) for side in sides)


TWO = [
    {"name": name, "shape": "round", "diameter_mm": 6, "centre_mm": [x, 0]}
    for name, x in (("left", -14), ("right", 14))
]


@pytest.mark.parametrize(
    ("name", "x", "halves"),
    [("left", -14.0, [(0.0, 6.5), (30.0, 41.0)]), ("right", 14.0, [(53.5, 60.0), (19.0, 30.0)])],
)
def test_only_lands_at_the_casting_that_flashed_are_suspected(name, x, halves):
    by_kind = found(ROD | {"cavity": TWO}, name)
    hollow = by_kind["gap"].change(0.3)
    for mouth in (HALF + x - 3, HALF + x + 3):
        assert gap_at(hollow, mouth) == pytest.approx(0.3, abs=0.01)
    assert gap_at(hollow, HALF - x) == pytest.approx(0.0, abs=1e-9)
    span = by_kind["film"].change(0.2).cut[0].film_at_mm
    assert any(span == pytest.approx(half, abs=0.05) for half in halves)


def test_a_shift_opens_the_flanks_that_lean_one_way():
    path = [[-HALF, 0], [-20, 0], [-15, 5], [15, 5], [20, 0], [HALF, 0]]
    shifted = found(ROD | {"cut": [{"path_mm": path, "gap_mm": 0.05}]})["shift"].change(0.2)
    steps = np.hypot(*np.diff(np.array(path, float), axis=0).T)
    ends = np.concatenate([[0.0], np.cumsum(steps)])
    middles = 0.5 * (ends[1:] + ends[:-1])
    gaps = [gap_at(shifted, float(s), float(ends[-1])) for s in middles]
    assert gaps == pytest.approx([0.05, 0.05 + 0.2 * np.sqrt(0.5), 0.05, 0.05, 0.05], abs=1e-6)


def test_a_straight_cut_cannot_stand_open_by_a_shift(of_the_rod):
    assert "shift" not in of_the_rod


def explained(monkeypatch, flash_mm: float, slope: float = 0.5):
    """Explain flash that grows in proportion to what is off."""
    monkeypatch.setattr(why_module, "_flash", lambda off, *_: slope * off)
    made = Suspect("gap", 0.1, 1.0, lambda off: off, lambda off: f"Off by {off:.4f}", "Look.")
    return _explanation(made, flash_mm, "", 0.0)


def test_a_cause_is_off_by_what_gives_the_flash(monkeypatch):
    found = explained(monkeypatch, 0.2)
    assert found.off == pytest.approx(0.4, rel=0.05)
    assert found.off >= 0.4
    assert found.flash_mm == pytest.approx(0.5 * found.off)
    assert found.say == f"Off by {found.off:.4f} would do it."


def test_a_cause_that_leaves_too_little_even_at_its_most_does_not_explain_it(monkeypatch):
    found = explained(monkeypatch, 0.6)
    assert found.off is None
    assert found.flash_mm == pytest.approx(0.5)
    assert found.say == f"Off by 1.0000 would leave only {length(0.5)}."


def test_a_cause_that_leaves_next_to_nothing_leaves_no_flash(monkeypatch):
    assert "would leave no flash" in explained(monkeypatch, 0.6, slope=1e-6).say


def test_a_hairline_is_flash_and_is_told(monkeypatch):
    found = explained(monkeypatch, 0.6, slope=HAIRLINE_MM)
    assert found.say.endswith(f"would leave only {length(HAIRLINE_MM)}.")


def test_just_enough_at_its_most_explains_the_flash(monkeypatch):
    assert explained(monkeypatch, 0.5).off == pytest.approx(1.0)
