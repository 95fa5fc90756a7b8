"""Cradles side by side: the same cuts, equal pull, simplest first."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console
from typer.testing import CliRunner

import squeeze
from squeeze.cli import app
from squeeze.mold import BadInput, load, mold_of
from squeeze.show.cradles import UNSURE, _grade, cradle_data, cradle_table, cradle_words
from squeeze.show.template.drawing import grooves_of
from squeeze.solve.outcome import Outcome
from squeeze.study.cradles import comparison
from squeeze.study.cradles.candidates import BoardSpec, candidates
from squeeze.study.cradles.comparison import (
    Blocks,
    CradleComparison,
    CradleRow,
    compare_cradles,
)
from squeeze.study.cradles.comparison import _rows as made
from squeeze.verdict.figures import NO_FIGURES, Figures
from squeeze.verdict.grade import GOOD, STEP_FELT_MM

PLAIN = {
    "title": "A cut under the top",
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
    "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
    "cut": [{"name": "under the top", "path_mm": [[-60, 40], [60, 40]]}],
    "band": [{"tension_n_per_mm": 0.6}],
}


@pytest.fixture(scope="module")
def found() -> CradleComparison:
    return compare_cradles(mold_of(PLAIN), tensions_n_per_mm=(0.3, 0.6), fineness=0.5)


def row(found: CradleComparison, name: str, tension: float = 0.6):
    return next(r for r in found.at(tension) if r.name == name)


def test_all_kinds_are_there_simplest_first():
    names = [candidate.name for candidate in candidates(mold_of(PLAIN))]
    assert names[0] == "bands alone"
    wanted = (
        "two boards, clamped",
        "two flat boards",
        "four flat boards",
        "two round-backed",
        "four round-backed",
        "saddle",
        "full cradle in two",
        "full cradle in four",
    )
    places = [next(k for k, name in enumerate(names) if w in name) for w in wanted]
    assert places == sorted(places)
    assert names[-1] == "round block"


@pytest.mark.slow
def test_bands_alone_leave_it_open_and_a_cradle_closes_it(found):
    assert not row(found, "bands alone").figures.closes
    best = found.simplest(0.6)
    assert best is not None
    assert best.figures.closes
    before = found.at(0.6)[: [r.name for r in found.at(0.6)].index(best.name)]
    assert not any(r.figures.closes and r.is_sure for r in before)


def test_clamps_and_bands_on_the_same_boards_share_a_block(monkeypatch):
    built = []

    def counted(mold, fineness):
        built.append(mold.title)
        return squeeze.Block(mold, fineness)

    monkeypatch.setattr(comparison, "Block", counted)
    blocks = Blocks(0.35)
    wanted = ("two boards, clamped, top and bottom", "two flat boards, top and bottom")
    pair = [c for c in candidates(mold_of(PLAIN)) if c.name in wanted]
    clamped, banded = (row for candidate in pair for row in made(candidate, (0.3,), blocks))
    assert built == [wanted[0]]
    assert (clamped.closing.title, banded.closing.title) == wanted
    assert banded.closing.loads.tension_n_per_mm == 0.3
    assert clamped.closing.loads.tension_n_per_mm == 0.0
    (alone,) = made(pair[1], (0.3,), Blocks(0.35))
    assert banded.closing.lands[0].pressure_kpa == pytest.approx(
        alone.closing.lands[0].pressure_kpa
    )
    blocks.keep()
    assert list(blocks._made)  # the last few stay
    (again,) = made(pair[1], (0.6,), blocks)
    assert len(built) == 2, "one for the block alone, none for the pull"
    assert again.closing.loads.tension_n_per_mm == 0.6


@pytest.mark.parametrize(
    "name", ["bands alone", "two boards, clamped", "two flat boards", "full cradle in two"]
)
def test_closed_share_and_evenness_do_not_depend_on_a_slight_pull(name):
    """Bands that hardly deform the block: twice the pull leaves the closed part as it is."""
    candidate = next(c for c in candidates(mold_of(PLAIN)) if c.name.startswith(name))
    once, twice = made(candidate, (0.002, 0.004), Blocks(0.5))
    assert once.solved
    assert twice.solved
    assert not any(each.closing.deformation.is_large for each in (once, twice))
    a, b = once.figures, twice.figures
    assert a.closed_share == pytest.approx(b.closed_share, abs=1e-6)
    assert a.evenness == pytest.approx(b.evenness, abs=1e-6)
    assert 2 * a.largest_gap_mm == pytest.approx(b.largest_gap_mm, rel=1e-6)
    assert 2 * a.mean_pressure_kpa == pytest.approx(b.mean_pressure_kpa, rel=1e-6)


@pytest.mark.slow
def test_nor_on_the_pull_of_the_comparison_which_is_at_small_deformation(found):
    """All but bands alone and the cradle that is named, which are closed at large deformation."""
    compared = []
    for once, twice in zip(found.at(0.3), found.at(0.6), strict=True):
        large = any(each.closing.deformation.is_large for each in (once, twice) if each.closing)
        if once.solved and twice.solved and not large:
            a, b = once.figures, twice.figures
            assert a.closed_share == pytest.approx(b.closed_share, abs=1e-6)
            assert a.evenness == pytest.approx(b.evenness, abs=1e-6)
            assert 2 * a.largest_gap_mm == pytest.approx(b.largest_gap_mm, rel=1e-6)
            compared.append(once.name)
    assert "bands alone" not in compared
    assert len(compared) > 6


@pytest.mark.slow
def test_clamps_push_as_hard_as_two_strands(found):
    clamped = row(found, "two boards, clamped, top and bottom").closing
    assert clamped is not None
    assert clamped.wrap is None
    assert sum(land.force_n_per_mm for land in clamped.lands) == pytest.approx(1.2, rel=1e-6)


@pytest.mark.slow
def test_round_block_is_round_and_never_the_simplest(found):
    yardstick = row(found, "round block")
    assert yardstick.yardstick
    assert yardstick.closing is not None
    corner = (57**2 + 60**2) ** 0.5
    assert yardstick.closing.section.outline.length == pytest.approx(6.2832 * corner, rel=0.02)


def test_own_cradle_is_compared_last():
    board = {"name": "mine", "covers": "top", "thickness_mm": 10, "material": "MDF"}
    names = [candidate.name for candidate in candidates(mold_of(PLAIN | {"cradle": [board]}))]
    assert names[-1] == "as in the file"


def test_cradle_that_does_not_fit_says_why():
    tall = BoardSpec(rise_mm=300.0)  # backs that reach into each other
    candidate = next(
        f for f in candidates(mold_of(PLAIN), tall) if f.name == "four round-backed boards"
    )
    (row,) = made(candidate, (0.6,), Blocks(1.0))
    assert row.fault is not None
    assert row.fault.startswith("cannot be made: ")
    assert not row.figures.closes


@pytest.mark.slow
def test_words_and_data(found):
    words = cradle_words(found)
    best = found.simplest(0.3)
    assert best is not None
    assert best.name in words[0]
    data = json.loads(json.dumps(cradle_data(found)))
    assert data["simplest"]["0.3"] == best.name
    assert len(data["cradles"]) == len(found.rows)


@pytest.mark.parametrize(("missing", "says"), [("cut", "no"), ("band", "how hard")])
def test_a_mold_without_cut_or_bands_has_nothing_to_compare(missing: str, says: str):
    mold = mold_of(PLAIN).model_copy(update={missing: ()})
    with pytest.raises(BadInput, match=missing) as caught:
        compare_cradles(mold)
    assert says in str(caught.value)


def test_bands_that_all_hang_loose_are_called_so():
    """Size 107 is a loop of 356 mm; the block is 96 mm round."""
    block = {"shape": "square", "width_mm": 24}
    cut = [{"path_mm": [[-12, 0], [12, 0]]}]
    with pytest.raises(BadInput, match="hang loose"):
        compare_cradles(mold_of(PLAIN | {"block": block, "cut": cut, "band": [{"stock": "107"}]}))


@pytest.mark.slow
def test_nothing_closes_is_said(found):
    silent = CradleComparison(tuple(replace(r, fault="nothing") for r in found.at(0.6)))
    assert "No cradle gives an answer" in cradle_words(silent)[0]


def test_where_none_closes_the_nearest_is_named():
    """Without a board on the top, the middle of the cut stays open under each of these."""
    tall = mold_of(PLAIN | {"resin": {"pressure_kpa": 50}})
    names = ("bands alone", "two flat boards, left and right")
    tried = [c for c in candidates(tall) if c.name in names]
    rows = [row for candidate in tried for row in made(candidate, (0.6,), Blocks(0.5))]
    assert len(rows) == 2
    assert not any(row.figures.closes or row.figures.seals for row in rows)
    nearest = max(rows, key=lambda row: row.figures.closed_share)
    (said, *_) = cradle_words(CradleComparison(tuple(rows)))
    named = nearest.name[0].upper() + nearest.name[1:]
    assert f"None of these seals or closes every land. {named} comes nearest" in said


@pytest.mark.slow
def test_seal_goes_before_closing(found):
    """The simplest is the first of the best rank: sealing and closing, sealing, closing."""
    bare = row(found, "bands alone")
    assert bare.rank[0]
    assert not bare.rank[-1]
    alone = CradleComparison((bare,))
    assert alone.simplest() is bare
    assert bare.name in cradle_words(alone)[0] or "bands alone seal" in cradle_words(alone)[0]
    assert all(found.simplest(0.6).rank)


@pytest.mark.slow
def test_bands_alone_are_what_close_answers(found):
    """Their row once had the gap of small deformation beside the other one of `close`."""
    own = squeeze.Block(mold_of(PLAIN), 0.5).close(deformation="auto")
    assert own.deformation.is_large
    bare = row(found, "bands alone")
    gap = max(land.largest_gap_mm for land in own.lands)
    assert bare.figures.largest_gap_mm == pytest.approx(gap, rel=1e-9)
    said = cradle_words(CradleComparison(found.at(0.6)))
    assert not any("twice the gap" in line for line in said)
    (told,) = [line for line in said if "small deformation, bands alone" in line]
    assert told.endswith("at large deformation.")


def test_a_step_that_a_thumb_feels_comes_after_a_smooth_casting():
    """Both seal; the simpler one leaves a step that has to be sanded off."""
    cut = {"path_mm": [[-60, 40], [60, 40]]}
    rod = {"name": "rod", "shape": "round", "diameter_mm": 10, "centre_mm": [0, 40]}
    full = mold_of(PLAIN | {"cut": [cut], "cavity": [rod]})
    one = next(each for each in candidates(full) if each.name == "full cradle in two")
    (smooth,) = made(one, (0.3,), Blocks(0.5))
    (cavity,) = smooth.closing.cavities
    assert cavity.step_mm < STEP_FELT_MM
    stepped = replace(
        smooth,
        name="simpler",
        closing=replace(smooth.closing, cavities=(replace(cavity, step_mm=0.68),)),
    )
    assert stepped.figures.grade in GOOD
    assert CradleComparison((stepped, smooth)).simplest() is smooth
    assert CradleComparison((stepped,)).simplest() is stepped


MISSED = {
    "length_mm": 80,
    "rubber": {"shore_a": 25},
    "block": {"shape": "round", "diameter_mm": 60},
    "cavity": [{"shape": "round", "diameter_mm": 24}],
    "cut": [{"path_mm": [[20, -40], [20, 40]]}],
    "band": [{"tension_n_per_mm": 0.1}],
}


@pytest.mark.parametrize("path", [[[20, -40], [20, 40]], [[-26, 0], [26, 0]]])
def test_of_a_block_that_no_cut_opens_nothing_else_is_tried(path, tmp_path, monkeypatch):
    """Thirteen rows said so, for a minute; and bands alone stood in the JSON as the simplest."""
    data = MISSED | {"cut": [{"path_mm": path}]}
    compared = compare_cradles(mold_of(data), fineness=0.35)
    assert [row.name for row in compared.rows] == ["bands alone"]
    assert compared.simplest() is None
    (said,) = cradle_words(compared)
    assert said.startswith("Cannot be opened: ")
    assert "No cradle mends that." in said
    monkeypatch.setattr(comparison, "compare_cradles", lambda *_, **__: compared)
    file = tmp_path / "m.toml"
    file.write_text(TOML, encoding="utf-8")
    asked = ["cradle", str(file), "--take", str(tmp_path / "taken.toml")]
    result = CliRunner().invoke(app, asked)
    assert "the file has none, and none would open the block" in result.output
    assert "grade" not in result.output
    assert not (tmp_path / "taken.toml").exists()


def apart(name: str, resin_kpa: float = 20.0) -> CradleRow:
    """Return a row of bands far too weak against the resin."""
    data = PLAIN | {
        "cavity": [{"name": "rod", "shape": "round", "diameter_mm": 30, "centre_mm": [0, 40]}],
        "band": [{"tension_n_per_mm": 0.01}],
        "resin": {"pressure_kpa": resin_kpa},
    }
    bare = next(one for one in candidates(mold_of(data)) if one.name == "bands alone")
    (found,) = made(bare, (0.01,), Blocks(0.35))
    return replace(found, name=name)


def test_what_the_first_sentence_says_of_bands_alone_is_not_said_again():
    """Eleven cradles were listed with the cause that stood in the line above."""
    bare, board = apart("bands alone"), apart("four flat boards")
    assert bare.verdict.head.causes
    said = cradle_words(CradleComparison((bare, board)))
    assert said[0].startswith("No cradle helps. The bands are too weak")
    assert not any("too weak" in line for line in said[1:])
    other = unanswered("saddle over the top", 0.01, "cannot be made: too tall")
    said = cradle_words(CradleComparison((bare, board, other)))
    assert said[1] == "Saddle over the top: cannot be made: too tall"
    assert _grade(replace(bare, closing=doubtful(bare.closing))) == "Comes apart"


def doubtful(closing):
    return replace(closing, deformation=replace(closing.deformation, outcome=Outcome.STEP_LIMIT))


def unanswered(name: str, pull: float, say: str = "The piece is held by nothing."):
    return CradleRow(name, pull, None, None, say, {})


def test_a_reason_is_told_once_and_not_in_the_table():
    rows = tuple(unanswered(name, 0.1) for name in ("bands alone", "four flat boards"))
    other = unanswered("saddle over the top", 0.1, "cannot be made: too tall")
    said = cradle_words(CradleComparison((*rows, other)))
    assert said[0] == "No cradle gives an answer to rely on."
    assert said[1:3] == [
        "Bands alone and four flat boards: The piece is held by nothing.",
        "Saddle over the top: cannot be made: too tall",
    ]
    table = cradle_table(CradleComparison(rows), 0.1)
    console = Console(width=100, record=True, file=io.StringIO())
    console.print(table)
    assert "held by nothing" not in console.export_text()


def test_names_with_commas_are_told_apart():
    """One list read "two boards, clamped, left and right, two flat boards, left and right"."""
    names = ("two boards, clamped, left and right", "two flat boards, left and right")
    rows = tuple(unanswered(name, 0.1, "It slides.") for name in names)
    other = unanswered("saddle over the top", 0.1, "cannot be made: too tall")
    said = cradle_words(CradleComparison((*rows, other)))
    assert said[1] == (
        "Two boards, clamped, left and right; and two flat boards, left and right: It slides."
    )


def test_boards_that_are_clamped_are_sawn_without_grooves():
    pair = [c for c in candidates(mold_of(STOCK)) if c.name.endswith("top and bottom")][:2]
    clamped, banded = (row for each in pair for row in made(each, (0.1,), Blocks(0.35)))
    assert "band" not in clamped.data
    assert len(clamped.data["push"]) == 2
    assert grooves_of(mold_of(clamped.data)) == ()
    assert len(grooves_of(mold_of(banded.data))) == 4


STOCK = PLAIN | {"band": [{"stock": "84", "count": 4}]}


def test_an_answer_that_did_not_stand_does_not_win():
    """A clean one that large deformation does not confirm comes after one that it does."""
    full = next(one for one in candidates(mold_of(PLAIN)) if one.name == "full cradle in two")
    (sure,) = made(full, (0.6,), Blocks(0.5), "auto")
    closing = sure.closing
    unsure = replace(sure, name="bands alone", closing=doubtful(closing))
    assert not unsure.is_sure
    assert CradleComparison((unsure, sure)).simplest() is sure
    sign = UNSURE
    assert sign in cradle_words(CradleComparison((unsure, sure)))
    assert sign not in cradle_words(CradleComparison((sure,)))


def with_figures(row: CradleRow, **values: float) -> CradleRow:
    """Return the row with other figures."""
    other = replace(row)
    figures = {"margin": 9.0, "flash_thickness_mm": 0.0} | values
    other.__dict__["figures"] = Figures(True, dict(NO_FIGURES.values) | figures)
    return other


@pytest.fixture(scope="module")
def two_rows() -> tuple[CradleRow, CradleRow]:
    """Return the rows of bands alone and of a full cradle in two."""
    wanted = ("bands alone", "full cradle in two")
    pair = [each for each in candidates(mold_of(PLAIN)) if each.name in wanted]
    bare, full = (row for each in pair for row in made(each, (0.6,), Blocks(0.35)))
    return bare, full


@pytest.mark.parametrize(
    ("values", "close"),
    [
        ({"margin": 1.8}, True),
        ({"margin": 2.2}, True),
        ({"margin": 1.2}, False),
        ({"flash_thickness_mm": 0.045}, True),
        ({"flash_thickness_mm": 0.2}, False),
        ({"closed_share": 0.04, "seals": True}, True),
        ({"closed_share": 0.04, "seals": False}, False),
        ({"closed_share": 0.4, "seals": True}, False),
    ],
)
def test_a_grade_that_hangs_on_the_mesh_is_named(two_rows, values, close):
    """Cradles are compared on an even mesh, which is off by some percent."""
    bare, full = two_rows
    named, far = with_figures(full, **values), with_figures(bare)
    said = " ".join(cradle_words(CradleComparison((far, named))))
    assert ("Full cradle in two: close to a limit" in said) == close
    assert "Bands alone: close" not in said


@pytest.mark.slow
def test_command_writes_all_that_is_asked(tmp_path: Path):
    file = tmp_path / "m.toml"
    file.write_text(TOML, encoding="utf-8")
    saw, taken = tmp_path / "saw", tmp_path / "taken.toml"
    asked = ["cradle", str(file), "--templates", str(saw), "--json", str(tmp_path / "c.json"),
             "--figure", str(tmp_path / "c.png"), "--take", str(taken), "--even"]  # fmt: skip
    result = CliRunner().invoke(app, asked)
    assert result.exit_code == 0, result.output
    assert "The simplest that seals without flash: " in result.output
    assert {p.suffix for p in saw.iterdir()} == {".svg", ".dxf", ".pdf"}
    assert load(taken).cradle
    assert json.loads((tmp_path / "c.json").read_text())["cradles"]
    assert (tmp_path / "c.png").stat().st_size > 10_000


@pytest.mark.parametrize(("extra", "said"), [
    (["--tension", "hard"], "--tension: 'hard' given"),
    (["--material", "cheese"], "--material: 'cheese' is not known; allowed are"),
])  # fmt: skip
def test_command_refuses_in_words(tmp_path: Path, extra, said):
    file = tmp_path / "m.toml"
    file.write_text(TOML, encoding="utf-8")
    result = CliRunner().invoke(app, ["cradle", str(file), *extra])
    assert result.exit_code == 2
    assert said in result.output


TOML = """
title = "A cut under the top"
length_mm = 100
[rubber]
youngs_modulus_mpa = 0.6
[block]
shape = "square"
width_mm = 120
bevel_mm = 3
[[cut]]
path_mm = [[-60, 40], [60, 40]]
[[band]]
tension_n_per_mm = 0.6
"""


def test_blocks_that_are_kept_stay_below_a_number_of_unknowns(monkeypatch):
    """Factors take memory: what is let go is meshed again."""
    mold = squeeze.parse(TOML)
    data, blocks = squeeze.mold.dict_of(mold), Blocks(0.5)
    first = blocks.of(mold, data)
    blocks.keep(data)
    assert blocks.of(mold, data) is first
    monkeypatch.setattr("squeeze.study.cradles.comparison.MOST_KEPT", first.mesh.points.size - 1)
    blocks.keep(data)
    assert blocks.of(mold, data) is not first
