"""Bench sheets: what stands on them, at true size, on one side, and two side by side."""

from __future__ import annotations

import io
import math
import re
from functools import cache

import numpy as np
import pytest
from pypdf import PdfReader
from shapely.geometry import LineString, Point, Polygon

import squeeze
from squeeze.mold import section_of
from squeeze.show.paper import PAPERS
from squeeze.show.sheet.bands import band_places
from squeeze.show.sheet.compare import compared
from squeeze.show.sheet.contents import digest_of, sheet_of
from squeeze.show.sheet.html import as_html
from squeeze.show.sheet.knife import cutting_order, knife_points
from squeeze.show.sheet.layout import Look, SheetPart, _columns, _two, laid_out, widths_mm
from squeeze.show.sheet.parts import Grid, Row
from squeeze.show.sheet.pdf import _cut_to, _draw_grid, as_pdf
from squeeze.show.sheet.picture import (
    LAND_MM,
    Picture,
    closing_picture,
    cut_picture,
)
from squeeze.show.sheet.steps.expect import _signed
from squeeze.show.sheet.word_places import RING_MM, words_apart
from squeeze.show.template.drawing import templates
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge
from squeeze.verdict.pot import pot_fit, with_bands_mm

PT = 72 / 25.4
TABLES = {
    "title": "Two beads",
    "length_mm": 80,
    "rubber": {"shore_a": 25, "price_per_kg": 30, "mix_by_weight": [100, 10]},
    "block": {"shape": "rectangle", "width_mm": 90, "height_mm": 60, "bevel_mm": 5},
    "cavity": [
        {"name": f"bead {k}", "shape": "round", "diameter_mm": 12, "centre_mm": [x, 5]}
        for k, x in ((1, -15), (2, 15))
    ],
    "cut": [{"name": "across", "path_mm": [[-45, 5], [-30, 5], [-28, 9], [-24, 5], [45, 5]]}],
    "band": [{"stock": "33", "count": 5}],
    "resin": {"head_mm": 60, "castings": 6, "demold_min": 30, "mix_by_weight": [1, 1]},
    "sprue": {"diameter_mm": 6, "height_mm": 40},
    "pot": {"bore_mm": 150, "depth_mm": 200},
}


def close(mold: squeeze.Mold) -> squeeze.Closing:
    """Close a mold on a coarse mesh: what a sheet says of it is looked at, not how true it is."""
    return squeeze.close(mold, deformation="small", fineness=0.5)


@cache
def closing_of_two() -> squeeze.Closing:
    return close(squeeze.mold_of(TABLES))


def made(tables: dict, **more):
    mold = squeeze.mold_of(tables)
    closing = closing_of_two() if tables == TABLES else close(mold)
    verdict = judge(closing, more.get("inches", False), mold)
    return sheet_of(mold, closing, verdict, file="beads.toml", date="2026-01-02", **more)


@pytest.fixture(scope="module")
def sheet():
    return made(TABLES)


def plate(columns: int, rows: int) -> dict:
    """Return a mold of many beads in rows, a cut through each row."""
    wide, high = 24.0 * columns + 20, 24.0 * rows + 20
    xs = [24.0 * (k - (columns - 1) / 2) for k in range(columns)]
    ys = [24.0 * (k - (rows - 1) / 2) for k in range(rows)]
    beads = [
        {"name": f"bead at {x:g}, {y:g}", "shape": "round", "diameter_mm": 12, "centre_mm": [x, y]}
        for y in ys
        for x in xs
    ]
    cuts = [{"name": f"row at {y:g}", "path_mm": [[-wide / 2, y], [wide / 2, y]]} for y in ys]
    board = {"thickness_mm": 15, "material": "plywood", "back": "round"}
    return TABLES | {
        "block": {"shape": "rectangle", "width_mm": wide, "height_mm": high, "bevel_mm": 8},
        "cavity": beads,
        "cut": cuts,
        "band": [{"stock": "107", "count": 6}],
        "cradle": [board | {"covers": side} for side in ("top", "bottom")],
    }


def with_the_closing_of_two(tables: dict):
    """Return a large mold's sheet with what a small one has to expect: nothing large is solved."""
    small, mold = squeeze.mold_of(TABLES), squeeze.mold_of(tables)
    verdict = judge(closing_of_two(), mold=small)
    return sheet_of(mold, closing_of_two(), verdict, file="plate.toml", date="2026-01-02")


def text_of(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def says(sheet) -> dict[str, str]:
    return {row.label: row.say for step in sheet.steps for row in step.rows}


@pytest.mark.parametrize("paper", PAPERS)
def test_all_stands_on_one_side_of_the_paper_asked_for(sheet, paper):
    pages = PdfReader(io.BytesIO(as_pdf(sheet, paper))).pages
    assert len(pages) == 1
    assert [float(v) for v in pages[0].mediabox[2:]] == pytest.approx(
        [v * PT for v in PAPERS[paper]], abs=0.01
    )
    text = " ".join(text_of(as_pdf(sheet, paper)).split())
    for step in sheet.steps:
        assert step.name in text
        for row in step.rows:
            assert row.label in text
            assert row.say.split()[0] in text
    for told in ("2026-01-02", "beads.toml", sheet.digest, "pressure vessel", "sensitisers"):
        assert told in text


@pytest.mark.parametrize("paper", PAPERS)
def test_the_ruler_is_a_hundred_millimetres_long(sheet, paper):
    content = PdfReader(io.BytesIO(as_pdf(sheet, paper, compress=False))).pages[0].get_contents()
    lines = re.findall(rb"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l", content.get_data())
    level = [float(c) - float(a) for a, b, c, d in lines if b == d]
    assert min(abs(length - 100 * PT) for length in level) < 0.01


def test_the_same_contents_give_the_same_bytes(sheet):
    assert as_pdf(sheet, "a4") == as_pdf(sheet, "a4")


@pytest.fixture(scope="module")
def twenty():
    return with_the_closing_of_two(plate(5, 4))


@pytest.fixture(scope="module")
def sixty():
    return with_the_closing_of_two(plate(10, 6))


@pytest.mark.parametrize("paper", PAPERS)
def test_twenty_cavities_fit_on_one_side_and_sixty_take_more(twenty, sixty, paper):
    assert len(PdfReader(io.BytesIO(as_pdf(twenty, paper))).pages) == 1
    text = text_of(as_pdf(twenty, paper))
    assert all(f"\n{k} bead at" in text for k in range(1, 21))
    text = text_of(as_pdf(sixty, paper))
    assert "side 2 of" in text
    assert "\n60 bead at" in text


def test_every_corner_of_a_cut_is_told_from_two_edges():
    section = section_of(squeeze.mold_of(TABLES))
    (points,) = knife_points(section)
    told = [(p.from_left_mm, p.from_bottom_mm) for p in points]
    wanted = [(0, 35), (15, 35), (17, 39), (21, 35), (90, 35)]
    assert np.allclose(told, wanted, atol=1e-3)
    assert [p.letter for p in points] == list("abcde")


def test_a_cut_that_ends_on_another_comes_after_it():
    cuts = [
        {"name": "branch", "path_mm": [[0, 30], [0, -10]]},
        {"name": "across", "path_mm": [[-45, -10], [45, -10]]},
    ]
    section = section_of(squeeze.mold_of(TABLES | {"cut": cuts, "cavity": []}))
    assert [section.cuts[k].name for k in cutting_order(section.cuts)] == ["across", "branch"]


def test_bands_go_on_from_the_middle_outwards():
    places = band_places(squeeze.mold_of(TABLES))
    assert [place.at_mm for place in places] == pytest.approx([8, 24, 40, 56, 72])
    assert [place.turn for place in places] == [4, 2, 1, 3, 5]


def test_what_a_scale_reads_is_the_pull_of_two_strands(sheet):
    said = says(sheet)["Stretch"]
    mold = squeeze.mold_of(TABLES)
    pull = squeeze.mold.strand_n(mold.band[0], squeeze.mold.wrap_mm(section_of(mold)))
    assert f"{2 * pull / 9.80665 * 1000:.0f} g" in said


def test_the_pot_is_told_with_bands_on_and_the_bevel_that_lets_the_block_in():
    tables = TABLES | {"block": {"shape": "square", "width_mm": 100, "round_mm": 0}}
    tables |= {"pot": {"bore_mm": 130, "depth_mm": 200}, "cavity": [], "cut": []}
    fit = pot_fit(squeeze.mold_of(tables))
    thick = 25.4 / 32
    assert fit.widest_mm == pytest.approx(100 * math.sqrt(2) + 2 * thick)
    assert not fit.goes_in
    # the corners of a bevelled square lie at (50, 50 - b)
    radius = 130 / 2 - thick
    least = 50 - math.sqrt(radius**2 - 50**2)
    assert fit.bevel_mm == pytest.approx(math.ceil(2 * least) / 2)
    block = tables["block"] | {"bevel_mm": fit.bevel_mm}
    assert with_bands_mm(squeeze.mold_of(tables | {"block": block})) <= 130
    assert "does NOT go in" in says(made(tables))["Pot"]


def test_digest_is_that_of_what_the_mold_says_and_not_of_remarks():
    text = squeeze.mold.dump(squeeze.mold_of(TABLES))
    same = squeeze.parse("# a remark\n" + text)
    other = squeeze.mold_of(TABLES | {"length_mm": 81})
    assert digest_of(same) == digest_of(squeeze.mold_of(TABLES)) != digest_of(other)


def test_html_says_what_the_pdf_says_and_asks_for_nothing(sheet):
    page = as_html(sheet, "letter")
    for step in sheet.steps:
        for part in step.parts:
            if isinstance(part, Row):
                assert part.label in page
            if isinstance(part, Grid):
                assert all(f"<td>{say}</td>" in page for row in part.rows for say in row)
    count = sum(isinstance(part, Picture) for step in sheet.steps for part in step.parts)
    assert page.count("<svg") == count == 3
    assert "215.9mm 279.4mm" in page
    assert not re.search(r"(src|href)=", page)


def test_names_are_text_whatever_signs_they_hold():
    tables = TABLES | {"title": "<b>5 & {scale} \N{GREEK SMALL LETTER OMEGA}</b>"}
    sheet = made(tables)
    assert "<b>5" not in as_html(sheet)
    assert "{scale} \N{GREEK SMALL LETTER OMEGA}" in text_of(as_pdf(sheet, "a4"))


def test_inches_are_told_when_asked():
    told = says(made(TABLES, inches=True))
    assert told["Box inside"].startswith("3.54 x 2.36 x 3.15 in")


def test_two_molds_stand_side_by_side():
    softer = TABLES | {"rubber": {"shore_a": 15}, "title": "Softer"}
    both = compared(made(TABLES), made(softer))
    rows = [row for step in both.steps for row in step.rows]
    k = [row.label for row in rows].index("Hardness")
    assert [rows[k].say, rows[k + 1].say] == ["A: Shore A 25", "B: Shore A 15"]
    assert sum(row.label == "Box inside" for row in rows) == 1
    assert sum(isinstance(part, Picture) for step in both.steps for part in step.parts) == 6
    assert len(PdfReader(io.BytesIO(as_pdf(both, "a4"))).pages) <= 2


def test_the_widths_of_a_table_leave_its_heads_whole(sheet):
    """Heads such as "from below" are not cut, whatever the size of the letters."""
    for paper in PAPERS:
        text = text_of(as_pdf(sheet, paper))
        assert "..." not in text
        assert text.count("from below") >= 2


def test_a_step_of_the_work_stays_in_one_column_where_it_can():
    blocks = [SheetPart("1  Pour", 10.0), SheetPart(Row("a", "b"), 60.0)]
    blocks += [
        SheetPart("2  Cut", 10.0),
        SheetPart(Row("c", "d"), 40.0),
        SheetPart(Row("", "e"), 8),
    ]
    left, right = _two(blocks, 100.0)
    assert [part.part for part in left] == ["1  Pour", Row("a", "b")]
    assert right[0].part == "2  Cut"
    assert _two(blocks, 60.0) == []
    uneven = [*blocks[:2], SheetPart(Row("f", "g"), 20.0), blocks[2], SheetPart(Row("h", "i"), 5.0)]
    assert [len(column) for column in _two(uneven, 95.0)] == [3, 2]
    assert [len(column) for column in _two(uneven, 85.0)] == [2, 3]


def test_rows_that_go_on_with_a_label_stay_with_it():
    rows = [SheetPart(Row("a", "b"), 60.0), SheetPart(Row("c", "d"), 20.0)]
    rows += [SheetPart(Row("", "e"), 20.0), SheetPart(Row("", "f"), 15.0)]
    assert [len(column) for column in _columns(rows, 100.0)] == [1, 3]
    assert [len(column) for column in _columns(rows, 50.0)] == [1, 2, 1]  # more than a column
    headed = [rows[0], SheetPart("2  Cut", 10.0), *rows[1:]]
    assert [len(column) for column in _columns(headed, 115.0)] == [1, 4]
    assert [len(column) for column in _two(rows, 115.0)] == [1, 3]


def test_a_comparison_keeps_every_row_of_a_label():
    tables = TABLES | {"cavity": [{"name": "u", "points_mm": DIP, "round_mm": 0}]}
    tables |= {"cut": [{"name": "lid", "path_mm": [[-45, 25], [45, 25]]}]}
    tables |= {"vent": [{"at_mm": [20, 20]}, {"at_mm": [-28, 20]}]}
    both = compared(with_the_closing_of_two(tables), with_the_closing_of_two(TABLES))
    rows = next(step for step in both.steps if step.name == "Pour").rows
    k = next(k for k, row in enumerate(rows) if row.label == "Vents")
    told = [(row.label, row.say[:6]) for row in rows[k : k + 3]]
    assert told == [("Vents", "A: v1:"), ("", "A: v2:"), ("", "B: non")]


def test_a_piece_has_the_number_of_its_template():
    mold = squeeze.mold_of(plate(2, 2))
    sheet = with_the_closing_of_two(plate(2, 2))
    assert says(sheet)["Cradle"].endswith("on their templates: T1 cradle 1, T2 cradle 2")
    written = [template.texts[0].say for template in templates(mold)][:2]
    assert [say.split(" - ")[0] for say in written] == ["T1 cradle 1", "T2 cradle 2"]
    words = [word.say for word in cut_picture(section_of(mold), ()).words]
    assert {"T1", "T2"} <= set(words)


@pytest.mark.parametrize("paper", PAPERS)
def test_letters_shrink_a_little_to_keep_a_step_whole(sheet, paper):
    """Each column of a page begins with the heading of a step."""
    wide, high = PAPERS[paper]
    look, pages = laid_out(sheet, wide, high)
    assert look.size_pt >= 8.5
    assert pages[0][0][0].part == "1  Pour"
    assert all(isinstance(column[0].part, str) for column in pages[0])


def test_a_change_too_small_to_tell_has_no_sign():
    assert [_signed(mm, False) for mm in (0.2, -0.2, 0.004, -0.004, 0.0)] == [
        "+0.20 mm",
        "-0.20 mm",
        "under 0.01 mm",
        "under 0.01 mm",
        "0 mm",
    ]


def test_the_head_of_a_table_stays_whole_beside_long_numbers():
    heads = ("model, middle [mm]", "from left", "from below", "size")
    grid = Grid(heads, (("1 body", "40.9", "39.5", "33.6 x 26.9"),), (0.4, 0.2, 0.2, 0.2))
    look = Look(10.0, 1.0, 92.5, 25.0)
    widths = widths_mm(grid, look)
    for head, wide in zip(heads, widths, strict=True):
        assert _cut_to(head, wide - 1.0, look.size_pt, True) == head


def test_bands_are_drawn_round_what_they_lie_on():
    mold = squeeze.mold_of(TABLES)
    picture = closing_picture(closing_of_two())
    (ring,) = [stroke for stroke in picture.strokes if stroke.dash_mm == (2.0, 1.0)]
    hull = Polygon(ring.points)
    assert hull.convex_hull.area == pytest.approx(hull.area, rel=1e-6)
    assert hull.contains(section_of(mold).outline.polygon)


def test_models_in_a_row_are_told_with_their_places():
    cavity = TABLES["cavity"][0] | {"models": [{"at_mm": k, "length_mm": 10} for k in (20, 50)]}
    told = says(made(TABLES | {"cavity": [cavity, *TABLES["cavity"][1:]]}))
    assert told["In a row"].startswith("2 of ")
    assert "middles 20, 50 mm from the start" in told["In a row"]


def test_a_sheet_in_inches_tells_nothing_in_mm():
    mold = squeeze.mold_of(TABLES)
    closing = closing_of_two()
    sheet = sheet_of(
        mold, closing, judge(closing, True, mold), file="a", date="2026-01-02", inches=True
    )
    told = [row.say for step in sheet.steps for row in step.rows]
    assert not [say for say in (*told, sheet.head, *sheet.advice) if re.search(r"\d mm\b|kPa", say)]


DIP = [[-30, -20], [30, -20], [30, 20], [10, 20], [10, -5], [-10, -5], [-10, 20], [-30, 20]]


def test_caught_air_is_told_with_the_place_of_its_vent(sheet):
    tables = TABLES | {"cavity": [{"name": "u", "points_mm": DIP, "round_mm": 0}], "cut": []}
    tables |= {"sprue": {"diameter_mm": 6, "height_mm": 40, "at_mm": [-20, 20]}}
    dipped = made(tables)
    told = says(dipped)
    assert "caught in u" in told["Air"]
    left, below, along = map(int, re.findall(r"\d+", told["Vents"]))
    # the middle of the arm's flat top; the block begins at (-45, -30)
    assert (left, below, along) == pytest.approx((65, 50, 40), abs=1)
    assert told["Air"].endswith(told["Vents"])
    assert told["Sprue"] == "6 mm across, 40 mm high; 25 from left, 50 from below, 40 mm along"
    pour = next(step for step in dipped.steps if step.name == "Pour")
    assert {"Sprue", "Vents"} <= {row.label for row in pour.rows}  # rods are set before pouring
    assert says(sheet)["Air"] == "no place keeps any"
    assert says(sheet)["Vents"].startswith("none needed")
    assert says(sheet)["Sprues"].startswith("6 mm across, 40 mm high; 30, 60 from left, 41 from")


def test_a_vent_that_crosses_a_cut_says_so():
    tables = TABLES | {"cavity": [{"name": "u", "points_mm": DIP, "round_mm": 0}]}
    tables |= {"sprue": {"diameter_mm": 6, "height_mm": 40, "at_mm": [-20, 20]}}
    tables |= {"cut": [{"name": "lid", "path_mm": [[-45, 25], [45, 25]]}]}
    assert says(made(tables))["Vents"].endswith("; straight up it crosses lid")


def test_vents_of_the_file_are_listed_drawn_and_warned_of():
    tables = TABLES | {"cavity": [{"name": "u", "points_mm": DIP, "round_mm": 0}], "cut": []}
    tables |= {"sprue": {"diameter_mm": 6, "height_mm": 40, "at_mm": [-20, 20]}}
    tables |= {"cut": [{"name": "lid", "path_mm": [[-45, 25], [45, 25]]}]}
    tables |= {"vent": [{"at_mm": [20, 20], "along_mm": 8}, {"at_mm": [-28, 20], "along_mm": 30}]}
    sheet = with_the_closing_of_two(tables)
    told = says(sheet)
    assert told["Vents"] == (
        "v1: 2 mm across, 10 mm high; 65 from left, 50 from below, 8 mm along; straight up it"
        " crosses lid"
    )
    assert told["Air"] == "no place keeps any"
    assert "Add vents" not in told
    assert told["Beware"].startswith("the band at 8 lies over v1: set")
    assert "0.1 in vents" in told["Resin"]
    (step,) = (step for step in sheet.steps if step.name == "Cut")
    picture = step.parts[0]
    assert isinstance(picture, Picture)
    assert {"v1", "v2"} <= {word.say for word in picture.words}
    assert ((20, 20), (20, 30)) in [stroke.points for stroke in picture.strokes]
    assert picture.caption.endswith("Dotted: vents.")
    more = with_the_closing_of_two(tables | {"vent": tables["vent"][1:]})
    places = re.findall(r"\d+", says(more)["Add vents"])
    assert list(map(int, places)) == pytest.approx([65, 50, 40], abs=1)


def test_the_height_of_a_sprue_is_the_head_where_no_sprue_is_given():
    tables = {key: value for key, value in TABLES.items() if key != "sprue"}
    assert says(made(tables))["Sprues"].startswith("up to 60 mm of resin (see Head)")


@pytest.mark.parametrize("scale", [1.0, 2.0, 3.0])
def test_letters_of_close_corners_do_not_lie_on_each_other(scale):
    """A key of 8 mm: its four corners lie 5 mm apart."""
    way = [[-45, 5], [-37, 5], [-34, 10], [-29, 10], [-26, 5], [45, 5]]
    mold = squeeze.mold_of(TABLES | {"cut": [{"name": "keyed", "path_mm": way}]})
    picture = cut_picture(section_of(mold), knife_points(section_of(mold)))

    def closest(words) -> float:
        rings = [
            np.array(word.at) / scale + np.array(word.shift_mm) for word in words if word.ringed
        ]
        assert len(rings) == 6
        return min(math.dist(a, b) for k, a in enumerate(rings) for b in rings[k + 1 :])

    assert closest(words_apart(picture, scale)) >= 2 * RING_MM - 1e-9
    if scale > 1:
        assert closest(picture.words) < 2 * RING_MM  # where they were put at first
    moved = [math.hypot(*word.shift_mm) for word in words_apart(picture, scale)]
    assert max(moved) < 8


def test_a_mold_without_an_answer_still_gets_its_sheet():
    tables = TABLES | {"band": [], "cut": [], "cavity": []}
    sheet = made(tables)
    assert "none in the mold file" in says(sheet)["Cuts"]
    assert as_pdf(sheet, "a4")


def test_numbers_of_lands_stand_clear_of_all_lines():
    """A flat cut and a kinked one over it, between two cavities: a number beside either cut."""
    rods = [
        {"name": name, "shape": "round", "diameter_mm": 14, "centre_mm": [x, 5]}
        for name, x in (("left", -15), ("right", 15))
    ]
    over = [[-10, 10], [-5, 13], [5, 13], [10, 10]]
    flat = {"name": "flat", "path_mm": [[-45, 5], [45, 5]]}
    closing = close(
        squeeze.mold_of(TABLES | {"cavity": rods, "cut": [flat, {"name": "over", "path_mm": over}]})
    )
    picture = closing_picture(closing)
    words = words_apart(picture, 2.0)
    assert len(words) == 4
    for word in words:
        at = np.array(word.at) / 2 + np.array(word.shift_mm)
        for stroke in picture.strokes:
            ring = [*stroke.points, *stroke.points[:1]] if stroke.closed else stroke.points
            line = LineString(np.array(ring) / 2).buffer(stroke.width_mm / 2)
            assert line.distance(Point(at)) >= RING_MM - 0.05


def test_no_cut_is_drawn_as_pressing_in_a_block_that_comes_apart(made_up):
    apart = made_up(outcome=Outcome.PIECE_NOT_HELD).closing()
    drawn, solved = closing_picture(apart), closing_picture(made_up().closing())
    assert "There is no closing to draw" in drawn.caption
    assert max(stroke.width_mm for stroke in drawn.strokes) < LAND_MM
    assert max(stroke.width_mm for stroke in solved.strokes) == LAND_MM
    assert len(drawn.words) == len(apart.lands)


def test_a_sheet_without_resin_says_what_pressure_it_counts_on(sheet):
    assert "Counted on" not in says(sheet)
    bare = made({key: value for key, value in TABLES.items() if key != "resin"})
    assert says(bare)["Counted on"].endswith(
        "under 100 mm of resin of 1.05 g/cm3, since the file gives no resin."
    )


def test_a_sheet_without_a_cavity_says_that_nothing_is_poured_in():
    empty = {key: value for key, value in TABLES.items() if key not in ("cavity", "sprue")}
    assert says(made(empty))["Resin"] == "none: the mold file has no cavity"


@pytest.mark.parametrize("size", [7.0, 8.5, 10.0])
def test_the_line_under_the_head_of_a_table_is_clear_of_its_first_row(size):
    """Capitals are 0.72 times as high as the letters' size; the line lies 0.8 mm below the head."""
    look = Look(size, 1.0, 90.0, 20.0)
    canvas = Written()
    _draw_grid(canvas, Grid(("model", "size"), (("1 rod", "10 x 10"),), (0.5, 0.5)), 0, 0, look)  # type: ignore[arg-type]
    (line,) = canvas.lines
    first = min(y for y, say in canvas.words if say == "1 rod")
    assert line - (first + 0.72 * size) > 0.7 * PT


def test_a_piece_of_the_cradle_that_covers_a_vent_is_warned_of():
    board = {"thickness_mm": 15, "material": "plywood", "back": "flat"}
    vent = {"at_mm": [15, 11], "diameter_mm": 2, "along_mm": 32}
    tables = TABLES | {"vent": [vent], "cradle": [board | {"covers": side} for side in SIDES]}
    told = says(with_the_closing_of_two(tables))["Beware"]
    assert told == "T2 lies over v1: drill the piece through, or set them elsewhere"
    sprue = tables["sprue"] | {"at_mm": [-15, 11]}
    told = says(with_the_closing_of_two(tables | {"sprue": sprue}))["Beware"]
    assert told.startswith("T2 lies over v1, T2 lies over the sprue: drill")
    without = tables | {"cradle": [board | {"covers": "bottom"}]}
    assert "Beware" not in says(with_the_closing_of_two(without))


SIDES = ("bottom", "top")


def test_the_number_of_a_cavity_stands_inside_it():
    """In the middle of an oval, and in a leg or the web of a yoke, whose own middle is rubber."""
    legs = [[-20, -9], [20, -9], [20, 15], [12, 15], [12, -1], [-12, -1], [-12, 15], [-20, 15]]
    yoke = {"name": "yoke", "points_mm": legs}
    oval = {"name": "oval", "shape": "oval", "width_mm": 20, "height_mm": 8, "centre_mm": [32, 5]}
    section = section_of(squeeze.mold_of(TABLES | {"cavity": [yoke, oval]}))
    words = {w.say: w.at for w in cut_picture(section, knife_points(section)).words if not w.ringed}
    first = section.cavities[0].loop.polygon
    assert first.contains(Point(words["1"]))
    assert first.exterior.distance(Point(words["1"])) > 3.5  # legs and web are 8 mm wide
    assert words["2"] == pytest.approx((32, 5), abs=1e-6)


class Written:
    """A canvas that keeps how high its words and lines stand [pt]."""

    def __init__(self) -> None:
        self.words: list[tuple[float, str]] = []
        self.lines: list[float] = []

    def drawString(self, x: float, y: float, say: str) -> None:  # noqa: N802
        self.words.append((y, say))

    def drawRightString(self, x: float, y: float, say: str) -> None:  # noqa: N802
        self.words.append((y, say))

    def line(self, x: float, y: float, x1: float, y1: float) -> None:
        self.lines.append(y)

    def setFont(self, *font: object) -> None:  # noqa: N802
        pass

    def setLineWidth(self, wide: float) -> None:  # noqa: N802
        pass
