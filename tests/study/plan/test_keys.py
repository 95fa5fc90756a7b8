"""Dotted keys: where they lead, and what is said when they lead nowhere."""

from __future__ import annotations

import pytest

from squeeze.study.plan.formula import StudyValueError
from squeeze.study.plan.keys import key_paths, key_value, with_key

DATA = {
    "length_mm": 140.0,
    "rubber": {"shore_a": 20.0},
    "block": {"shape": "square", "width_mm": 120.0},
    "cut": [
        {"name": "top", "path_mm": [[-60, 40], [60, 40]]},
        {"name": "top.left", "path_mm": [[-60, 0], [0, 0]], "friction": 0.4},
    ],
    "band": [{"stock": "64", "count": 4}],
}


@pytest.mark.parametrize(
    ("key", "found"),
    [
        ("length_mm", [("length_mm",)]),
        ("block.bevel_mm", [("block", "bevel_mm")]),
        ("resin.head_mm", [("resin", "head_mm")]),
        ("band", [("band",)]),
        ("band.count", [("band", 0, "count")]),
        ("band.1.count", [("band", 0, "count")]),
        ("cut.top.friction", [("cut", 0, "friction")]),
        ("cut.top.left.friction", [("cut", 1, "friction")]),
        ("cut.2.gap_mm", [("cut", 1, "gap_mm")]),
        ("cut.*.friction", [("cut", 0, "friction"), ("cut", 1, "friction")]),
    ],
)
def test_places(key, found):
    assert key_paths(key, DATA) == found


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("blok.width_mm", 'did you mean "block"'),
        ("block.bevel", 'did you mean "bevel_mm"'),
        ("block.bevel_mm.x", "not a key"),
        ("length_mm.x", "no keys of its own"),
        ("cut.friction", "there are 2"),
        ("cut.topp.friction", 'did you mean "top"'),
        ("cut.3.friction", 'there is no cut "3"'),
        ("cut.top.fricton", 'did you mean "friction"'),
        ("push.width_mm", "the mold has no push"),
    ],
)
def test_what_leads_nowhere_is_said(key, said):
    with pytest.raises(StudyValueError, match=said):
        key_paths(key, DATA)


def test_put_leaves_the_rest_alone():
    made = with_key(DATA, "cut.*.friction", 0.1)
    assert [cut["friction"] for cut in made["cut"]] == [0.1, 0.1]
    assert DATA["cut"][1]["friction"] == 0.4
    assert made["block"] is DATA["block"]
    assert with_key(DATA, "resin.head_mm", 50)["resin"] == {"head_mm": 50}


def test_values_and_defaults():
    assert key_value("block.width_mm", DATA) == 120.0
    assert key_value("block.bevel_mm", DATA) == 0.0
    assert key_value("cut.top.friction", DATA) == 0.0
    with pytest.raises(StudyValueError, match=r"says nothing of resin\.head_mm"):
        key_value("resin.head_mm", DATA)
