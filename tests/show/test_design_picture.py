"""The blocks of a design side by side: one scale of length, and the first stands out."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.patches import Rectangle

import squeeze
from squeeze.design import Design, DesignAnswer, DesignFigures
from squeeze.show.design.picture import FIRST, WHY, design_figure

FIGURES = DesignFigures(
    900.0, None, 12, 4, 3.0, 0.0, 0.05, 0.01, "Clean", 12, 12, 12, 3.2, 10.0, 90.0, 5.0, False
)


def figure(*widths):
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    designs = []
    for number, wide in enumerate(widths, start=1):
        block = mold.block.model_copy(update={"diameter_mm": wide})
        name, other = f"round, {wide} mm", mold.model_copy(update={"block": block})
        designs.append(Design(number, name, "round", "", other, FIGURES))
    return design_figure(DesignAnswer("blocks", tuple(designs), None, 9, 2, ()))


@pytest.fixture(scope="module")
def drawn():
    return figure(120.0, 200.0)


def test_all_blocks_are_drawn_to_one_scale(drawn):
    first, second, _ = drawn.axes
    scales = []
    for ax in (first, second):
        box = ax.get_window_extent()
        scales += [np.ptp(ax.get_xlim()) / box.width, np.ptp(ax.get_ylim()) / box.height]
    assert np.ptp(first.get_xlim()) > 200
    assert scales[0] == pytest.approx(scales[2])
    assert scales[1] == pytest.approx(scales[3])
    texts = [text.get_text() for text in drawn.axes[-1].texts]
    assert "50 mm" in texts


def test_the_bar_is_as_long_as_it_says(drawn):
    key = drawn.axes[-1]
    bar = min(key.patches, key=lambda each: each.get_x())
    inches = bar.get_width() * key.get_window_extent().width / drawn.dpi / np.ptp(key.get_xlim())
    section = drawn.axes[0]
    drawn.canvas.draw()
    wide = section.get_window_extent().width / drawn.dpi / np.ptp(section.get_xlim())
    assert inches == pytest.approx(50 * wide, rel=1e-6)


def test_the_first_stands_out(drawn):
    titles = [text.get_text() for text in drawn.texts if FIRST in text.get_text()]
    costs = "900 g of rubber, 4 bands, 12 steps"
    assert titles == [f"{FIRST}:\n{WHY}\n1. round, 120.0 mm\n{costs}"]
    (mark,) = [each for each in drawn.findobj(Rectangle) if each.get_zorder() == -1]
    x, y = mark.get_xy()
    assert x < 0.1
    assert x + mark.get_width() < 0.5 + 1e-6
    assert y + mark.get_height() > 0.9


def test_titles_stand_above_the_sections(drawn):
    """However many lines they have, the arrows of a tall block do not run through them."""
    drawn.canvas.draw()
    sections = drawn.axes[:2]
    for text in drawn.texts:
        if "of rubber" in text.get_text():
            low = text.get_window_extent().y0
            assert low >= max(ax.get_window_extent().y1 for ax in sections)


def test_a_block_alone_has_nothing_to_stand_out_from():
    alone = figure(120.0)
    assert not any(WHY in text.get_text() for text in alone.texts)
    assert not [each for each in alone.findobj(Rectangle) if each.get_zorder() == -1]


def test_a_name_too_long_for_a_line_is_broken():
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    long = Design(2, "square, 78 mm, corners of radius 5 mm", "square", "", mold, FIGURES)
    answer = DesignAnswer("one", (replace(long, number=1), long), None, 9, 2, ())
    titles = [text.get_text() for text in design_figure(answer).texts]
    assert any(title.count("\n") >= 1 and title.startswith("2.") for title in titles)
    inches = [text.get_text() for text in design_figure(answer, inches=True).texts]
    assert any("square, 3.07 in" in title for title in inches)
    assert not any(" mm" in text or "kPa" in text for text in inches)
