"""Films in cuts: an overlap of the unloaded faces, and how thick one may be."""

from __future__ import annotations

import numpy as np
import pytest

import squeeze
from squeeze.mold import BadInput, section_of
from squeeze.solve.contact.rows import film_at, gap_at
from squeeze.verdict import film as film_module
from squeeze.verdict.film import MOST_MM, STEPS, film_limit_mm

TWO = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 10},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 12}],
    "cut": [{"name": "across", "path_mm": [[-30, 0], [30, 0]]}],
    "band": [{"tension_n_per_mm": 0.3}],
}


def filmed(**film):
    return squeeze.mold_of(TWO | {"cut": [TWO["cut"][0] | film]})


def test_a_film_is_a_negative_gap():
    (cut,) = section_of(filmed(film_mm=0.2, gap_mm=0.05)).cuts
    s = np.array([0.0, 10.0, 60.0])
    np.testing.assert_allclose(gap_at(cut, s), 0.05 - 0.2)


def test_a_list_is_spread_along_the_path_or_the_stretch():
    (cut,) = section_of(filmed(film_mm=[0.0, 0.4])).cuts
    np.testing.assert_allclose(film_at(cut, np.array([0.0, 15.0, 30.0, 60.0])), [0, 0.1, 0.2, 0.4])
    (cut,) = section_of(filmed(film_mm=0.2, film_at_mm=[10, 20])).cuts
    np.testing.assert_allclose(film_at(cut, np.array([9.0, 10.0, 15.0, 21.0])), [0, 0, 0.2, 0])


def test_without_bands_a_film_that_fills_a_cut_evenly_presses_nothing():
    """Halves that are held by nothing else just stand apart by the film."""
    pressed = filmed(film_mm=0.2)
    plain = squeeze.Block(filmed()).close()
    there = squeeze.Block(pressed).close()
    for a, b in zip(plain.lands, there.lands, strict=True):
        np.testing.assert_allclose(a.pressure_kpa, b.pressure_kpa, rtol=1e-6, atol=1e-6)
    moved = there.lands[0].faces_mm[:, 0, 1] - there.lands[0].faces_mm[:, 1, 1]
    before = plain.lands[0].faces_mm[:, 0, 1] - plain.lands[0].faces_mm[:, 1, 1]
    np.testing.assert_allclose(np.abs(moved - before), 0.2, rtol=1e-4)


def test_a_film_on_one_land_opens_the_other_and_is_named():
    cut = TWO["cut"][0] | {"film_mm": 1.5, "film_at_mm": [2, 22]}
    mold = squeeze.mold_of(TWO | {"cut": [cut], "band": [{"tension_n_per_mm": 0.03}]})
    closing = squeeze.Block(mold).close()
    assert closing.lands[1].closed_share < 1
    verdict = squeeze.judge(closing, mold=mold)
    assert not verdict.head.good
    assert verdict.head.causes[0].kind == "film"
    assert "A film of" not in squeeze.judge(squeeze.Block(filmed()).close(), mold=filmed()).say


def test_the_limit_lies_between_what_seals_and_what_leaks():
    mold = filmed(film_mm=0.3, film_at_mm=[2, 22])
    section = section_of(mold)
    loads = squeeze.Block(mold).close(check=False).loads
    limit = film_limit_mm(section, loads)
    assert limit is not None
    assert limit > 0
    assert film_limit_mm(section_of(filmed()), loads) is None


@pytest.mark.parametrize(
    ("film", "said"),
    [
        ({"film_at_mm": [0, 10]}, "without film_mm"),
        ({"film_mm": 0.1, "film_at_mm": [10, 0]}, "first where the film begins"),
        ({"film_mm": -0.1}, "film_mm"),
        ({"faces": "clean", "friction": 0.3}, "the number or the word"),
        ({"faces": "greasy"}, "faces"),
    ],
)
def test_faults_are_told(film, said):
    with pytest.raises(BadInput, match=said):
        filmed(**film)


def test_faces_in_words_have_a_friction_and_a_range():
    (cut,) = section_of(filmed(faces="dusted")).cuts
    assert (cut.friction, cut.friction_range) == (0.3, (0.2, 0.4))
    block = squeeze.Block(filmed(faces="released"))
    assert squeeze.uncertainty(block).friction == (("across", 0.0, 0.2),)


@pytest.mark.parametrize("limit_mm", [0.05, 0.3, 1.7])
@pytest.mark.parametrize("film_mm", [0.1, [0.1, 0.4]])
def test_the_limit_is_found_by_halving_where_a_rule_says_what_seals(monkeypatch, limit_mm, film_mm):
    """It is that of the thickest film, and errs to the side that seals."""
    section, thickest = section_of(filmed(film_mm=film_mm)), float(np.max(film_mm))
    monkeypatch.setattr(film_module, "_seals", lambda _, __, times: times * thickest <= limit_mm)
    found = film_limit_mm(section, None)
    assert limit_mm - MOST_MM / 2**STEPS <= found <= limit_mm


@pytest.mark.parametrize(("seals", "limit"), [(True, MOST_MM), (False, None)])
def test_a_section_that_always_seals_or_leaks_has_no_limit_to_find(monkeypatch, seals, limit):
    monkeypatch.setattr(film_module, "_seals", lambda *_: seals)
    assert film_limit_mm(section_of(filmed(film_mm=0.2)), None) == limit
    assert film_limit_mm(section_of(filmed()), None) is None
