"""Each cause that the head names is the reason: without it, and with all else kept, all is well."""

from __future__ import annotations

import re
from functools import cache

import pytest

import squeeze
from squeeze.verdict import judge
from squeeze.verdict.grade import APART, FLASH, GOOD, LEAKS

ROD = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "square", "width_mm": 100, "bevel_mm": 20},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 20}],
    "cut": [{"name": "across", "path_mm": [[-50, 0], [50, 0]]}],
    "band": [{"tension_n_per_mm": 0.1}],
    "resin": {"head_mm": 50},
}
TWINS = [
    {"name": name, "shape": "round", "diameter_mm": 12, "centre_mm": [x, 0]}
    for name, x in (("left", -15), ("right", 15))
]
HIGH = [each | {"diameter_mm": 10, "centre_mm": [each["centre_mm"][0], 30]} for each in TWINS]
EGG = {
    "block": {"shape": "rectangle", "width_mm": 90, "height_mm": 50},
    "cavity": [{"name": "egg", "shape": "oval", "width_mm": 44, "height_mm": 30}],
}
LENS = {
    "block": {"shape": "round", "diameter_mm": 110},
    "cut": [{"name": "top", "path_mm": [[0, 0], [0, 60]]}],
}
ROUND = {"shape": "round", "diameter_mm": 100}


def cut(**more):
    return {"cut": [ROD["cut"][0] | more]}


def cradle(apart_mm):
    full = {"covers": "all", "back": "round", "thickness_mm": 12, "material": "plywood"}
    return {"block": ROUND, "cradle": [full | {"pieces": 2, "apart_mm": apart_mm}]}


SMALL = {
    "block": {"shape": "square", "width_mm": 40, "bevel_mm": 8},
    "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 10}],
}
DRIPS, FLOODS = {"pressure_kpa": 0.2}, {"pressure_kpa": 12}

CASES = {
    "no pull": (APART, {"band": []}, {"band": ROD["band"]}),
    "loose band": (
        APART,
        SMALL | {"band": [{"stock": "33", "count": 4}]},
        {"band": [{"width_mm": 3, "thickness_mm": 0.8, "flat_length_mm": 34, "count": 9}]},
    ),
    "film": (
        FLASH,
        cut(film_mm=0.8, film_at_mm=[0, 15]) | {"cavity": TWINS},
        cut(),
    ),
    "gap": (FLASH, cut(gap_mm=[0, 0, 0, 0, 0.6, 0.6, 0, 0, 0, 0]), cut()),
    "weak": (APART, {"resin": FLOODS}, {"resin": DRIPS}),
    "starved": (LEAKS, cradle(0), cradle(4)),
    "flat": (
        LEAKS,
        cut(path_mm=[[-50, 30], [50, 30]])
        | {"cavity": HIGH, "block": {"shape": "square", "width_mm": 100, "bevel_mm": 3}},
        {"block": ROUND},
    ),
    "corners": (FLASH, EGG, {"block": {"shape": "round", "diameter_mm": 64}}),
    "shape": (
        FLASH,
        LENS | {"cavity": [{"name": "lens", "shape": "oval", "width_mm": 80, "height_mm": 18}]},
        {"cavity": [{"name": "lens", "shape": "round", "diameter_mm": 30}]},
    ),
}
"""By cause: the grade, the mold that has it, and what takes the cause away."""


@cache
def closed(text, without=False):
    _, trouble, cure = CASES[text]
    return answer(ROD | trouble | (cure if without else {}))


def answer(data):
    mold = squeeze.mold_of(data)
    closing = squeeze.Block(mold, 0.6).close(check=False)
    return closing, judge(closing, mold=mold).head


@pytest.mark.parametrize("kind", CASES)
def test_the_cause_is_named_first_and_is_the_reason(kind):
    _, head = closed(kind)
    assert head.grade == CASES[kind][0]
    assert head.causes[0].kind == kind
    assert head.do == head.causes[0].do
    first = head.causes[0].why
    assert head.say.startswith(f"{head.grade}: {first[0].lower()}{first[1:]}")
    _, mended = closed(kind, without=True)
    assert mended.grade in GOOD
    assert mended.causes == ()


def test_the_pull_that_is_advised_against_the_resin_is_enough():
    """Bands outweigh the resin in the cavity, not the resin that runs in between the faces."""
    _, head = answer(ROD | {"resin": {"pressure_kpa": 8}})
    assert head.grade == APART
    assert "0.20 N/mm of the block's length" in head.say
    assert "0.16 N/mm in the cavities, and with 0.80 N/mm once it is between the faces" in head.say
    (times,) = re.findall(r"about ([\d.]+) times the pull", head.do)
    harder = [{"tension_n_per_mm": 0.1 * float(times)}]
    assert answer(ROD | {"resin": {"pressure_kpa": 8}, "band": harder})[1].grade in GOOD
    half = [{"tension_n_per_mm": 0.1 * float(times) / 2}]
    assert answer(ROD | {"resin": {"pressure_kpa": 8}, "band": half})[1].grade not in GOOD


@pytest.mark.parametrize("kind", CASES)
def test_resin_is_a_cause_only_where_it_opens_what_was_closed(kind):
    closing, head = closed(kind)
    assert ("resin" in [cause.kind for cause in head.causes]) == closing.pried


def test_bevels_that_are_there_are_not_advised_again():
    beveled = ROD | EGG | {"block": EGG["block"] | {"bevel_mm": 10}}
    _, head = answer(beveled)
    assert head.causes[0].kind == "corners"
    assert head.do.startswith("Round the corners, or bevel them more")


def test_pieces_of_a_cradle_that_the_bands_drag_round_are_not_pressed_on():
    """Bands that rub on round backs turn the pieces of a full cradle round the block."""
    rubbed = cradle(4) | {"band": [{"tension_n_per_mm": 0.2, "friction": 0.6}]}
    rubbed["cradle"] = [rubbed["cradle"][0] | {"friction": 0.0, "pieces": 3}]
    closing, head = answer(ROD | rubbed | {"resin": {"pressure_kpa": 0.1}})
    assert head.grade == APART
    assert "cradle piece" in head.say
    assert closing.loads.grips
    assert head.do.startswith("Let the bands slide on the cradle's backs")
