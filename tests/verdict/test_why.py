"""What made a casting flash: causes that are put in are found again."""

from __future__ import annotations

import re
import sys
from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import BadInput
from squeeze.mold.progress import silent
from squeeze.page.answers.causes import flashed
from squeeze.show.text.why import why_data
from squeeze.verdict.why import Explanation, Why, thickness_of, why

why_module = sys.modules["squeeze.verdict.why"]

ROD = {
    "length_mm": 100,
    "rubber": {"shore_a": 30},
    "block": {"shape": "square", "width_mm": 50, "bevel_mm": 10},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 12}],
    "cut": [{"name": "across", "path_mm": [[-25, 0], [25, 0]]}],
    "band": [{"tension_n_per_mm": 0.1}],
    "resin": {"head_mm": 40},
}


def test_words_for_thickness():
    assert thickness_of("fine line") < thickness_of("can feel it") < thickness_of("thick as card")
    with pytest.raises(BadInput, match="fine line"):
        thickness_of("quite thick")


def test_an_unknown_casting_is_refused():
    with pytest.raises(BadInput, match='no cavity is called "cup"'):
        why(squeeze.mold_of(ROD), 0.2, "cup")


def test_a_likely_cause_is_off_by_less_than_is_usual():
    made = [Explanation("gap", off, 0.1, "", "", 0.2) for off in (0.05, 0.15, 0.5, None)]
    assert [each.word for each in made] == ["likely", "possible", "unlikely", "does not explain it"]


@pytest.mark.slow
def test_a_gap_that_explains_the_flash_leaves_that_flash():
    found = why(squeeze.mold_of(ROD), 0.1, "rod")
    assert found.computed_mm < 0.1
    gap = next(each for each in found.found if each.kind == "gap")
    assert gap.off is not None
    assert gap.flash_mm == pytest.approx(0.1, abs=0.05)
    ranks = [each.times_usual for each in found.found]
    assert ranks == sorted(ranks)
    assert all(each.test for each in found.found)


@pytest.fixture
def on_one_mesh(monkeypatch):
    """Close the mold as the file has it on one coarse mesh; a slow test has the fine ones."""

    def coarse(mold, **_):
        closing = squeeze.Block(mold, 0.5).close(deformation="auto", check=False)
        return SimpleNamespace(closing=closing)

    monkeypatch.setattr(why_module, "refined", coarse)


@pytest.mark.usefixtures("on_one_mesh")
def test_flash_that_the_mold_has_anyway_needs_no_cause():
    wide = ROD | {
        "block": {"shape": "rectangle", "width_mm": 90, "height_mm": 50},
        "cavity": [{"name": "egg", "shape": "oval", "width_mm": 44, "height_mm": 30}],
        "cut": [{"path_mm": [[-45, 0], [45, 0]]}],
        "band": [{"tension_n_per_mm": 0.3}],
    }
    found = why(squeeze.mold_of(wide), 0.05, "egg")
    assert found.found == ()
    assert "already" in found.say
    assert found.do in found.say


def flash_of_close(data):
    """Return the flash that `squeeze close` gives [mm]."""
    (casting,) = squeeze.judge(squeeze.close(squeeze.mold_of(data), check=False)).flash.castings
    return casting.thickness_mm


@pytest.mark.slow
def test_the_flash_of_the_file_is_that_of_close_and_the_rest_is_what_comes_on_top():
    """Beside a film an even mesh had 0.44 mm, and `squeeze close` 0.37 mm."""
    film = {"path_mm": [[-25, 0], [25, 0]], "film_mm": 0.2, "film_at_mm": [8, 15]}
    filmed = ROD | {"cut": [film], "band": [{"tension_n_per_mm": 0.05}]}
    own = flash_of_close(filmed)
    found = why(squeeze.mold_of(filmed), own + 0.002, "rod")
    assert found.computed_mm == own
    weaker = next(each for each in found.found if each.kind == "slack bands")
    assert 0 < weaker.off < 0.2
    assert own < weaker.flash_mm < own + 0.02


@pytest.mark.slow
def test_a_mold_that_comes_apart_is_mended_first():
    lifted = ROD | {"band": [{"tension_n_per_mm": 0.001}], "resin": {"pressure_kpa": 20}}
    found = why(squeeze.mold_of(lifted), 0.2)
    assert found.found == ()
    assert found.say.startswith("Mend the mold first. Comes apart")
    assert "inf" not in found.say


def test_what_the_mold_leaves_itself_is_told_before_what_may_be_off():
    found = Why(
        0.2,
        0.17,
        "egg",
        (Explanation("film", 0.05, 0.1, "Glue would do it.", "Look.", 0.2),),
        "Flash: heavy.",
        "Bevel the corners.",
    )
    assert found.say.startswith("The mold itself leaves 0.17 mm of that on 'egg', with everything")
    assert (
        "Bevel the corners. For the rest, likeliest on 'egg': glue would do it. Look." in found.say
    )


def test_thickness_is_read_in_inches():
    assert thickness_of("0.01", inches=True) == pytest.approx(0.254)
    assert thickness_of("1/64", inches=True) == pytest.approx(25.4 / 64)
    with pytest.raises(BadInput, match="inches over 0"):
        thickness_of("5", inches=True)


@pytest.mark.usefixtures("on_one_mesh")
def test_the_page_reads_and_tells_inches():
    """The egg leaves 0.17 mm by itself, so 1/1000 in needs no cause; the sentence is in inches."""
    flat = ROD | {
        "block": {"shape": "rectangle", "width_mm": 90, "height_mm": 50},
        "cavity": [{"name": "egg", "shape": "oval", "width_mm": 44, "height_mm": 30}],
        "cut": [{"path_mm": [[-45, 0], [45, 0]]}],
        "band": [{"tension_n_per_mm": 0.3}],
    }
    asked = {"mold": flat, "flash": "1/1000", "at": "egg"}
    said = flashed(asked | {"inches": True}, silent)
    assert said["flash_mm"] == pytest.approx(0.0254)
    assert " in " in said["say"]
    assert not re.search(r"\d mm\b", said["say"])


def test_what_is_usual_has_a_unit():
    words = {"head": "30 %", "bow": "0.20 mm"}
    for kind, word in words.items():
        usual = 0.3 if kind == "head" else 0.2
        assert Explanation(kind, 0.1, usual, "", "", 0.2).say_usual() == word
    assert Explanation("bow", 0.1, 0.2, "", "", 0.2).say_usual(inches=True) == "0.008 in"
    made = Why(0.2, 0.0, "", (Explanation("bow", 0.1, 0.2, "Hollow.", "Look.", 0.2),))
    assert why_data(made)["explanations"][0]["unit"] == "mm"


@pytest.mark.parametrize(
    ("off", "word"),
    [(0.299, "likely"), (0.3, "possible"), (0.599, "possible"), (0.6, "unlikely"),
     (None, "does not explain it")],
)  # fmt: skip
def test_how_plausible_a_cause_is_goes_by_times_the_usual(off, word):
    found = Explanation("head", off, 0.3, "", "", 0.2)
    assert found.word == word
    assert found.times_usual == (np.inf if off is None else pytest.approx(off / 0.3))
    assert Explanation("head", off, 0.99, "", "", 0.2).say_usual() == "99 %"
