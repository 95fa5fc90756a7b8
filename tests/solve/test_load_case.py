"""What a call says instead of the mold: loads, friction and gaps, and what is refused."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.forces.loads import Loads
from squeeze.solve import results
from squeeze.solve.load_case import (
    MOST_GAPS,
    case_loads,
    case_section,
    check_fineness,
    check_numbers,
    checked_mold,
    checked_section,
)

MOLD = squeeze.mold_of(
    {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": "square", "width_mm": 100},
        "cut": [
            {"name": "a", "path_mm": [[-50, 0], [50, 0]], "friction": 0.1, "gap_mm": 0.2},
            {"name": "b", "path_mm": [[0, 0], [0, 50]], "friction": 0.3},
        ],
        "band": [{"tension_n_per_mm": 0.5}],
        "cradle": [
            {"name": "board", "covers": "bottom", "back": "flat", "thickness_mm": 18,
             "material": "plywood", "friction": 0.4}
        ],
    }
)  # fmt: skip
SECTION = section_of(MOLD)


def test_single_figures_take_the_place_of_those_of_the_mold():
    own = Loads(tension_n_per_mm=0.5, cavity_mpa=0.001)
    assert case_loads(None, own, None, None) is own
    given = Loads(0.9)
    assert case_loads(given, own, None, None) is given
    pulled = case_loads(None, own, 0.7, None)
    assert (pulled.tension_n_per_mm, pulled.cavity_mpa) == (0.7, 0.001)
    wet = case_loads(None, own, None, 3.0)
    assert (wet.tension_n_per_mm, wet.cavity_mpa) == (0.5, 0.003)
    assert case_loads(None, own, 0.0, 0.0).tension_n_per_mm == 0.0
    with pytest.raises(squeeze.BadInput, match=r"allowed are squeeze\.Loads"):
        case_loads(0.6, own, None, None)


def frictions(friction=None, gap=None):
    found = case_section(SECTION, friction, gap)
    return (
        [cut.friction for cut in found.cuts],
        [cut.gap_mm for cut in found.cuts],
        found.cradles[0].friction,
    )


def test_one_value_is_for_all_cuts_and_a_name_for_one():
    """Seats of a cradle are meant by name alone."""
    own = [0.1, 0.3], [(0.2,), (0.0,)], 0.4
    assert frictions() == own
    assert frictions(0.6) == ([0.6, 0.6], own[1], 0.4)
    assert frictions(0) == ([0.0, 0.0], own[1], 0.4)
    assert frictions({"b": 0.7}) == ([0.1, 0.7], own[1], 0.4)
    assert frictions({"board": 0.0}) == ([0.1, 0.3], own[1], 0.0)
    assert frictions(None, 0.05)[1] == [(0.05,), (0.05,)]
    assert frictions(None, {"a": [0.0, 0.1]})[1] == [(0.0, 0.1), (0.0,)]


@pytest.mark.parametrize(
    ("friction", "gap", "said"),
    [
        (3.01, None, "friction"), (-0.1, None, "friction"), ({"a": [0.1, 0.2]}, None, "friction"),
        (None, -0.1, "gap_mm"), (None, [0.1, -0.1], "gap_mm"), (None, [], "gap_mm"),
        ({"c": 0.1}, None, 'no cut or cradle piece "c"; there are "a", "b" and "board"'),
        (None, {"boord": 0.1}, 'did you mean "board"'), (None, [[0.1]], "gap_mm"),
        (True, None, "friction"), ("0.1", None, "friction"), (float("nan"), None, "friction"),
    ],
)  # fmt: skip
def test_values_out_of_bounds_and_unknown_names_are_refused(friction, gap, said):
    with pytest.raises(squeeze.BadInput, match=said):
        case_section(SECTION, friction, gap)
    assert case_section(SECTION, 3.0, 0.0)


def test_numbers_have_bounds_and_come_alone_unless_several_are_allowed():
    check_numbers("x", None)
    check_numbers("x", 0.0)
    check_numbers("x", np.float32(2.0), least=2.0, most=2.0)
    check_numbers("x", [0.0] * MOST_GAPS, several=True)
    for given in ([0.0] * (MOST_GAPS + 1), [], [[0.0]]):
        with pytest.raises(squeeze.BadInput, match="or several of them in a list"):
            check_numbers("x", given, several=True)
    for given in (-1e-9, np.inf, [1.0, 2.0], "1", True, {}):
        with pytest.raises(squeeze.BadInput, match=r"a finite number from 0 up \[mm\]"):
            check_numbers("x", given, "mm")
    with pytest.raises(squeeze.BadInput, match=r"a finite number from 1 to 4$"):
        check_numbers("x", 4.1, least=1, most=4)


def test_a_fineness_is_a_number_from_a_quarter_to_eight():
    assert [check_fineness(each) for each in (0.25, 8, 1)] == [0.25, 8.0, 1.0]
    for given in (0.249, 8.01, None, "fine", [1.0, 2.0]):
        with pytest.raises(squeeze.BadInput, match=r"from 0\.25 to 8"):
            check_fineness(given)


def test_a_mold_or_its_section_is_taken_and_a_path_is_told_how():
    assert checked_mold(MOLD) is MOLD
    assert checked_section(SECTION) is SECTION
    assert checked_section(MOLD) == SECTION
    with pytest.raises(squeeze.BadInput, match=r"squeeze\.load\('egg\.toml'\)"):
        checked_mold("egg.toml")
    with pytest.raises(squeeze.BadInput, match=r"squeeze\.load\(path\)"):
        checked_section(3)


def test_the_largest_strain_is_that_of_the_rubber_at_its_triangle():
    """Of two triangles the second belongs to a cradle."""
    points = np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 3.0], [9.0, 9.0]])
    mesh = SimpleNamespace(points=points, triangles=np.array([[0, 1, 2], [1, 3, 2]]))
    field = SimpleNamespace(strain_pct=np.array([4.0, 7.0]))
    rubber = np.array([True, False])
    assert results.largest_strain(mesh, field, rubber) == (4.0, (1.0, 1.0))
    assert results.largest_strain(mesh, field, ~rubber)[0] == 7.0
