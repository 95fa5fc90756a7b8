"""Floods of small voids and the remedies for caught air, by hand counts; nothing is meshed."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.verdict.air import remedy
from squeeze.verdict.air.flood import behind_necks, caught, open_parts
from squeeze.verdict.air.pockets import air_in, filling_of, pockets_at
from squeeze.verdict.air.remedy import FINER_DEG, TILTS_DEG, best_sprue, best_tilt
from squeeze.verdict.air.void import _middles, void_of


def picture(text: str) -> np.ndarray:
    """Return the characters of a picture, a row from below to above each, as (x, y, 1)."""
    rows = text.split()[::-1]
    return np.array([list(row) for row in rows]).T[:, :, None]


def flooded(text: str) -> str:
    """Flood a picture of void ``.``, outlets ``o`` and rubber; what keeps its air becomes ``a``."""
    cells = picture(text)
    void, outlets = cells != "#", cells == "o"
    height = np.broadcast_to(np.arange(cells.shape[1])[None, :, None], cells.shape).astype(float)
    held = caught(void, height, outlets, 1.0)
    found = np.where(held, "a", cells)[:, :, 0].T[::-1]
    return " ".join("".join(row) for row in found)


def test_an_arm_keeps_its_air_above_the_bend():
    """The arm on the right is closed above; one step over the bend counts as let out."""
    assert flooded("o#.. .#.. .#.. .#.. ....") == "o#aa .#aa .#aa .#.. ...."


def test_nothing_is_caught_below_an_open_ceiling():
    assert flooded("o... .... ....") == "o... .... ...."
    assert flooded(".o. ...") == ".o. ..."


def test_without_an_outlet_all_is_caught():
    assert flooded("... ...") == "aaa aaa"
    assert flooded("o##. ##.. ####") == "o##a ##aa ####"


def test_places_hang_together_over_corners():
    labels, count = open_parts(picture(".## #.# ###")[:, :, 0:1] == ".")
    assert count == 1
    assert labels.max() == 1
    _, apart = open_parts(picture(".#. ### .#.") == ".")
    assert apart == 4


def test_what_only_a_neck_joins_to_an_outlet_is_behind_it():
    """Two rooms five wide, and a passage three long and one wide between them."""
    whole, wall = "#.....#.#.....#".replace("#.#", "###"), "###############"
    passage = "#.............#"
    room = [wall, whole, whole, passage, whole, whole, wall]
    cells = np.array([list(row) for row in room])
    void = cells == "."
    outlets = np.zeros_like(void)
    outlets[3, 1] = True
    behind = behind_necks(void, outlets, 1)
    assert behind[1:6, 9:14].sum() >= 21  # all but the corners, into which no ball goes
    assert not behind[:, :7].any()
    assert not behind_necks(void, outlets, 0).any()
    outlets[3, 11] = True
    assert not behind_necks(void, outlets, 1).any()


class Tilted:
    """A void whose caught air, in places, is set for each tilt."""

    grid_mm, cell_mm3 = 1.0, 2.0

    def __init__(self, air, asked) -> None:
        self.air, self.asked = air, asked
        self.filled = None

    def height(self, up):
        self.asked.append(up)
        return up


@pytest.fixture
def tilt(monkeypatch):
    """Return a function that gives the best tilt where the air of each is set, and all tried."""

    def best(air):
        asked = []
        monkeypatch.setattr(remedy, "outlets_of", lambda *_: SimpleNamespace(flags="flags"))
        monkeypatch.setattr(remedy, "up_of", lambda about, end, standing: (about, end))
        monkeypatch.setattr(remedy, "caught", lambda filled, up, outlets, step: np.array(air(*up)))
        return best_tilt(None, lambda most: Tilted(air, asked), standing=False), asked

    return best


def test_the_tilt_with_the_least_air_is_found_to_5_degrees(tilt):
    found, asked = tilt(lambda about, end: abs(about - 20) + abs(end + 35))
    assert (found.about_length_deg, found.end_up_deg) == (20.0, -35.0)
    assert found.volume_mm3 == 0.0
    assert len(asked) <= 1 + len(TILTS_DEG) ** 2 + len(FINER_DEG) ** 2
    assert max(max(abs(a), abs(b)) for a, b in asked) == 45.0


def test_of_tilts_that_leave_the_same_the_least_is_taken(tilt):
    """Air of 100 places while level; 40 from 30 degrees on."""
    found, _ = tilt(lambda about, end: 40 if about >= 30 else 100)
    assert (found.about_length_deg, found.end_up_deg) == (30.0, 0.0)
    assert found.volume_mm3 == 80.0
    nearly, _ = tilt(lambda about, end: 40 - 0.001 * about if about >= 20 else 100)
    assert nearly.about_length_deg == 20.0  # they differ by less than a hundredth


def test_a_tilt_up_to_45_degrees_is_tried_and_none_beyond(tilt):
    found, asked = tilt(lambda about, end: 100 - about)
    assert found.about_length_deg == 45.0
    assert max(a for a, _ in asked) == 45.0


@pytest.mark.parametrize(("left", "is_told"), [(89, True), (90, False), (100, False)])
def test_a_tilt_is_told_that_leaves_less_than_nine_tenths(tilt, left, is_told):
    found, _ = tilt(lambda about, end: left if about else 100)
    assert (found is not None) is is_told


def test_where_nothing_is_caught_no_tilt_is_sought(tilt):
    found, asked = tilt(lambda about, end: 0)
    assert found is None
    assert asked == [(0.0, 0.0)]


def sprue(monkeypatch, air, high):
    """Return the best sprue where it leaves `air[place]` places of air; now it is `air[None]`."""
    asked = []

    def held(filled, height, places, step):
        asked.append(places)
        return np.array(air[places.at])

    class Places:
        def __init__(self, at=None) -> None:
            self.at = at

        def __or__(self, other):
            return Places(other.at if other.at is not None else self.at)

        def __and__(self, other):
            return Places()

    class Labels:
        def __getitem__(self, place):
            return [1]

        def __ne__(self, other):
            return Places()

        __hash__ = None

    monkeypatch.setattr(remedy, "caught", held)
    monkeypatch.setattr(remedy, "open_parts", lambda filled: (Labels(), 1))
    void = SimpleNamespace(
        height=lambda up: None,
        filled=None,
        grid_mm=1.0,
        cell_mm3=2.0,
        nearest=lambda at: Places(at),
    )
    outlets = SimpleNamespace(flags=Places(), sprues=Places(), vents=Places())
    return best_sprue(void, (0, 0, 1), outlets, high), asked


def test_a_sprue_goes_to_the_high_point_that_leaves_the_least_air(monkeypatch):
    found, asked = sprue(monkeypatch, {None: 100, "a": 80, "b": 30, "c": 50}, ["a", "b", "c"])
    assert (found.at_mm, found.volume_mm3) == ("b", 60.0)
    assert len(asked) == 4
    many = {None: 100} | dict.fromkeys("abcdef", 80) | {"g": 1}
    found, _ = sprue(monkeypatch, many, list("abcdefg"))
    assert found.at_mm == "a"  # six at most are looked at
    assert sprue(monkeypatch, {None: 100, "a": 90}, ["a"])[0] is None


# voids of molds

PLAIN = {
    "length_mm": 60,
    "rubber": {"shore_a": 20},
    "block": {"shape": "rectangle", "width_mm": 120, "height_mm": 100},
}
TUBE = [[-30, -20], [30, -20], [30, 18], [20, 18], [20, -10], [-20, -10], [-20, 20], [-30, 20]]


def test_the_places_of_a_box_fill_it_to_the_last():
    """Of 21 x 13 x 60 mm, however many places that takes."""
    box = {"shape": "rectangle", "width_mm": 21, "height_mm": 13, "round_mm": 0}
    mold = squeeze.mold_of(PLAIN | {"cavity": [box]})
    for most in (500, 4000):
        void = void_of(mold, most)
        assert void.filled.all()
        assert void.filled.sum() * void.cell_mm3 == pytest.approx(21 * 13 * 60, rel=0.02)


def test_places_stand_in_the_middles_of_equal_parts_and_one_at_least():
    assert _middles(0.0, 3.0, 1.0).tolist() == [0.5, 1.5, 2.5]
    assert _middles(2.0, 5.2, 1.0) == pytest.approx([2 + 1.6 / 3, 2 + 4.8 / 3, 2 + 8 / 3])
    assert _middles(1.0, 1.4, 1.0).tolist() == [1.2]


def test_a_closed_arm_keeps_its_air_as_it_lies_and_lets_it_out_tilted():
    """10 x 28 x 60 mm above the bend, to two and a half steps of the places' height.

    Tilted as the remedy says it keeps what that tells.
    """
    tube = squeeze.mold_of(PLAIN | {"cavity": [{"name": "tube", "points_mm": TUBE}]})
    filling = filling_of(tube)
    (level,), sprues = pockets_at(tube, filling)
    step = void_of(tube).grid_mm
    assert 10 * 60 * (28 - 2.5 * step) < level.volume_mm3 <= 10 * 60 * 28
    assert level.at_mm[0] == pytest.approx(25, abs=5)
    air = air_in(tube, filling)
    assert air.sprues_mm == sprues
    assert [each.volume_mm3 for each in air.pockets] == [level.volume_mm3]
    tilt = air.tilt
    tilted, _ = pockets_at(tube, filling, tilt.about_length_deg, tilt.end_up_deg)
    assert sum(each.volume_mm3 for each in tilted) == pytest.approx(tilt.volume_mm3)
    assert tilt.volume_mm3 < 0.9 * level.volume_mm3


def test_a_block_without_a_cavity_holds_no_air_in_any_tilt():
    plain = squeeze.mold_of(PLAIN)
    assert pockets_at(plain, filling_of(plain), 20.0, 0.0) == ((), ())
