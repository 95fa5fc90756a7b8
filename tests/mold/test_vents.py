"""Vents: where they begin and come out, what they take, and what is wrong with a bad one."""

from __future__ import annotations

import math

import pytest

from squeeze.mold import BadInput, dump, mold_of, parse
from squeeze.mold.vents import vents_of
from squeeze.study.plan.sections import is_load

FILE = """
length_mm = 100
[rubber]
shore_a = 20
[block]
shape = "round"
diameter_mm = 100
[[cavity]]
name = "ring"
shape = "round"
diameter_mm = 40
"""


def file_with(*lines: str, more: str = "") -> str:
    return FILE + "\n".join(["[[vent]]", *lines]) + "\n" + more


def test_a_vent_rises_straight_up_to_the_outline():
    """From (12, 16) on the ring to the circle of 50 mm round the middle."""
    (vent,) = vents_of(parse(file_with("at_mm = [12, 16]", "along_mm = 30", "diameter_mm = 3")))
    assert (vent.name, vent.cavity, vent.at_mm) == ("vent 1", "ring", (12, 16, 30))
    high = math.sqrt(50**2 - 12**2)
    assert vent.end_mm == pytest.approx((12, high, 30), abs=0.01)
    assert vent.volume_mm3 == pytest.approx(math.pi * 1.5**2 * (high - 16), rel=1e-3)


def test_in_a_standing_block_a_vent_rises_along_it():
    more = "[resin]\nhead_mm = 50\nstanding = true\n"
    (vent,) = vents_of(parse(file_with("at_mm = [0, 0]", "along_mm = 60", more=more)))
    assert vent.end_mm == (0, 0, 100)
    assert vent.height_mm == 40


def test_a_vent_stays_in_the_file_and_changes_no_section():
    mold = parse(file_with('name = "left"', "at_mm = [-20, 0]", "height_mm = 60"))
    assert parse(dump(mold)) == mold
    assert is_load("vent.diameter_mm")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["at_mm = [0, 30]"], r"mold.toml:13: vent.vent 1.at_mm: \[0, 30\] given, which lies 10.0"
         " mm from the nearest cavity, 'ring'; a vent begins at a cavity"),
        (["at_mm = [0, 20]", "along_mm = 120"], "mold.toml:14: vent.vent 1.along_mm: 120 mm lies"
         " beyond the end of the block, which is 100 mm long"),
        (["at_mm = [0, 20]", "height_mm = 10"], "mold.toml:14: vent.vent 1.height_mm: 10 given;"
         " straight up the outside of the block is 30.0 mm away, so give that or more"),
        (["at_mm = [0, 20]", "diameter_mm = 0"], "mold.toml:14: vent.vent 1.diameter_mm: 0 mm is"
         " out of range; allowed is a number from 0.5 to 50 mm"),
        (["along_mm = 20"], "vent.vent 1.at_mm: is missing and must be given"),
        (["at_mm = [0, 20]", 'name = "a"', "[[vent]]", "at_mm = [0, 20]", 'name = "a"'],
         "mold.toml:17: vent.a.name: \"a\" is the name of vent number 1"),
    ],
)  # fmt: skip
def test_a_bad_vent_is_told_with_its_line(lines, said):
    with pytest.raises(BadInput, match=said):
        parse(file_with(*lines), "mold.toml")


def test_a_sprue_beyond_the_end_is_told():
    sprue = "[sprue]\ndiameter_mm = 6\nheight_mm = 30\nalong_mm = 101\n"
    with pytest.raises(BadInput, match=r"sprue\.along_mm: 101 mm lies beyond the end"):
        parse(FILE + sprue)


def test_a_vent_beside_the_models_in_a_row_is_told():
    row = FILE + "models = [{ at_mm = 20, length_mm = 20 }, { at_mm = 80, length_mm = 20 }]\n"
    with pytest.raises(BadInput, match=r"lies 20\.0 mm beside the nearest model of 'ring'"):
        parse(row + "[[vent]]\nat_mm = [0, 20]\n")
    (vent,) = vents_of(parse(row + "[[vent]]\nat_mm = [0, 20]\nalong_mm = 80\n"))
    assert vent.cavity == "ring"


def test_between_stations_a_vent_may_lie_off_by_as_much_as_they_stand_apart():
    def station(at: float, across: float) -> dict:
        return {"at_mm": at, "cavity": [{"name": "a", "shape": "round", "diameter_mm": across}]}

    tables = {
        "length_mm": 60,
        "rubber": {"shore_a": 20},
        "block": {"shape": "round", "diameter_mm": 80},
        "station": [station(25, 20), station(35, 30)],
    }
    (vent,) = vents_of(mold_of(tables | {"vent": [{"at_mm": [0, 20]}]}))
    assert vent.cavity == "a"
    with pytest.raises(BadInput, match=r"lies 13\.0 mm from the nearest cavity, 'a'"):
        vents_of(mold_of(tables | {"vent": [{"at_mm": [0, 28]}]}))
