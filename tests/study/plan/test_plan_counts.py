"""Axes, formulas, keys and cases of a plan, each by a count by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from squeeze import BadInput
from squeeze.study import cases
from squeeze.study.plan.axes import (
    MOST_POINTS,
    Axis,
    axis_of,
    combination_count,
    combinations,
    numbers_of,
    paired_axis,
    paired_place,
    sample_axis,
)
from squeeze.study.plan.formula import LONGEST, StudyValueError, formula
from squeeze.study.plan.keys import key_paths, key_value
from squeeze.study.plan.sections import is_load, section_of_case
from squeeze.study.plan.study import evaluated, lookup_value, number_of
from squeeze.study.plan.tables import FigureTable, StudyTable
from squeeze.study.records import Case, case_name

HEAD = 'mold = "small.toml"\n'

# ranges


def test_a_range_reaches_its_end_in_spite_of_rounding():
    """3 x 0.1 is a little over 0.3, and (2.2 - 1) / 0.3 a little under 4."""
    assert numbers_of({"from": 0.0, "to": 0.3, "step": 0.1})[-1] == 0.3
    assert numbers_of({"from": 1, "to": 2.2, "step": 0.3}) == [1, 1.3, 1.6, 1.9, 2.2]
    assert numbers_of({"from": 0, "to": 1, "step": 0.3}) == [0, 0.3, 0.6, 0.9]
    assert numbers_of({"from": -2, "to": 1}) == [-2, -1, 0, 1]
    assert all(isinstance(n, int) for n in numbers_of({"from": 0, "to": 8, "step": 4}))


def test_two_numbers_are_a_range_and_a_million_the_longest():
    assert numbers_of({"from": 3, "to": 4, "count": 2}) == [3.0, 4.0]
    assert len(numbers_of({"from": 3, "to": 4, "count": 1_000_000})) == 1_000_000
    assert len(numbers_of({"from": 0, "to": 999_999})) == MOST_POINTS == 1_000_000
    with pytest.raises(StudyValueError, match="1000001 numbers; allowed are 1000000"):
        numbers_of({"from": 0, "to": 1_000_000})
    with pytest.raises(StudyValueError, match="from 2 to 1000000"):
        numbers_of({"from": 0, "to": 1, "count": 1_000_001})


@pytest.mark.parametrize(
    "given",
    [
        {"from": 1, "to": 1},
        {"from": True, "to": 3},
        {"from": 0, "to": 3, "count": True},
        {"from": 0, "to": 3, "count": 2.0},
        {"from": 0, "to": 3, "step": -1},
        {"from": 0, "to": 3.5},
        {"from": 0, "to": float("nan"), "step": 1},
    ],
)
def test_what_is_no_range(given):
    with pytest.raises(StudyValueError):
        numbers_of(given)


def test_an_axis_of_one_key_has_a_point_for_each_value():
    axis = axis_of("block.shape", ["square", "round"])
    assert axis == Axis("vary.block.shape", ("block.shape",), (("square",), ("round",)))
    assert axis.columns == ("block.shape",)
    assert axis.row(1) == {"block.shape": "round"}
    with pytest.raises(StudyValueError, match="need labels"):
        axis_of("k", [1, [2]])


# paired lists


def test_paired_lists_have_labels_or_none():
    bare = paired_axis(2, {"a": [1, 2], "b": [3, 4]})
    assert (bare.place, bare.columns, bare.labels) == ("paired.2", ("a", "b"), ())
    assert bare.points == ((1, 3), (2, 4))
    named = paired_axis(1, {"a": [1, 2], "name": "kind", "labels": ["p", "q"]})
    assert named.place == "paired.kind"
    assert named.row(0) == {"kind": "p", "a": 1}
    assert paired_place(3, {}) == "paired.3"
    mixed = paired_axis(1, {"a": [1, [2]], "name": "n", "labels": ["p", "q"]})
    assert mixed.columns == ("n",)  # one list among the values, and the label stands for all


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"a": [1], "name": 3, "labels": ["p"]}, "need a column"),
        ({"a": [1], "name": "", "labels": ["p"]}, "need a column"),
        ({"a": [1], "name": "n", "labels": [""]}, "each label is a text"),
        ({"a": [[1]], "name": "n"}, "give name and labels"),
        ({"a": []}, "takes a list"),
    ],
)
def test_wrong_labels(given, said):
    with pytest.raises(StudyValueError, match=said):
        paired_axis(1, given)


# samples

OVER = {"a": {"from": 5.0, "to": 15.0}, "b": {"from": 0, "to": 3, "step": 1}}


def test_a_sample_is_a_sobol_of_seed_0_unless_told():
    bare = sample_axis({"count": 5, "over": OVER})
    assert bare == sample_axis({"count": 5, "over": OVER, "seed": 0, "method": "sobol"})
    assert bare.points[:5] == sample_axis({"count": 8, "over": OVER}).points[:5]
    assert (bare.place, bare.keys, len(bare.points)) == ("sample", ("a", "b"), 5)
    assert len(sample_axis({"count": 1, "over": OVER}).points) == 1
    with pytest.raises(StudyValueError, match="seed = -1"):
        sample_axis({"count": 1, "over": OVER, "seed": -1})
    with pytest.raises(StudyValueError, match="count = 0"):
        sample_axis({"count": 0, "over": OVER})


def test_sixteen_sobol_points_fall_one_into_each_sixteenth_and_four_on_each_step():
    points = sample_axis({"count": 16, "over": OVER}).points
    assert sorted(int((a - 5.0) * 1.6) for a, _ in points) == list(range(16))
    assert sorted(b for _, b in points) == sorted([0, 1, 2, 3] * 4)


# combinations


def axis(*points, key="k"):
    return Axis("", (key,), tuple((p,) for p in points))


def test_the_axis_that_stands_last_runs_fastest():
    axes = axis(0, 1), axis(0, 1, 2)
    assert combination_count(axes) == 6
    assert list(combinations(axes, (0, 1)))[:4] == [(0, 0), (0, 1), (0, 2), (1, 0)]
    assert list(combinations(axes, (1, 0)))[:4] == [(0, 0), (1, 0), (0, 1), (1, 1)]
    assert combination_count(()) == 1


def test_cases_are_numbered_as_the_file_stands():
    study = SimpleNamespace(axes=(axis(*range(3)), axis(*range(4)), axis(*range(2))))
    assert number_of(study, (0, 0, 1)) == 1
    assert number_of(study, (0, 1, 0)) == 2
    assert number_of(study, (2, 3, 1)) == 23
    assert number_of(study, (1, 0, 0)) == 8


# formulas


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("7 % 4", 3), ("2 - 5", -3), ("-(2 + 1)", -3), ("+3", 3), ("not 0", True),
        ("1 < 1", False), ("1 <= 1", True), ("1 > 1", False), ("1 >= 1", True),
        ("1 == 1", True), ("1 != 1", False), ("3 > 2 > 2", False), ("3 > 2 >= 2", True),
        ("1 and 0", False), ("1 and 2", True), ("0 or 0", False), ("0 or 2", True),
        ("1 > 0 and 2 > 1 and 3 > 4", False), ("1 < 0 or 2 < 1 or 3 < 4", True),
        ("tan(45) * 2", 2.0), ("max(1, 5, 2)", 5), ("min(4, 2, 3)", 2), ("2 ** 0.5", 2**0.5),
    ],
)  # fmt: skip
def test_formulas_compute_as_written(text, value):
    assert formula(text).value({}.__getitem__) == pytest.approx(value)


def test_several_keys_stand_where_they_are_used():
    """In braces they are held first, whatever their place."""
    read = formula("a - {b.c d} / e.f")
    assert sorted(read.names) == ["a", "b.c d", "e.f"]
    assert read.value({"a": 10.0, "b.c d": 6.0, "e.f": 2.0}.__getitem__) == 7.0
    assert formula("{a} + {b} * 10 + {a}").value({"a": 1, "b": 2}.__getitem__) == 22


def test_a_formula_has_300_letters_at_most():
    fits = "1" * LONGEST
    assert LONGEST == 300
    assert formula(fits).value({}.__getitem__) == int(fits)
    with pytest.raises(StudyValueError, match="longer than 300"):
        formula(fits + "1")


def test_formulas_are_computed_in_lists_and_tables():
    own, data = {"own.n": 3.0}, {"length_mm": 50.0}
    given = [formula("own.n * 2"), {"a": formula("length_mm"), "b": "text"}, 7, [formula("own.n")]]
    assert evaluated(given, own, data) == [6.0, {"a": 50.0, "b": "text"}, 7, [3.0]]
    assert lookup_value("own.n", own, data) == 3.0
    assert lookup_value("length_mm", {"length_mm": 9.0}, data) == 9.0


# keys

DATA = {
    "cut": [{"name": "a"}, {"name": "a.b", "friction": 0.4}, {"path_mm": [[0, 0], [1, 0]]}],
    "band": [{"count": 4}],
}


@pytest.mark.parametrize("key", ["cut.0.friction", "cut.4.friction", "cut.friction"])
def test_numbers_of_entries_run_from_1(key):
    with pytest.raises(StudyValueError):
        key_paths(key, DATA)
    assert key_paths("cut.3.friction", DATA) == [("cut", 2, "friction")]
    assert key_paths("cut.1.friction", DATA) == [("cut", 0, "friction")]


def test_of_several_entries_the_first_says_the_value():
    assert key_value("cut.*.friction", DATA) == 0.0
    assert key_value("cut.a.b.friction", DATA) == 0.4
    assert key_value("band.count", DATA) == 4
    assert key_value("cut.3.path_mm", DATA) == [[0, 0], [1, 0]]


@pytest.mark.parametrize(
    ("key", "load"),
    [
        ("friction", False), ("block.friction", False), ("cut.friction", True),
        ("cut.a.b.gap_mm", True), ("cut.a.faces", True), ("cut.a.bow_mm", False),
        ("length_mm", True), ("title", True), ("pot.bore_mm", True), ("cavity.a.width_mm", False),
    ],
)  # fmt: skip
def test_loads_need_neither_mesh_nor_factor(key, load):
    assert is_load(key) is load


def test_a_section_is_what_decides_mesh_and_factor():
    tables = {"length_mm": 70.0, "block": {"shape": "round"}, "resin": {"head_mm": 3}}
    bare = section_of_case(tables)
    assert bare == section_of_case({"length_mm": 30.0, "block": {"shape": "round"}})
    assert bare != section_of_case({"length_mm": 70.0, "block": {"shape": "oval"}})
    cut = {"name": "a", "friction": 0.3, "gap_mm": 0.1, "bow_mm": 0.2}
    assert section_of_case(tables | {"cut": [cut]})["cut"] == [{"name": "a", "bow_mm": 0.2}]


# the whole


def test_loads_run_fastest_whatever_stands_first(study):
    text = '[vary]\n"band.tension_n_per_mm" = [0.1, 0.2]\n"block.bevel_mm" = [0, 4]'
    found = list(cases(study(HEAD + text)))
    assert [case.number for case in found] == [0, 2, 1, 3]
    assert [case.mold["block"]["bevel_mm"] for case in found] == [0, 0, 4, 4]
    assert [case.mold["band"][0]["tension_n_per_mm"] for case in found] == [0.1, 0.2] * 2


def test_a_formula_is_tried_with_the_first_case(study):
    """What fails later is a case with a fault; what fails at once is refused."""
    text = '[vary]\n"own.n" = [{n}]\n[set]\n"block.bevel_mm" = "= 4 / own.n"'
    found = list(cases(study(HEAD + text.format(n="2, 0"))))
    assert [case.fault is None for case in found] == [True, False]
    assert found[0].mold["block"]["bevel_mm"] == 2.0
    assert found[1].fault.startswith("set.block.bevel_mm: the formula")
    with pytest.raises(BadInput, match="cannot be computed"):
        study(HEAD + text.format(n="0, 2"))


def test_formulas_of_the_first_case_see_what_is_varied_and_what_is_labelled(study):
    text = """
[[paired]]
name = "kind"
labels = ["a", "b"]
"own.n" = [0, 1]
"block.bevel_mm" = [3, 0]
[set]
"block.round_mm" = "= 6 / block.bevel_mm + own.n"
"""
    found = list(cases(study(HEAD + text)))
    assert found[0].mold["block"]["round_mm"] == 2.0
    assert found[1].fault is not None
    skips = 'skip = "1 / own.n > 3"\n[vary]\n"own.n" = [0, 1]'
    with pytest.raises(BadInput, match=r"skip\.1"):
        study(HEAD + skips)


def test_a_case_that_a_rule_leaves_out_keeps_the_others_numbers(study):
    text = 'skip = ["own.n == 2", "own.n > 3"]\n[vary]\n"own.n" = [1, 2, 3, 4]'
    found = list(cases(study(HEAD + text)))
    assert [(case.number, case.values["own.n"]) for case in found] == [(0, 1), (2, 3)]


def test_what_is_asked_belongs_to_a_case_and_its_title_does_not(study):
    text = '[vary]\n"block.bevel_mm" = [1]'

    def one(head="", vary=text):
        (case,) = cases(study(HEAD + head + vary))
        return case.id

    base = one()
    others = [
        one('deformation = "large"\n'), one("accuracy = 2\n"), one("accuracy = 3\n"),
        one("fineness = 0.5\n"), one("keep = 'margin'\n"),
    ]  # fmt: skip
    assert len({base, *others}) == 6
    assert one('title = "Other"\n') == base
    assert one("timeout_s = 9\n") == base


def test_sections_hang_on_the_fineness_and_not_on_loads(study):
    text = '[vary]\n"band.tension_n_per_mm" = [0.1, 0.2]\n"block.bevel_mm" = [0, 4]'
    coarse, fine = (
        [case.section for case in cases(study(HEAD + head + text))] for head in ("", "fineness=2\n")
    )
    assert coarse[0] == coarse[1] != coarse[2]
    assert not {*coarse} & {*fine}


def test_measures_of_cuts_that_vary_are_not_checked_by_name(study):
    """Each case has cuts of its own; of those that stay a wrong name is refused."""
    cut = '[[{name = "other", path_mm = [[-20, 0], [20, 0]]}]]'
    text = """keep = "cut.other.closed_share"
[[paired]]
name = "cuts"
labels = ["one"]
"""
    assert list(cases(study(HEAD + text + f"cut = {cut}")))
    with pytest.raises(BadInput, match='no cut "other"'):
        study(HEAD + text + '"block.bevel_mm" = [1]')


def test_more_cases_than_a_million_are_refused(study):
    text = '[vary]\n"own.a" = {from=1, to=1000}\n"own.b" = {from=1, to=%d}'
    assert study(HEAD + text % 1000).axes
    with pytest.raises(BadInput, match="1001000 cases were asked for"):
        study(HEAD + text % 1001)


def test_a_case_is_called_by_what_was_varied():
    assert case_name({"block.shape": "round", "band.count": 3}) == (
        'block.shape = "round", band.count = 3'
    )
    assert Case("", 0, {"a": 1}, {}, "").name == "a = 1"


def test_a_study_file_has_defaults():
    file = StudyTable.model_validate({"mold": "m.toml", "vary": {"a": [1]}})
    assert file.timeout_s == 300.0
    assert (file.fineness, file.deformation, file.accuracy) == (1.0, "small", None)
    assert file.keep == ("closed_share", "least_pressure_kpa", "largest_gap_mm", "seals")
    assert (file.table, file.figure, file.title) == (None, (), "")
    figure = FigureTable.model_validate({"x": "a", "y": "b"})
    assert (figure.kind, figure.columns, figure.y) == ("lines", 4, ("b",))


@pytest.mark.parametrize(
    "given",
    [
        {"size_mm": [39, 100]}, {"size_mm": [100, 1001]}, {"size_mm": [100]}, {"columns": 3},
        {"kind": "sections", "columns": 0}, {"kind": "sections", "columns": 9},
        {"kind": "sections", "x": "a"}, {"kind": "map"}, {"y": []}, {"y": [""]}, {"y": [3]},
    ],
)  # fmt: skip
def test_a_figure_that_cannot_be_drawn_is_refused(given):
    whole = {} if given.get("kind") else {"x": "a", "y": "b"}
    with pytest.raises(ValueError, match="FigureTable"):
        FigureTable.model_validate(whole | given)


@pytest.mark.parametrize(
    "given",
    [
        {"size_mm": [40, 1000]}, {"kind": "sections", "columns": 1},
        {"kind": "sections", "columns": 8}, {"kind": "map", "value": "c", "size_mm": [50, 50]},
        {"each": "d"}, {"file": "a.PNG"},
    ],
)  # fmt: skip
def test_a_figure_that_can_be_drawn_is_taken(given):
    whole = {} if given.get("kind") == "sections" else {"x": "a", "y": "b"}
    assert FigureTable.model_validate(whole | given)


@pytest.mark.parametrize(
    "given",
    [
        {"vary": {}}, {"vary": {"a": [1]}, "accuracy": 1, "fineness": 1}, {"vary": [1]},
        {"vary": {"a": [1]}, "timeout_s": 0.09}, {"vary": {"a": [1]}, "timeout_s": 86401},
        {"vary": {"a": [1]}, "fineness": 0.2}, {"vary": {"a": [1]}, "accuracy": 21},
        {"vary": {"a": [1]}, "paired": {"a": [1]}}, {"vary": {"a": [1]}, "table": "x"},
    ],
)  # fmt: skip
def test_a_study_that_cannot_be_run_is_refused(given):
    with pytest.raises(ValueError, match="StudyTable"):
        StudyTable.model_validate({"mold": "m.toml"} | given)
