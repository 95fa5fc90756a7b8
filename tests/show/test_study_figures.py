"""What stands in the figures of studies, drawn from made-up rows."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.text import Text

from squeeze.show.figure.closing import save
from squeeze.show.study import sections
from squeeze.show.study.ends import spread
from squeeze.show.study.figures import figure_path, fits, study_figure
from squeeze.show.study.table import count_words, failed_words, study_table
from squeeze.study import CaseCounts, load_study

MOLD = Path(__file__).parents[2] / "studies" / "corners" / "block.toml"
HEAD = f'''
title = "Made up"
mold = "{MOLD.as_posix()}"
keep = ["closed_share", "largest_gap_mm", "seals"]
[vary]
"block.bevel_mm" = [0, 5, 10]
"band.tension_n_per_mm" = [0.1, 0.2]
[[paired]]
name = "rubber"
labels = ["soft", "hard"]
"rubber.youngs_modulus_mpa" = [0.3, 3.0]
[names]
"largest_gap_mm" = "widest gap [mm]"
'''


@pytest.fixture
def drawn(tmp_path):
    """Return a function that draws the first figure of a study and also returns it."""

    def draw(figure: str, rows=None, inches=False):
        path = tmp_path / "study.toml"
        path.write_text(HEAD + figure)
        study = load_study(path)
        return study_figure(study, 0, made_up() if rows is None else rows, inches)

    return draw


def made_up() -> list[dict]:
    """Return rows whose gap is bevel x tension, or 10 times that in hard rubber; one has failed."""
    rows = []
    for bevel in (0, 5, 10):
        for tension in (0.1, 0.2):
            for rubber in ("soft", "hard"):
                gap = bevel * tension * (10 if rubber == "hard" else 1)
                rows.append(
                    {
                        "case": len(rows) + 1,
                        "block.bevel_mm": bevel,
                        "band.tension_n_per_mm": tension,
                        "rubber": rubber,
                        "rubber.youngs_modulus_mpa": 3.0 if rubber == "hard" else 0.3,
                        "closed_share": 1 - 0.05 * bevel,
                        "largest_gap_mm": gap,
                        "seals": bevel < 10,
                        "state": "done",
                        "outcome": "converged",
                        "error": None,
                    }
                )
    failed = {"state": "failed", "outcome": None, "error": "took longer than 3 s"}
    rows[-1] |= dict.fromkeys(("closed_share", "largest_gap_mm", "seals")) | failed
    return rows


LINES = """
[figure]
x = "block.bevel_mm"
y = ["closed_share", "largest_gap_mm"]
each = "band.tension_n_per_mm"
where = { rubber = "soft" }
"""


def test_lines_carry_the_rows(drawn):
    made = drawn(LINES)
    shares, gaps = made.axes
    assert len(shares.lines) == len(gaps.lines) == 2
    for line, tension in zip(gaps.lines, (0.1, 0.2), strict=True):
        np.testing.assert_allclose(line.get_xydata(), [(b, b * tension) for b in (0, 5, 10)])
    assert gaps.get_ylabel() == "widest gap [mm]"
    assert gaps.get_xlabel() == "bevel of the block [mm]"
    assert "soft" in [text.get_text() for text in made.texts]


def test_lines_are_told_apart_without_colour(drawn):
    lines = drawn(LINES).axes[0].lines
    assert len({(line.get_marker(), line.get_linestyle()) for line in lines}) == 2


def test_each_line_carries_its_label_at_its_end(drawn):
    made = drawn(LINES)
    made.canvas.draw()
    shares, gaps = made.axes
    for ax in (shares, gaps):
        labels = [text for text in ax.texts if text.get_text() in ("0.1", "0.2")]
        assert [text.get_color() for text in labels] == [line.get_color() for line in ax.lines]
        boxes = sorted(map(Text.get_window_extent, labels), key=lambda box: box.y0)
        assert boxes[0].y1 <= boxes[1].y0 + 1  # not on each other, though lines end together
        assert all(box.x0 > ax.get_window_extent().x1 for box in boxes)


@given(st.lists(st.floats(0, 1), max_size=8))
def test_labels_are_spread_in_the_order_of_the_ends(wanted):
    found = spread(wanted, 0.1)
    order = sorted(range(len(wanted)), key=lambda k: found[k])
    assert all(found[b] - found[a] >= 0.1 - 1e-9 for a, b in pairwise(order))
    assert all(wanted[a] <= wanted[b] for a, b in pairwise(order))
    assert all(-1e-9 <= at <= 1 + 1e-9 for at in found)


def test_labels_with_room_stay_where_they_are():
    assert spread([0.2, 0.9, 0.5], 0.1) == pytest.approx([0.2, 0.9, 0.5])


def test_a_line_breaks_where_there_is_no_answer(drawn):
    made = drawn(LINES.replace('"soft"', '"hard"'))
    last = made.axes[1].lines[1].get_ydata()
    assert np.isnan(last[-1])
    assert np.isfinite(last[:-1]).all()


def test_words_become_bars_with_their_numbers(drawn):
    made = drawn(
        '[figure]\nx = "rubber"\ny = "largest_gap_mm"\n'
        'where = { "block.bevel_mm" = 10, "band.tension_n_per_mm" = [0.1, 0.2] }\n'
        'each = "band.tension_n_per_mm"'
    )
    ax = made.axes[0]
    widths = sorted(bar.get_width() for bar in ax.patches)
    assert widths == pytest.approx([0.0, 1.0, 2.0, 10.0])
    assert "failed" in [text.get_text() for text in ax.texts]  # said, where a bar would be
    assert [label.get_text() for label in ax.get_yticklabels()] == ["soft", "hard"]


MAP = """
[figure]
kind = "map"
x = "block.bevel_mm"
y = "band.tension_n_per_mm"
value = "VALUE"
where = { rubber = "hard" }
"""


def test_a_map_tints_writes_and_hatches(drawn):
    ax = drawn(MAP.replace("VALUE", "largest_gap_mm")).axes[0]
    assert len(ax.patches) == 6
    assert [bool(p.get_hatch()) for p in ax.patches].count(True) == 1
    assert sorted(t.get_text() for t in ax.texts) == ["0", "0", "10", "10", "5"]
    dark = [sum(p.get_facecolor()[:3]) for p in ax.patches if not p.get_hatch()]
    assert max(dark) - min(dark) > 0.5


def test_a_map_of_yes_and_no(drawn):
    ax = drawn(MAP.replace("VALUE", "seals")).axes[0]
    assert {t.get_text() for t in ax.texts} == {"yes", "no"}


def test_sections_are_closed_by_the_theory_of_their_study(tmp_path, monkeypatch, closed):
    asked = []

    def close_case(block, mold, deformation="small"):
        asked.append(deformation)
        return closed

    monkeypatch.setattr(sections, "close_case", close_case)
    monkeypatch.setattr(sections.BlockCache, "block_for", lambda *_: None)
    path = tmp_path / "study.toml"
    figure = '[[figure]]\nkind = "sections"\nwhere = { rubber = "soft", "block.bevel_mm" = 5 }'
    path.write_text(HEAD.replace("[vary]", 'deformation = "large"\n[vary]') + figure)
    study_figure(load_study(path), 0, made_up())
    assert asked == ["large", "large"]


def test_nothing_is_cut_off(drawn):
    """Every text lies on the paper."""
    for figure in (LINES, MAP.replace("VALUE", "largest_gap_mm")):
        made = drawn(figure)
        made.canvas.draw()
        w, h = made.canvas.get_width_height()
        for text in [*made.texts, *(ax.xaxis.label for ax in made.axes)]:
            box = text.get_window_extent()
            assert box.x0 >= 0, text
            assert box.x1 <= w, text
            assert box.y0 >= 0, text
            assert box.y1 <= h, text


def test_sections_are_closed_anew(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(
        HEAD.replace("[vary]", "[vary]\n").replace('mold = "', 'fineness = 0.5\nmold = "')
        + '[figure]\nkind = "sections"\nwhere = { "rubber" = "soft", "block.bevel_mm" = [0, 10] }\n'
    )
    study = load_study(path)
    made = study_figure(study, 0, made_up())
    titles = [text.get_text() for text in made.texts]
    assert "bevel of the block 0 mm, tension of\nthe band 0.1 N/mm" in titles
    assert len(made.axes) == 4 + 1  # and the key


def test_the_same_figure_gives_the_same_bytes(drawn, tmp_path):
    for name in ("a.png", "b.png"):
        save(drawn(LINES), tmp_path / name)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


def test_figures_have_names(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(HEAD + LINES + 'file = "gap.svg"')
    assert figure_path(load_study(path), 0).name == "gap.svg"
    path.write_text(HEAD + LINES)
    assert figure_path(load_study(path), 0).name == "study-1.png"


def test_where_takes_a_value_or_several():
    row = {"a": 1, "b": "x"}
    assert fits(row, {"a": 1.0, "b": ["x", "y"]})
    assert not fits(row, {"a": [2, 3]})


def test_words(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(HEAD)
    study = load_study(path)
    said = failed_words(made_up(), study)
    assert said == [
        'case 12 (block.bevel_mm = 10, band.tension_n_per_mm = 0.2, rubber = "hard",'
        " rubber.youngs_modulus_mpa = 3): took longer than 3 s"
    ]
    assert count_words(CaseCounts(12, 9, 1, 1, 0)) == (
        "9 of 12 cases done, 1 missing, 1 failed, 1 refused (no such mold can be made)."
    )
    rows = made_up()
    assert study_table(rows, study, 160).row_count == 12
    assert study_table(rows, study, 40) is None


def test_errors_are_drawn_as_bands_and_named(drawn):
    figure = '[figure]\nx = "block.bevel_mm"\ny = "largest_gap_mm"\neach = "rubber"\n'
    without = drawn(figure)
    rows = [row | {"error.largest_gap_mm": 0.1} for row in made_up()]
    made = drawn(figure, rows)
    words = [text.get_text() for text in made.texts]
    assert any("error of the mesh" in word for word in words)
    assert not any("error of the mesh" in text.get_text() for text in without.texts)
    assert len(made.axes[0].collections) > len(without.axes[0].collections)


def test_bars_and_maps_tell_errors(drawn):
    rows = [row | {"error.largest_gap_mm": 0.125} for row in made_up()]
    bars = drawn(
        '[figure]\nx = "rubber"\ny = "largest_gap_mm"\nwhere = {"block.bevel_mm" = 5, '
        '"band.tension_n_per_mm" = 0.1}\n',
        rows,
    )
    assert any("± 0.125" in text.get_text() for text in bars.axes[0].texts)
    field = drawn(
        '[figure]\nkind = "map"\nx = "block.bevel_mm"\ny = "band.tension_n_per_mm"\n'
        'value = "largest_gap_mm"\nwhere = {rubber = "soft"}\n',
        rows,
    )
    assert any(
        "error of the mesh at most 0.125" in t.get_text().replace("\n", " ") for t in field.texts
    )


def test_inches_are_those_of_the_table_and_of_the_charts(tmp_path, drawn):
    """Heads, values, what is held and words in brackets are turned; shares and names stay."""
    path = tmp_path / "study.toml"
    path.write_text(HEAD)
    study, rows = load_study(path), made_up()
    made = study_table(rows, study, 160, inches=True)
    heads = [" ".join(str(column.header).split()) for column in made.columns]
    assert heads[1:3] == ["block bevel in", "band tension lbf per in"]
    assert "largest gap in" in heads
    cells = [[str(cell) for cell in column.cells] for column in made.columns]
    assert cells[1][-1] == "0.3937"  # 10 mm
    assert cells[2][-1] == "1.142"  # 0.2 N/mm
    (failed,) = failed_words(rows, study, inches=True)
    assert failed.startswith("case 12 (block.bevel_in = 0.3937, ")
    figure = (
        '[figure]\nx = "block.bevel_mm"\ny = "largest_gap_mm"\neach = "rubber"\n'
        'where = { "band.tension_n_per_mm" = 0.1 }\n'
    )
    plain, turned = drawn(figure), drawn(figure, inches=True)
    (metric,), (inch,) = plain.axes, turned.axes
    assert metric.get_ylabel() == "widest gap [mm]"
    assert inch.get_ylabel() == "widest gap [in]"
    assert inch.get_xlabel() == "bevel of the block [in]"
    for a, b in zip(metric.lines, inch.lines, strict=True):
        assert b.get_xydata() == pytest.approx(np.asarray(a.get_xydata()) / 25.4)
    words = " ".join(text.get_text() for text in turned.texts)
    assert "0.571 lbf/in" in words
    assert "N/mm" not in words
