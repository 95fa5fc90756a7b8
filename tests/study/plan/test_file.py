"""Study files: what they mean, and every fault in its words at its line."""

from __future__ import annotations

import pytest

from squeeze import BadInput, load
from squeeze.study import cases, load_study

HEAD = 'mold = "small.toml"\n'


def test_a_folder_means_its_study(write):
    path = write()
    assert load_study(path.parent).path == path
    assert load_study(path.parent).columns == ("block.bevel_mm", "band.tension_n_per_mm")


def told(path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load_study(path)
    return [line.removeprefix(f"{path}:") for line in str(caught.value).splitlines()]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('[vary]\n"block.bevl_mm" = [1]', '3: vary.block.bevl_mm: "bevl_mm" is not a key here'),
        (
            '[vary]\n"block.bevel_mm" = [1, -1]',
            "3: vary.block.bevel_mm: value 2: -1 mm is out of range",
        ),
        ('[vary]\n"block.bevel_mm" = 3', "3: vary.block.bevel_mm: 3 given; needed is a list"),
        (
            '[vary]\n"cut.acros.friction" = [1]',
            '3: vary.cut.acros.friction: there is no cut "acros"',
        ),
        ("[vary]\n", "1: study: nothing is varied"),
        (
            'table = "out.xlsx"\n[vary]\n"block.bevel_mm" = [1]',
            '2: table: "out.xlsx" given; allowed',
        ),
        ('table = "a/o.csv"\n[vary]\n"block.bevel_mm" = [1]', '2: table: "a/o.csv" given; allowed'),
        (
            "table = 'a\\o.csv'\n[vary]\n\"block.bevel_mm\" = [1]",
            '2: table: "a\\o.csv" given; allowed',
        ),
        ('kep = "x"\n[vary]\n"block.bevel_mm" = [1]', "2: kep: this key is not known here"),
        (
            'keep = ["closed"]\n[vary]\n"block.bevel_mm" = [1]',
            '2: keep.1: "closed" is not a measure',
        ),
        (
            'keep = ["cut.acros.closed_share"]\n[vary]\n"block.bevel_mm" = [1]',
            '2: keep.1: the mold has no cut "acros"; did you mean "across"?',
        ),
        (
            'skip = "block.bevl_mm > 3"\n[vary]\n"block.bevel_mm" = [1]',
            '2: skip.1: "bevl_mm" is not a key here',
        ),
        ('skip = "1 +"\n[vary]\n"block.bevel_mm" = [1]', "2: skip.1: '1 +' is not a formula"),
        (
            '[vary]\n"block.bevel_mm" = [1]\n[figure]\nx = "block.bevel"\ny = "closed_share"',
            '5: figure.x: "block.bevel" is not varied; there are "block.bevel_mm"',
        ),
        (
            '[vary]\n"block.bevel_mm" = [1]\n[[figure]]\nx = "block.bevel_mm"\ny = "evenness"',
            '6: figure.1.y: "evenness" is not a measure that is kept',
        ),
        (
            '[vary]\n"block.bevel_mm" = [1]\n[[figure]]\nx = "block.bevel_mm"',
            "4: figure.1.y: is missing; a figure of kind lines needs it",
        ),
        (
            '[vary]\n"block.bevel_mm" = [1]\n[[paired]]\n"block.bevel_mm" = [1, 2]',
            '4: paired.1: "block.bevel_mm" is varied in vary.block.bevel_mm already',
        ),
        (
            '[[paired]]\n"block.bevel_mm" = [1, 2]\n"block.round_mm" = [1, 2, 3]',
            "2: paired.1: all lists have to be of one length",
        ),
        (
            '[[paired]]\nname = "n"\nlabels = ["a", "b"]\n'
            'block = [{shape = "round", diameter_mm = 40}, {shape = "ovel", width_mm = 4}]',
            '5: paired.n.block: value 2 (b): shape: "ovel" is not known',
        ),
        (
            '[sample]\ncount = 4\n[sample.over]\n"block.bevel_mm" = [1]',
            "2: sample: block.bevel_mm = [1]",
        ),
        (
            '[vary]\n"own.a" = [1]\n[set]\n"block.bevel_mm" = "= own.b"',
            '5: set.block.bevel_mm: "own" is not a key here',
        ),
        ('table = "../x.csv"\n[vary]\n"block.bevel_mm" = [1]', '2: table: "../x.csv" given'),
        ("timeout_s = 0\n[vary]\n", "2: timeout_s: 0 is out of range"),
        ("[vary\n", "2: file: "),
    ],
)
def test_faults(write, text, line):
    found = told(write(HEAD + text))
    assert any(said.startswith(line) for said in found), found


def test_all_faults_at_once(write):
    text = HEAD + 'keep = ["closed"]\nskip = "1 +"\n[vary]\n"block.bevl_mm" = [1]\n"x" = [1]'
    assert len(told(write(text + '\n"block.width_mm" = []'))) == 2  # what cannot be read at all
    text = text.replace('skip = "1 +"\n', "")
    assert len(told(write(text))) == 3


def test_a_wrong_mold_is_told_with_its_lines(write):
    path = write()
    mold = path.parent / "small.toml"
    mold.write_text(mold.read_text().replace("width_mm = 40", "width_mm = -40"))
    assert told(path) == [
        f"3: mold: {mold}:10: block.width_mm: -40 mm is out of range; allowed is a number from 0.5"
        " to 1000 mm"
    ]


def test_a_missing_mold_is_told(write):
    path = write()
    (path.parent / "small.toml").unlink()
    assert told(path)[0].startswith("3: mold: ")


def test_skip_set_and_own(study):
    made = study(
        HEAD
        + """
skip = ["block.bevel_mm > 0.2 * block.width_mm", "own.turn_deg == 90"]
[vary]
"block.bevel_mm" = [0, 8, 9]
"own.turn_deg" = [0, 30, 90]
[set]
"cut.across.path_mm" = [["-40 * 1", 0], ["= 40 * cos(own.turn_deg)", "= 40 * sin(own.turn_deg)"]]
""".replace('"-40 * 1"', '"= -40 * cos(own.turn_deg)"').replace(
            ", 0],", ', "= -40 * sin(own.turn_deg)"],', 1
        )
    )
    found = list(cases(made))
    assert [case.values for case in found] == [
        {"block.bevel_mm": b, "own.turn_deg": a} for b in (0, 8) for a in (0, 30)
    ]
    x, y = found[1].mold["cut"][0]["path_mm"][1]
    assert (x, y) == (pytest.approx(40 * 3**0.5 / 2), pytest.approx(20))


def test_whole_tables_can_vary(study):
    made = study(
        HEAD
        + """
[[paired]]
name = "outline"
labels = ["square", "round"]
block = [{ shape = "square", width_mm = 40 }, { shape = "round", diameter_mm = 40 }]
"""
    )
    assert [case.mold["block"]["shape"] for case in cases(made)] == ["square", "round"]
    assert [case.name for case in cases(made)] == ['outline = "square"', 'outline = "round"']


def test_a_mold_file_is_no_study_nor_the_other_way_round():
    with pytest.raises(BadInput, match="is a mold file"):
        load_study("studies/corners/block.toml")
    with pytest.raises(BadInput, match=r"squeeze study studies/corners/study\.toml"):
        load("studies/corners/study.toml")


INCHES = """
skip = "block.width_mm > 160"
[vary]
"block.width_mm" = { from = "4 in", to = "6 1/2 in", step = "1/2 in" }
[[paired]]
"block.bevel_mm" = ["1/4 in", 3]
"resin.pressure_kpa" = ["1 psi", "2 psi"]
[set]
"block.round_mm" = "1/8 in"
[figure]
kind = "sections"
where = { "block.bevel_mm" = "1/4 in" }
"""


def test_lengths_and_pressures_may_say_their_unit(write):
    """They stayed text: no axis for a figure, no range, and a formula could not compare them."""
    study = load_study(write(HEAD + INCHES))
    found = list(cases(study))
    widths = [101.6, 114.3, 127.0, 139.7, 152.4]
    assert [case.values["block.width_mm"] for case in found] == pytest.approx(
        [width for width in widths for _ in range(2)]
    )
    assert [case.values["block.bevel_mm"] for case in found[:2]] == [6.35, 3]
    assert found[1].values["resin.pressure_kpa"] == pytest.approx(13.789514586)
    assert found[0].mold["block"]["round_mm"] == 3.175
    assert study.file.figure[0].where == {"block.bevel_mm": 6.35}


def test_a_unit_that_no_length_has_is_refused_at_its_line(write):
    (line,) = told(write(HEAD + '[vary]\n"block.bevel_mm" = ["3 stone"]'))
    assert line.startswith("3: vary.block.bevel_mm: ")
    assert "3 stone" in line


def test_a_study_that_names_no_mold_is_told_so_and_is_not_taken_for_a_mold(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text('[vary]\n"block.bevel_mm" = [1, 2]\n', "utf-8")
    with pytest.raises(BadInput) as caught:
        load_study(path)
    assert "mold" in str(caught.value)
    assert "is a mold file" not in str(caught.value)
