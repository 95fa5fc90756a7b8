"""What stands in the figures, on made-up closings."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from pypdf import PdfReader

import squeeze
from squeeze.mold import load
from squeeze.mold.forces.loads import Loads, Push
from squeeze.mold.vents import Vent
from squeeze.show.figure.arrows import merged_pushes
from squeeze.show.figure.closing import figure, pressure_levels, save
from squeeze.show.figure.lands import curves
from squeeze.show.figure.outlines import gap_factor, interpolated, pose_of
from squeeze.show.figure.section import body_paths, runs
from squeeze.show.figure.thumbnails import small
from squeeze.show.paper import PAPERS, on_paper
from squeeze.solve.field import Wrap
from squeeze.solve.outcome import Outcome
from squeeze.verdict import MORE_BANDS, judge


@cache
def drawn(closing, **how):
    """Draw a closing once for all tests: they look at the figure, and none changes it."""
    return figure(closing, judge(closing), **how)


def texts(made) -> str:
    found = [*made.texts, *(t for ax in made.axes for t in ax.texts)]
    return "\n".join(t.get_text() for t in found)


def hatched(made) -> list[Patch]:
    """Hatched patches in the section, without the samples in the key."""
    return [p for p in made.axes[0].patches if p.get_hatch()]


def test_nothing_is_hatched_where_all_presses(closed):
    assert hatched(drawn(closed)) == []
    key = drawn(closed).axes[1]
    assert any(patch.get_hatch() for patch in key.patches)  # a swatch for what is not there
    assert "no place of a cut is open" in texts(drawn(closed))


def test_no_pressure_is_drawn_inside_the_hatch_of_an_open_stretch(gaping):
    for land in gaping.lands:
        drawn = curves(land)
        for a, b in drawn.open_mm:
            inside = (drawn.s_mm >= a) & (drawn.s_mm <= b)
            assert not drawn.pressure_kpa[inside].any()
            assert drawn.gap_mm[(drawn.s_mm > a) & (drawn.s_mm < b)].all()
        pressed = ~np.any([(drawn.s_mm >= a) & (drawn.s_mm <= b) for a, b in drawn.open_mm], axis=0)
        assert not drawn.gap_mm[pressed].any()
        assert set(land.s_mm) <= set(drawn.s_mm)


def test_every_open_stretch_is_hatched(gaping):
    """The middle land, and the inner ends of the two outer ones."""
    assert len(hatched(drawn(gaping))) == 3
    assert "gap drawn" in texts(drawn(gaping))


def test_the_gap_is_drawn_by_the_stated_factor(gaping):
    pose = pose_of(gaping, deformed=False)
    middle = hatched(drawn(gaping))[1].get_path().get_extents()
    assert f"gap drawn {pose.gap_factor:g} times" in texts(drawn(gaping))
    assert middle.height == pytest.approx(pose.gap_factor * 1.0)
    left, right = pose.faces(gaping.lands[1])
    np.testing.assert_allclose((left - right)[:, 1], pose.gap_factor * gaping.lands[1].gap_mm)


def test_deformed_shape_is_moved_by_the_stated_factor(gaping):
    """The upper part lifts by 1 mm in its middle; the rest follows the best rigid motion."""
    pose = pose_of(gaping, deformed=True)
    left, right = pose.faces(gaping.lands[1])
    assert pose.factor > 1
    np.testing.assert_allclose((left - right)[:, 1], pose.factor * gaping.lands[1].gap_mm)
    assert f"moved {pose.factor:g} times as far" in texts(drawn(gaping, deformed=True))


def test_rigid_motion_is_not_drawn(closed):
    """A shifted and turned block is drawn as it was poured."""
    x, y = closed.field.points_mm.T
    moved = np.column_stack([3.0 - 0.01 * y, 0.01 * x])
    closing = replace(closed, field=replace(closed.field, displacement_mm=moved))
    pose = pose_of(closing, deformed=True)
    drawn_at = pose.at(closing.field.points_mm, moved)
    np.testing.assert_allclose(drawn_at, closing.field.points_mm, atol=1e-9)


def test_bodies_have_the_rubber_area(closed):
    """Two parts with bites: 120 x 120 less two cavities of 10 x 10 mm."""
    (path,) = body_paths(closed.field, pose_of(closed, False)).values()
    area = 0.0
    for ring in path.to_polygons():
        x, y = ring.T
        area += 0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])
    assert area == pytest.approx(120 * 120 - 2 * 100)


def test_title_and_advice_are_written(gaping):
    said = texts(drawn(gaping)).replace("\n", " ")
    assert judge(gaping).say in said
    assert MORE_BANDS in said
    assert "Estimates for planning" in said


@pytest.mark.parametrize("count", [1, 4, 8])
def test_every_land_has_a_panel_with_pressure_and_gap(made_up, count):
    centres = tuple(15.0 * (k - (count - 2) / 2) for k in range(count - 1))
    closing = made_up(centres_mm=centres).closing()
    made = drawn(closing)
    assert len(closing.lands) == count
    assert len(made.axes) == 2 + 2 * count + (count - 1)


def test_panels_show_the_closing_numbers(gaping):
    pressure, gap = drawn(gaping).axes[4:6]
    np.testing.assert_array_equal(pressure.lines[0].get_ydata(), gaping.lands[1].pressure_kpa)
    np.testing.assert_array_equal(gap.lines[0].get_ydata(), gaping.lands[1].gap_mm)


def test_without_an_answer_no_pressure_is_drawn(made_up):
    made = drawn(made_up(outcome=Outcome.PIECE_NOT_HELD).closing())
    assert len(made.axes) == 2
    assert len(made.axes[0].collections) == 0
    assert "held by nothing" in texts(made)


def test_pushes_are_told(made_up):
    pushes = (Push((60.0, 0.0), 30.0, 0.02), Push((-60.0, 0.0), 30.0, 0.02))
    closing = made_up(loads=Loads(pushes=pushes, all_round_mpa=0.01)).closing()
    assert texts(drawn(closing)).count("push, 20 kPa over 30 mm") == 1
    assert "10 kPa all round" in texts(drawn(closing))


def test_band_pushes_are_gathered_without_loss():
    """A round block: many places, at most about 36 arrows, the same sum of lengths and no rest."""
    a = np.linspace(0, 2 * np.pi, 401)[:-1]
    ring = np.column_stack([np.cos(a), np.sin(a)])
    at, force = merged_pushes(Wrap(0.6, 2 * np.pi * 60, 60 * ring, -ring * 0.6 * 2 * np.pi / 400))
    assert 30 < len(at) <= 36
    strength = np.hypot(*force.T)
    assert strength.min() > 0.99 * strength.max()
    np.testing.assert_allclose(force.sum(axis=0), 0.0, atol=1e-12)
    assert np.hypot(*force.T).sum() == pytest.approx(0.6 * 2 * np.pi, rel=2e-3)


@pytest.mark.parametrize("first", [0, 3, 7])
def test_a_corner_has_one_arrow_wherever_the_list_begins(first):
    """Four corners of three places each, 100 mm apart."""
    corner = np.array([[-1.0, 0.0], [0.0, 0.5], [1.0, 0.0]])
    places = np.vstack([corner + 50 * np.array(c) for c in ((0, 1), (-1, 0), (0, -1), (1, 0))])
    push = -places / np.hypot(*places.T)[:, None]
    at, force = merged_pushes(Wrap(1.0, 300.0, np.roll(places, first, 0), np.roll(push, first, 0)))
    assert len(at) == 4
    np.testing.assert_allclose(np.hypot(*force.T), 3.0, rtol=1e-3)


def test_runs_need_two_places():
    flags = np.array([True, True, False, True, False])
    assert runs(flags) == [slice(0, 2)]
    assert runs(flags, reach=1) == [slice(0, 3), slice(2, 5)]


@pytest.fixture(scope="module")
def two_figures(closed) -> tuple[Figure, Figure]:
    """Draw one closing twice."""
    verdict = judge(closed)
    return figure(closed, verdict), figure(closed, verdict)


@pytest.mark.parametrize("form", ["png", pytest.param("pdf", marks=pytest.mark.slow), "svg"])
def test_the_same_figure_gives_the_same_file(two_figures, tmp_path, form):
    paths = [tmp_path / f"{k}.{form}" for k in (0, 1)]
    for path, made in zip(paths, two_figures, strict=True):
        save(made, path)
    assert paths[0].read_bytes() == paths[1].read_bytes()
    assert paths[0].stat().st_size > 5000


def test_small_pictures_share_their_levels(closed, made_up):
    strong = made_up(press=lambda x: 50 + 0 * x).closing()
    made = small([(c, judge(c)) for c in (closed, strong)])
    assert len(made.axes) == 3
    assert pressure_levels([closed, strong]).edges[-1] >= 50
    first, second = (made.axes[k].collections[0].get_facecolors() for k in (0, 1))
    assert not np.allclose(first[0], second[0])


def test_figure_in_inches(gaping):
    made = figure(gaping, judge(gaping, inches=True), inches=True)
    gap = made.axes[5]
    assert gap.lines[0].get_ydata().max() == pytest.approx(1.0 / 25.4)
    assert gap.get_xlim()[1] == pytest.approx(gaping.lands[1].length_mm / 25.4)
    assert made.axes[3].get_ylabel() == "gap [in]"


def test_refined_keeps_the_places_and_is_linear_between():
    fine = interpolated(np.array([0.0, 1.0, 3.0]), parts=4)
    np.testing.assert_allclose(fine, [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3])


def test_small_pictures_share_the_multiple_of_the_gaps(gaping, made_up):
    """The widest gap of all decides: 1.0 mm, though 0.1 mm alone would be drawn larger."""
    narrow = made_up(gap=lambda x: np.where(np.abs(x) < 10, 0.1, 0.0)).closing()
    assert gap_factor([narrow]) > gap_factor([gaping, narrow]) == gap_factor([gaping])
    made = small([(c, judge(c)) for c in (gaping, narrow)])
    assert texts(made).count(f"gap drawn {gap_factor([gaping]):g} times as wide") == 2


def test_castings_are_drawn_at_the_stated_exaggeration(closed):
    """The edge of the first cavity moves by 1 % of its width; it is drawn 20 times as far."""
    edge = closed.cavities[0].edge_mm
    shift = 0.01 * (edge - edge.mean(axis=0))
    moved = replace(closed.cavities[0], shift_mm=shift, largest_shift_mm=0.07)
    closing = replace(closed, cavities=(moved, closed.cavities[1]))
    made = drawn(closing)
    ax = made.axes[-2]
    poured, cast = (patch.get_path().get_extents() for patch in ax.patches)
    factor = (cast.width - poured.width) / (0.01 * poured.width)
    assert factor > 1
    assert f"Castings, changes drawn {factor:.0f} times as large" in texts(made)
    (head,) = (text for text in made.texts if text.get_text().startswith("Castings"))
    assert head.get_fontsize() >= 12
    assert "width +0.10 mm" in texts(made).replace("\n", " ")


def test_a_figure_as_pdf_prints_whole_on_a4_and_on_letter(closed, tmp_path):
    save(drawn(closed), tmp_path / "one.pdf")
    (page,) = PdfReader(tmp_path / "one.pdf").pages
    sides = sorted(float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height))
    for wide, high in PAPERS.values():
        assert sides[0] <= wide + 0.01
        assert sides[1] <= high + 0.01
    assert "contact pressure" in page.extract_text()


def test_a_page_that_fits_stays_as_it_is():
    page = io.BytesIO()
    Figure(figsize=(6, 4)).savefig(page, format="pdf")
    assert on_paper(page.getvalue()) == page.getvalue()


@pytest.mark.parametrize(("size", "upright"), [((11, 14), True), ((20, 6), False)])
def test_a_page_that_is_too_large_is_laid_as_it_is_larger(size, upright):
    page = io.BytesIO()
    Figure(figsize=size).savefig(page, format="pdf")
    box = PdfReader(io.BytesIO(on_paper(page.getvalue()))).pages[0].mediabox
    assert (box.height > box.width) == upright


def test_no_pair_to_draw_gives_a_sentence_instead_of_a_picture():
    drawn = small([])
    assert [text.get_text() for text in drawn.texts] == ["no case has an answer"]


def test_the_errors_are_a_band_along_each_land_and_in_the_key():
    mold = load(Path(__file__).parents[2] / "studies" / "barrels" / "barrels-round.toml")
    closing = squeeze.close(mold, fineness=0.5, deformation="small")
    made, without = drawn(closing), drawn(replace(closing, errors=None))
    assert "error of the mesh" in texts(made)
    assert "error of the mesh" not in texts(without)

    def areas(figure: Figure) -> int:
        return sum(len(ax.collections) for ax in figure.axes)

    assert areas(made) == areas(without) + 2 * len(closing.lands)


def test_inches_put_psi_and_pounds_on_the_picture(gaping):
    """No length in mm, pressure in kPa or force in N is left beside the inches."""
    drawn = figure(gaping, judge(gaping, inches=True), inches=True)
    said = [text.get_text() for ax in drawn.axes for text in ax.texts]
    said += [ax.get_ylabel() for ax in drawn.axes] + [text.get_text() for text in drawn.texts]
    left = [text for text in said if re.search(r"\d mm\b|kPa|\bN per|N/mm|\[mm\]", text)]
    assert left == []
    assert any("[psi]" in text for text in said)
    assert any("lbf per inch" in text for text in said)
    key = drawn.axes[1].texts
    at = next(i for i, text in enumerate(key) if "[psi]" in text.get_text())
    edges = [float(text.get_text().removesuffix(" +")) for text in key[at + 1 :][:5]]
    assert edges == pytest.approx(edges[1] * np.arange(5))
    assert float(f"{edges[1]:.0e}") == edges[1]  # one digit, so that the others are round as well


def test_ticks_of_pressure_are_round_in_the_unit_that_is_shown(gaping):
    for inches, times in ((False, 1.0), (True, 0.145037738)):
        drawn = figure(gaping, judge(gaping, inches=inches), inches=inches)
        named = "pressure [psi]" if inches else "pressure [kPa]"
        ax = next(each for each in drawn.axes if each.get_ylabel() == named)
        ticks = times * np.asarray(ax.get_yticks())
        step = ticks[1] - ticks[0]
        assert min(abs(step / 10 ** np.floor(np.log10(step)) - d) for d in (1, 2, 2.5, 5)) < 1e-6


def test_small_pictures_bear_the_caution(gaping):
    made = small([(gaping, judge(gaping))] * 2)
    assert "Estimates for planning" in texts(made)
    assert "Stretched bands snap" in texts(made)


def dotted(made) -> list:
    """Dotted lines of the section, without the sample in the key."""
    return [line for line in made.axes[0].lines if line.get_linewidth() == 1.6]


def test_vents_are_drawn_with_the_numbers_of_the_sheet(closed):
    (x, y), top = closed.section.cavities[0].loop.polygon.centroid.coords[0], 100.0
    vents = [Vent("", "a", (x, y, at), (x, top, at), 2.0, top - y) for at in (10.0, 20.0, 30.0)]
    vents.append(Vent("", "a", (x + 4, y, 40.0), (x + 4, top, 40.0), 2.0, top - y))
    made = figure(closed, vents=vents)
    assert [tuple(line.get_xdata()) for line in dotted(made)] == [(x, x), (x + 4, x + 4)]
    words = {t.get_text() for t in made.axes[0].texts}
    assert {"v1-3", "v4"} <= words
    assert "v1, v2, ...: vents" in texts(made)
    assert dotted(drawn(closed)) == []
    assert "vent" not in texts(drawn(closed))


def test_a_vent_moves_with_the_rubber_of_a_deformed_block(gaping):
    node = int(np.argmax(gaping.field.points_mm[:, 1]))
    x, y = gaping.field.points_mm[node]
    made = figure(gaping, deformed=True, vents=[Vent("", "a", (x, y - 20, 1), (x, y, 1), 2, 20)])
    pose = pose_of(gaping, True)
    there = slice(node, node + 1)
    (end,) = pose.at(gaping.field.points_mm[there], gaping.field.displacement_mm[there])
    (line,) = dotted(made)
    assert (line.get_xdata()[1], line.get_ydata()[1]) == pytest.approx(tuple(end))
    assert end[1] != pytest.approx(y, abs=1e-3)
