"""Mold files: every fault at once with its line, in plain words; exact round trips; no surprise."""

import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squeeze.mold import (
    BadInput,
    SqueezeError,
    dict_of,
    dump,
    load,
    mold_of,
    parse,
    resin_ends_mpa,
    stations_of,
)
from squeeze.mold.file.lines import key_lines
from squeeze.mold.shapes.registry import SHAPES
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.values import listed

BARRELS = """\
title = "Carved pen barrels, four to a block"
length_mm = 140

[rubber]
shore_a = 20

[block]
shape = "square"
width_mm = 120
bevel_mm = 15
round_mm = 2

[[cavity]]
name = "barrel 1"
shape = "round"
diameter_mm = 10
centre_mm = [-24, 40]

[[cut]]
name = "across the barrels"
path_mm = [[-60, 40], [60, 40]]
friction = 0.3
gap_mm = [0.0, 0.05,
  0.0]   # in the middle

[[band]]
stock = "64"
count = 4

[[band]]
tension_n = 3.5
at_mm = [20, 70, 120]

[[push]]
at_mm = [60, 0]
width_mm = 30
force_n_per_mm = 0.5

[resin]
head_mm = 120
enters_cuts = true
viscosity_mpa_s = 120

[pot]
bore_mm = 240
depth_mm = 300
"""


def outcome(make, given):
    """Return (what was made, no faults) or (None, the faults); anything else fails the test."""
    try:
        return make(given), ()
    except BadInput as error:
        return None, error.faults


def faults_of(text):
    with pytest.raises(BadInput) as caught:
        parse(text, "barrels.toml")
    return str(caught.value).splitlines()


def changed(old, new):
    assert old in BARRELS
    return BARRELS.replace(old, new, 1)


def test_the_example_is_read():
    mold = parse(BARRELS)
    assert mold.rubber.shore_a == 20
    assert mold.cut[0].gap_mm == (0.0, 0.05, 0.0)
    assert [band.strands for band in mold.band] == [4, 3]
    assert mold.rubber.bulk_modulus_mpa == 1000
    assert mold.resin.density_g_cm3 == 1.05


CASES = [
    ("shore_a = 20", "shore_a = 99", "5: rubber.shore_a: 99 is out of range; allowed is a number"
     " from 5 to 80 Shore A"),
    ("shore_a = 20", "shore = 20", "4: rubber: nothing says how stiff the rubber is; give exactly"
     " one of shore_a or youngs_modulus_mpa"),
    ("shore_a = 20", "shore_a = 20\nshore = 20", '6: rubber.shore: this key is not known here;'
     " allowed are shore_a, youngs_modulus_mpa, poisson, bulk_modulus_mpa, density_g_cm3,"
     " price_per_kg, mix_by_weight, waste_percent or shrinkage_percent; did you mean"
     ' "shore_a"?'),
    ("shore_a = 20", "shore_a = 20\npoisson = 0.49\nbulk_modulus_mpa = 900", "6: rubber.poisson:"
     " given together with bulk_modulus_mpa; each follows from the other, so give one of them"),
    ("length_mm = 140\n", "", "1: length_mm: is missing and must be given"),
    ("length_mm = 140", "length_mm = true", "2: length_mm: true is not a number; allowed is a"
     " number from 1 to 2000 mm"),
    ("length_mm = 140", "length_mm = 100", "32: band.2.at_mm: 120 mm lies beyond the end of the"
     " block, which is 100 mm long"),
    ('shape = "square"', 'shape = "sqare"', '8: block.shape: "sqare" is not known; allowed are'
     f' {listed(list(SHAPES), "or")}; did you mean "square"?'),
    ("width_mm = 120", "diameter_mm = 120", "9: block.diameter_mm: does not go with this shape;"
     " the shape square takes width_mm"),
    ('shape = "round"\ndiameter_mm', 'shape = "round"\nwidth_mm', "13: cavity.barrel 1.diameter_mm:"
     " is missing; the shape round takes diameter_mm"),
    ("diameter_mm = 10", "diameter_mm = 10\nbevel_mm = 1", "17: cavity.barrel 1.bevel_mm: 1 given,"
     " but the shape round has no corner to bevel; leave it out or give 0"),
    ("bevel_mm = 15", "bevel_mm = 70", "10: block.bevel_mm: 70 mm leaves nothing of a side of"
     " 120 mm at (0, -60) mm; at most 60 mm"),
    ("[[-60, 40], [60, 40]]", "[[-60, 40], [60]]", "21: cut.across the barrels.path_mm: entry 2:"
     " [60] is not a point; a point is two numbers [x, y] in mm"),
    ("[[-60, 40], [60, 40]]", "[[-60, 40]]", "21: cut.across the barrels.path_mm: 1 points given;"
     " allowed are 2 to 5000"),
    ("[[-60, 40], [60, 40]]", "[[-60, 40], [-60, 40], [60, 40]]", "21: cut.across the barrels"
     ".path_mm: points 1 and 2 are the same place (-60, 40) mm; neighbours must be at least 0.02 mm"
     " apart"),
    ("gap_mm = [0.0, 0.05", "gap_mm = [0.0, -0.05", "23: cut.across the barrels.gap_mm: entry 2:"
     " -0.05 mm is out of range; allowed is a number from 0 to 20 mm"),
    ("friction = 0.3", 'friction = "0,3"', '22: cut.across the barrels.friction: "0,3" is not a'
     " number; allowed is a number from 0 to 3"),
    ("count = 4", "count = 2.5", "28: band.1.count: 2.5 is not whole; allowed is a whole number 0"
     " to 500"),
    ("count = 4", "count = 4\ntension_n = 3", "26: band.1: stock and tension_n given together; give"
     " exactly one of stock, width_mm with thickness_mm and flat_length_mm, tension_n,"
     " tension_n_per_mm, weighed_g or weighed_n"),
    ('stock = "64"', "width_mm = 6", "26: band.1.thickness_mm: is missing; how hard the band pulls"
     " takes width_mm, thickness_mm and flat_length_mm together"),
    ("at_mm = [20, 70, 120]", "at_mm = [20, 70, 120]\ncount = 3", "33: band.2.count: given together"
     " with at_mm; the places say how many bands there are"),
    ('stock = "64"', "tension_n_per_mm = 0.6", "28: band.1.count: does not go with"
     " tension_n_per_mm, which is the pull of all strands together, spread over the block's"
     " length"),
    ("force_n_per_mm = 0.5", "pressure_kpa = 5", "34: push.1: at_mm with width_mm and"
     " force_n_per_mm and pressure_kpa alone given together; give exactly one of at_mm with"
     " width_mm and force_n_per_mm or pressure_kpa alone"),
    ("enters_cuts = true", "enters_cuts = 1", "41: resin.enters_cuts: 1 given; allowed are true and"
     " false"),
    ("[resin]", "[rasin]", "39: rasin: this key is not known here; allowed are title, length_mm,"
     " rubber, block, cavity, cut, filler, cradle, stock, band, push, resin, sprue, vent, pot,"
     ' design, station or model; did you mean "resin"?'),
    ("[[push]]", "[push]", "34: push: a table given; write [[push]] over each push"),
    ("centre_mm = [-24, 40]", "centre_mm = [-24, 80]", "13: cavity.barrel 1: lies outside the"
     " block, round (-24, 80) mm"),
    ("width_mm = 30", "width_mm = 600", "36: push.1.width_mm: 600 given, but the outline is only"
     " 444.2 mm round"),
    ("length_mm = 140", "length_mm = ", "2: file: the value is not one that TOML knows; text needs"
     " quotes, numbers a decimal point and not a comma"),
    ("count = 4", "count = 4\ncount = 5", "29: file: this key appears twice"),
    ("shore_a = 20", "shore_a 20", "5: file: there is no = after the key"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), CASES)
def test_a_fault_is_told_with_its_line(old, new, said):
    assert f"barrels.toml:{said}" in faults_of(changed(old, new))


def test_every_fault_is_told_at_once_in_the_order_of_the_file():
    text = BARRELS
    wrong = [("140", '"x"'), ("a = 20", "a = 2"), ("= 10", "= -1"), ('"64"', '"65"'), ("240", "1")]
    for old, new in wrong:
        text = text.replace(old, new, 1)
    said = faults_of(text)
    assert [int(line.split(":")[1]) for line in said] == [2, 5, 16, 27, 45]


def test_geometric_faults_are_told_at_once_too():
    more = '\n[[cavity]]\nshape = "round"\ndiameter_mm = 10\ncentre_mm = [-20, 40]\n'
    said = faults_of(BARRELS + more + more.replace("-20", "90"))
    assert [line.split(": ")[1] for line in said] == ["cavity.cavity 2", "cavity.cavity 3"]


def test_a_name_that_stands_twice_is_refused():
    text = BARRELS + '\n[[cut]]\nname = "across the barrels"\npath_mm = [[-9, -9], [0, -70]]\n'
    said = 'cut.across the barrels.name: "across the barrels" is the name of cut number 1 already'
    assert said in faults_of(text)[0]


def test_nothing_of_the_validation_library_shows():
    for old, new, _ in CASES:
        said = "\n".join(faults_of(changed(old, new)))
        for foreign in ("pydantic", "validation error", "Input should", "type=", "dict", "tuple"):
            assert foreign not in said


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(BadInput, match=r"absent\.toml: file: cannot be read: no such file"):
        load(tmp_path / "absent.toml")
    with pytest.raises(BadInput, match="cannot be read: is a directory"):
        load(tmp_path)
    (tmp_path / "picture.toml").write_bytes(b"title = 1\n\x89PNG\xff\xfe")
    with pytest.raises(BadInput, match=r"picture\.toml:2: file: is not text in UTF-8"):
        load(tmp_path / "picture.toml")
    with pytest.raises(BadInput, match="cannot be read"):
        load("a\0b")


def test_a_file_is_read_with_any_line_ends_and_byte_order_mark(tmp_path):
    file = tmp_path / "barrels.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BARRELS.replace("\n", "\r\n").encode())
    assert load(file) == parse(BARRELS)


def test_a_dict_gives_the_same_faults_without_lines():
    data = dict_of(parse(BARRELS))
    data["rubber"] = {"shore_a": 99}
    with pytest.raises(BadInput) as caught:
        mold_of(data)
    assert str(caught.value).startswith("rubber.shore_a: 99 is out of range")
    assert isinstance(caught.value, SqueezeError)


@pytest.mark.parametrize("data", [None, 3, [], "x", {}, {1: 2}, {"cut": {"a": 1}}, {"cut": [[]]}])
def test_a_dict_of_nonsense_is_refused(data):
    with pytest.raises(BadInput):
        mold_of(data)


def test_numpy_numbers_are_taken_and_none_counts_as_not_given():
    data = dict_of(parse(BARRELS))
    data["length_mm"] = np.int64(140)
    data["resin"] = None
    data["cut"][0]["path_mm"] = np.array([[-60.0, 40.0], [60.0, 40.0]])
    mold = mold_of(data)
    assert mold.length_mm == 140.0
    assert mold.resin is None
    assert mold.cut[0].path_mm == ((-60.0, 40.0), (60.0, 40.0))


def test_a_mold_is_frozen():
    with pytest.raises(ValueError, match="frozen"):
        parse(BARRELS).length_mm = 3  # type: ignore[misc]


def test_cuts_and_cavities_are_numbered_unless_named():
    mold = parse(changed('name = "barrel 1"\n', ""))
    assert (mold.cavity[0].name, mold.cut[0].name) == ("cavity 1", "across the barrels")


def test_a_mold_written_and_read_again_is_the_same():
    mold = parse(BARRELS)
    assert parse(dump(mold)) == mold
    assert dump(parse(dump(mold))) == dump(mold)
    assert mold_of(dict_of(mold)) == mold


@pytest.mark.parametrize("title", ['a\\b "c"', "\\\\", "é €", '"""', "tab\\\\t # no comment"])
def test_titles_are_quoted(title):
    data = dict_of(parse(BARRELS)) | {"title": title}
    assert parse(dump(mold_of(data))).title == title


@settings(deadline=None, max_examples=80)
@given(
    title=st.text(min_size=1, max_size=60),
    length=st.floats(1, 2000),
    shore=st.floats(5, 80),
    x=st.floats(-40, 40),
    stock=st.sampled_from(["64", "117B", 33]),
    count=st.integers(0, 500),
)
def test_round_trip_keeps_every_bit(title, length, shore, x, stock, count):
    data = {
        "title": title,
        "length_mm": length,
        "rubber": {"shore_a": shore},
        "block": {"shape": "round", "diameter_mm": 120},
        "cut": [{"path_mm": [[x, -70], [x, 70.1]], "name": title}],
        "band": [{"stock": stock, "count": count}],
    }
    mold, faults = outcome(mold_of, data)
    if mold is None:
        assert all(fault.key.endswith(("title", "name")) for fault in faults)
        assert not title.isprintable() or not title.strip()
    else:
        assert parse(dump(mold)) == mold


def test_lines_are_found_through_strings_lists_and_comments():
    text = '\n'.join([
        'a = "# no [comment"', "b = [ # [", "  1,", "]", "[t.u]", "'c d' = 3", "e.f = '''", "[x]",
        "'''", "[[l]]", "k = 1", "[[l]]", 'k = "\\""', "[l.in]", "m = { n = 1 }", "[z]", "q = 1",
    ])  # fmt: skip
    found = key_lines(text)
    assert {path: found[path] for path in found if path[-1:] and isinstance(path[-1], str)} == {
        ("a",): 1, ("b",): 2, ("t",): 5, ("t", "u"): 5, ("t", "u", "c d"): 6, ("t", "u", "e"): 7,
        ("t", "u", "e", "f"): 7, ("l",): 10, ("l", 0, "k"): 11, ("l", 1, "k"): 13,
        ("l", 1, "in"): 14, ("l", 1, "in", "m"): 15, ("z",): 16, ("z", "q"): 17,
    }  # fmt: skip


ODD = ["-1", "0", "1e400", "nan", "-inf", "true", '""', '"x"', "[]", "[[1]]", "{}", "1979-05-27",
       "9" * 400, "07:32:00", "[[0,0],[0,0]]", "'''a\nb'''", "{a=1}", "[1,[2]]", "0x7f", "-0.0",
       "1e-300", "[[-60, 40], [60, 40], [nan, 1]]", '"\\u0000"', "2000", "[[0,0],[50,0],[50,0.1]]",
       ]  # fmt: skip


def spoiled(text, seed):
    """Return the text with one to four random faults."""
    rng = random.Random(seed)
    lines = text.splitlines()
    for _ in range(rng.randint(1, 4)):
        i = rng.randrange(len(lines))
        kind = rng.randrange(6)
        if kind == 0:
            lines[i] = lines[i].split("=")[0] + "= " + rng.choice(ODD)
        elif kind == 1:
            lines.insert(i, rng.choice(lines))
        elif kind == 2:
            lines[i] = ""
        elif kind == 3:
            at = rng.randint(0, len(lines[i]))
            lines[i] = lines[i][:at] + rng.choice('[]"={}.,#\\\0é\x7f0') + lines[i][at + 1 :]
        elif kind == 4:
            j = rng.randrange(len(lines))
            lines[i], lines[j] = lines[j], lines[i]
        else:
            digits = [n for n, c in enumerate(lines[i]) if c.isdigit()]
            if digits:
                at = rng.choice(digits)
                lines[i] = lines[i][:at] + rng.choice("0123456789-.e") + lines[i][at + 1 :]
    return "\n".join(lines)


@settings(deadline=None, max_examples=200)
@given(st.integers(0, 10**9))
def test_a_spoiled_file_gives_a_mold_or_bad_input(seed):
    text = spoiled(BARRELS, seed)
    mold, faults = outcome(parse, text)
    if mold is None:
        assert faults
        count = text.count("\n") + 1
        assert all(fault.line and 1 <= fault.line <= count for fault in faults)
    else:
        assert isinstance(mold, Mold)
        assert parse(dump(mold)) == mold


@pytest.mark.parametrize("text", ["[" * 5000, "a = " + "[" * 5000, "a." * 3000 + "a = 1", "\0", ""])
def test_absurd_text_is_refused(text):
    faults_of(text)


STATIONS = """
[[station]]
at_mm = 30

[[station]]
at_mm = 110
block = { shape = "square", width_mm = 100 }
cavity = []
"""


def test_stations_stand_for_molds_of_their_own():
    mold = parse(BARRELS + STATIONS)
    (first, same), (second, other) = stations_of(mold)
    assert (first, second) == (30.0, 110.0)
    assert same == mold.model_copy(update={"station": ()})
    assert (other.block.width_mm, other.cavity, other.cut) == (100.0, (), mold.cut)
    assert parse(dump(mold)) == mold


def test_no_station_is_one_in_the_middle():
    mold = parse(BARRELS)
    assert stations_of(mold) == ((mold.length_mm / 2, mold),)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "at_mm = 110",
            "at_mm = 30",
            "station.2.at_mm: 30 given; give the stations in ascending",
        ),
        ("at_mm = 110", "at_mm = 900", "station.2.at_mm: 900 mm lies beyond the end"),
        ("width_mm = 100", "width_mm = 50", "station.2.cut.across the barrels"),
        ("width_mm = 100", "width = 50", "station.2.block.width: this key is not known here"),
        ("[[station]]\nat_mm = 30", "[[station]]", "station.1.at_mm: is missing"),
    ],
)
def test_a_fault_in_a_station_is_told(old, new, said):
    text = (BARRELS + STATIONS).replace(old, new)
    assert any(said in fault for fault in faults_of(text))


@pytest.mark.parametrize("span", ["[60, 20]", "[20]", "[20, 60, 90]", "[20, 20]"])
def test_a_cut_ends_beyond_where_it_begins(span):
    text = BARRELS.replace("friction = 0.3\n", f"friction = 0.3\nalong_mm = {span}\n", 1)
    assert "give two places along the block" in faults_of(text)[0]


def test_a_standing_block_needs_a_head():
    text = BARRELS.replace("head_mm = 120", "pressure_kpa = 2\nstanding = true")
    assert "standing: goes with head_mm" in faults_of(text)[0]
    upright = parse(BARRELS.replace("head_mm = 120", "head_mm = 120\nstanding = true"))
    at_start, at_end = resin_ends_mpa(upright)
    head = 1.05 * 9.80665e-6
    assert (at_start, at_end) == pytest.approx((head * (120 + upright.length_mm), head * 120))


TOP = Path(__file__).parents[2]
HEAD = 'length_mm = 100\n[rubber]\nshore_a = 20\n[block]\nshape = "square"\nwidth_mm = 400\n'
POINTS = "[" + ", ".join(f"[{0.03 * i - 75:.2f}, {7 * i % 13}]" for i in range(5000)) + "]"
LIMITS = {
    "cavity": (300, "cavities", 'shape = "round"\ndiameter_mm = 1\n'),
    "cut": (200, "cuts", "path_mm = [[0, 0], [9, 0]]\n"),
    "filler": (100, "fillers", 'shape = "round"\ndiameter_mm = 1\nshore_a = 20\n'),
    "cradle": (24, "cradles", 'covers = "top"\nthickness_mm = 9\nmaterial = "MDF"\n'),
    "band": (100, "kinds of band", "tension_n = 1\n"),
    "push": (100, "pushes", "pressure_kpa = 1\n"),
    "station": (50, "stations", "at_mm = 1\n"),
}


@pytest.mark.parametrize("kind", LIMITS)
def test_entries_are_limited_in_number_and_the_number_is_told(kind):
    most, words, entry = LIMITS[kind]
    with pytest.raises(BadInput) as caught:
        parse(HEAD + f"[[{kind}]]\n{entry}" * (most + 1))
    assert f"7: {kind}: {most + 1} {words} given; allowed are {most} at most" in str(caught.value)
    assert Mold.model_json_schema()["properties"][kind]["maxItems"] == most
    assert f"{most} {words}" in (TOP / "docs/moldfile.md").read_text(encoding="utf-8")


def test_points_are_limited_in_a_path_and_in_all():
    one = POINTS.replace("[[", "[[9, 9], [", 1)
    with pytest.raises(BadInput, match="5001 points given; allowed are 2 to 5000"):
        parse(HEAD + f"[[cut]]\npath_mm = {one}\n")
    with pytest.raises(BadInput, match="25000 points given in all; allowed are 20000 at most"):
        parse(HEAD + f"[[cut]]\npath_mm = {POINTS}\n" * 5)


@pytest.mark.parametrize("count", [3_000, pytest.param(20_000, marks=pytest.mark.slow)])
def test_thousands_of_cavities_are_refused_by_their_number_alone(count):
    entry = '[[cavity]]\nname = "c{0}"\nshape = "round"\ndiameter_mm = 1\ncentre_mm = [{0}, 0]\n'
    with pytest.raises(BadInput) as caught:
        parse(HEAD + "".join(entry.format(i) for i in range(count)))
    assert len(caught.value.faults) == 1
