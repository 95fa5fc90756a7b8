"""One registry of shapes: file, schema, docs, commented mold and page read it."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from squeeze.mold import BadInput, loads_of, mold_of, section_of
from squeeze.mold.shapes.outline import loop_of
from squeeze.mold.shapes.registry import FIGURES, SHAPES, Form, figures_remark
from squeeze.mold.tables.mold import Mold
from squeeze.mold.tables.shape import BlockTable, CavityTable
from squeeze.mold.tables.values import listed
from squeeze.page.answers.answer import answer
from squeeze.show.start import start

PAGE = (Path(__file__).parents[2] / "docs/moldfile.md").read_text(encoding="utf-8")
DRAWN = [[-30, -20], [30, -20], [30, 20], [-30, 20]]


def tables(word):
    """Return the tables of a mold with a block and a cavity of a shape."""
    kind = SHAPES[word]
    if kind.form is Form.POINTS:
        big, small = {"points_mm": DRAWN}, {"points_mm": (np.array(DRAWN) / 5).tolist()}
    else:
        big = {key: 80 - 10 * k for k, key in enumerate(kind.keys)}
        small = {key: 16 - 2 * k for k, key in enumerate(kind.keys)}
    return {
        "length_mm": 100,
        "rubber": {"shore_a": 20},
        "block": {"shape": word, **big},
        "cavity": [{"shape": word, **small}],
        "cut": [{"path_mm": [[-100, 0], [100, 0]]}],
        "band": [{"tension_n_per_mm": 0.5}],
    }


@pytest.mark.parametrize("word", SHAPES)
def test_the_file_takes_every_shape_and_its_loads_balance(word):
    mold = mold_of(tables(word))
    section = section_of(mold)
    assert len(section.cuts[0].stretches) == 2
    assert loads_of(mold, section).tension_n_per_mm == 0.5
    loop = section.outline
    turns = loop.points(1e-4)
    assert loop.area == pytest.approx(section.outline.polygon.area, rel=1e-3)
    assert np.abs(turns.mean(axis=0)).max() < 1e-6  # about the middle of the section


@pytest.mark.parametrize("word", SHAPES)
def test_a_figure_of_another_shape_is_refused(word):
    for key in set(FIGURES) - set(SHAPES[word].keys):
        with pytest.raises(BadInput, match=f"block.{key}: does not go with this shape"):
            mold_of(tables(word) | {"block": tables(word)["block"] | {key: 3}})


def test_the_schema_names_every_shape():
    schema = Mold.model_json_schema()["$defs"]["BlockTable"]["properties"]
    assert schema["shape"]["enum"] == list(SHAPES)


@pytest.mark.parametrize("word", SHAPES)
def test_the_docs_have_its_row(word):
    kind = SHAPES[word]
    keys = ", ".join(f"`{key}`" for key in kind.keys)
    assert f'| `"{word}"` | {keys} | {kind.say + " " if kind.say else ""}|' in PAGE


def test_the_commented_mold_names_every_shape():
    text = start("A mold")
    assert ", ".join(SHAPES) in text
    assert figures_remark() in text
    tall = [word for word, kind in SHAPES.items() if "height_mm" in kind.keys]
    assert f"{listed(tall, 'and')}: height_mm as well" in text


def test_the_commented_mold_lists_three_shapes_with_a_height(monkeypatch):
    monkeypatch.setitem(SHAPES, "lozenge", replace(SHAPES["rectangle"], word="lozenge"))
    assert "rectangle, oval and lozenge: height_mm as well" in figures_remark()


def test_the_page_is_told_every_shape():
    status, said = answer({"do": "start"})
    assert status == 200
    assert list(said["shapes"]) == list(SHAPES)
    for word, kind in SHAPES.items():
        assert tuple(said["shapes"][word][: len(kind.keys)]) == kind.keys
        assert ("bevel_mm" in said["shapes"][word]) == kind.has_corners
        assert bool(said["outlines"][word]["corners"]) == (kind.form is Form.CORNERS)


def test_a_hexagon_stands_on_a_side_and_is_measured_across_its_flats():
    loop = loop_of(BlockTable(shape="hexagon", width_mm=60, round_mm=0))
    side = 60 / math.sqrt(3)
    assert [piece.length for piece in loop.pieces] == pytest.approx([side] * 6)
    assert loop.area == pytest.approx(1.5 * math.sqrt(3) * side**2)
    x0, y0, x1, y1 = loop.polygon.bounds
    assert (y1 - y0, x1 - x0) == pytest.approx((60, 2 * side))


def test_a_hexagon_takes_bevels_and_radii():
    bevelled = loop_of(BlockTable(shape="hexagon", width_mm=60, bevel_mm=5, round_mm=0))
    assert len(bevelled.pieces) == 12
    assert bevelled.area == pytest.approx(
        1800 * math.sqrt(3) - 6 * 12.5 * math.sin(2 * math.pi / 3)
    )
    rounded = loop_of(CavityTable(shape="hexagon", width_mm=20, centre_mm=[3, 4]))
    corner = 2**2 * (6 * math.tan(math.pi / 6) - math.pi)
    assert rounded.area == pytest.approx(200 * math.sqrt(3) - corner)
