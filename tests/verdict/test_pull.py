"""How much harder bands have to pull, and what is said of it: by hand counts on made-up figures."""

from __future__ import annotations

import math
import re
from types import SimpleNamespace

import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.bands import WORKING_STRETCH, strand_tension, stretch_of
from squeeze.mold.forces.loads import wrap_mm
from squeeze.verdict.cause import pull as pull_module
from squeeze.verdict.cause.pull import _stronger, weak_pull

ROUND = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 60},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [{"name": "across", "path_mm": [[-30, 0], [30, 0]]}],
    "band": [{"tension_n_per_mm": 0.2}],
    "resin": {"pressure_kpa": 5},
}
SIZE = {"width_mm": 6.0, "thickness_mm": 1.0, "flat_length_mm": 45.0}
"""Stretched to 94 / 45 = 2.1 times round a block of 60 mm."""


def closing_of(data, gap_mm: float = 0.0, pressure_kpa: float = 10.0):
    """Return a made-up closing: two lands 20 mm long of one cut."""
    section = section_of(squeeze.mold_of(data))
    land = SimpleNamespace(
        cut="across",
        length_mm=20.0,
        largest_gap_mm=gap_mm,
        pressure_kpa=SimpleNamespace(max=lambda: pressure_kpa),
    )
    loads = SimpleNamespace(
        cavity_mpa=0.005, tension_n_per_mm=0.2, is_pushed=False, enters_cuts=False
    )
    outcome = SimpleNamespace(has_answer=True)
    return SimpleNamespace(lands=(land, land), loads=loads, outcome=outcome, section=section)


def seal_of(barrier_kpa: float):
    return SimpleNamespace(needed_kpa=10.0, leaks=(SimpleNamespace(barrier_kpa=barrier_kpa),))


def times_told(text: str) -> float:
    return float(text.split("about ")[1].split(" times")[0])


@pytest.mark.parametrize("least", [0.0, 2.0, 4.0, 9.9])
def test_pressure_grows_with_the_pull_and_the_resin_takes_its_own_off(least):
    """The bands press least + 5 kPa before the resin's 5; they have to press 10 + 5."""
    said = _stronger(closing_of(ROUND), seal_of(least), squeeze.mold_of(ROUND))
    assert times_told(said) == pytest.approx(1.1 * max(15 / (least + 5), 1.1), abs=0.05)


def test_of_faces_apart_the_forces_count():
    """40 mm of faces at 10 kPa and a cavity of 20 mm at 5 kPa, against twice 0.2 N/mm."""
    apart = closing_of(ROUND, gap_mm=10.0)
    needed = (0.010 * 40 + 0.005 * 20) / (2 * 0.2)
    assert times_told(_stronger(apart, seal_of(0.0), None)) == pytest.approx(1.1 * needed, abs=0.05)


def bands(**more):
    return squeeze.mold_of(ROUND | {"band": [more]})


def test_bands_of_a_known_size_are_counted():
    mold = bands(**SIZE, count=3)
    said = _stronger(closing_of(ROUND), seal_of(2.0), mold)
    assert said == f"Put on about {math.ceil(3 * 1.1 * 15 / 7)} bands instead of 3."


def test_more_bands_than_lie_side_by_side_are_not_counted():
    """On 100 mm lie sixteen of 6 mm; 1.1 x 15 / 7 = 2.36 times six are fifteen, of seven 17."""
    closing, seal = closing_of(ROUND), seal_of(2.0)
    assert "about 15 bands" in _stronger(closing, seal, bands(**SIZE, count=6))
    said = _stronger(closing, seal, bands(**SIZE, count=7))
    assert said == (
        "Take stronger bands: about 2.4 times the pull is needed, and that many bands do not fit"
        " side by side."
    )


@pytest.mark.parametrize("count", [4, 40])
def test_bands_stretched_too_little_become_shorter_ones_in_a_number_that_pulls_as_hard(count):
    mold = bands(**SIZE | {"flat_length_mm": 80.0}, count=count)
    wrap = wrap_mm(section_of(mold))
    assert stretch_of(mold.band[0], wrap) < WORKING_STRETCH[0]
    said = _stronger(closing_of(ROUND), seal_of(2.0), mold)
    (flat,) = (float(each) for each in re.findall(r"([0-9.]+) mm long when flat", said))
    new, old = wrap / (2 * flat), wrap / (2 * 80.0)
    assert WORKING_STRETCH[0] <= new <= WORKING_STRETCH[1]
    assert f"They stretch to {new:.1f} times their length, band 1 only to {old:.2f} times." in said
    needed = math.ceil(count * 1.1 * 15 / 7 / (strand_tension(6.0, new) / strand_tension(6.0, old)))
    assert (f"and more of them, about {needed}:" in said) == (needed > count)
    assert ("more of them" in said) == (needed > count)


def test_a_tension_or_several_kinds_of_bands_are_told_in_times():
    several = squeeze.mold_of(ROUND | {"band": [SIZE | {"count": 2}, SIZE | {"count": 3}]})
    for mold in (None, bands(tension_n_per_mm=0.2), several):
        said = _stronger(closing_of(ROUND), seal_of(2.0), mold)
        assert said == "Pull harder: about 2.4 times the pull."


def causes(monkeypatch, clamp: float, lifts: float, *, faces: float = 0.0, leaks=(4.0,)):
    """Return the causes where bands press by `clamp` and the resin lifts by `lifts` [N/mm]."""
    monkeypatch.setattr(pull_module, "resin_lifts", lambda *_: lifts)
    monkeypatch.setattr(pull_module, "between_faces", lambda *_: faces)
    closing = closing_of(ROUND)
    closing.loads.tension_n_per_mm = clamp / 2
    seal = SimpleNamespace(
        needed_kpa=10.0, leaks=tuple(SimpleNamespace(barrier_kpa=each) for each in leaks)
    )
    lands = closing.lands if not faces else ()
    return [each.why for each in weak_pull(closing, seal, lands, None)]


def test_bands_weaker_than_the_resin_are_the_cause(monkeypatch):
    (why,) = causes(monkeypatch, 0.3, 0.4)
    assert "0.30 N/mm of the block's length, and the resin pushes them apart with 0.40 N/mm." in why
    (why,) = causes(monkeypatch, 0.7, 0.4)
    assert "0.70 N/mm" in why
    assert "the resin takes 0.40 N/mm of that, and too little is left on the faces" in why


def test_resin_between_the_faces_counts_where_no_land_is_named(monkeypatch):
    (why,) = causes(monkeypatch, 0.5, 0.1, faces=0.6)
    assert "with 0.10 N/mm in the cavities, and with 0.60 N/mm once it is between the faces" in why


def test_ample_force_that_still_leaks_softly_is_told_by_its_pressure(monkeypatch):
    (why,) = causes(monkeypatch, 4.0, 0.4, leaks=(4.0, 7.0))
    assert why == ("The bands pull too weakly: the faces press 7.0 kPa, and 10.0 kPa is needed.")


def test_ample_force_is_no_cause_of_faces_that_do_not_press_at_all(monkeypatch):
    assert causes(monkeypatch, 4.0, 0.4, leaks=(0.0,)) == []
    assert causes(monkeypatch, 0.8, 0.4, leaks=(0.0,)) == []
    assert len(causes(monkeypatch, 0.79, 0.4, leaks=(0.0,))) == 1
