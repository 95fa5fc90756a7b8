"""Fillers and cradle pieces in figure, table, files and words."""

from __future__ import annotations

import json

import numpy as np
import pytest

from squeeze.mold import mold_of
from squeeze.show.export import as_text, write_vtu
from squeeze.show.figure.closing import figure
from squeeze.show.figure.section import CRADLE, FILLER, RUBBER, fill_of
from squeeze.show.text.lands import notes, seats
from squeeze.solve import close
from squeeze.verdict import judge

MOLD = {
    "length_mm": 100,
    "rubber": {"youngs_modulus_mpa": 0.6},
    "block": {"shape": "square", "width_mm": 120, "bevel_mm": 3},
    "cut": [{"path_mm": [[-60, 30], [60, 30]], "friction": 0.3}],
    "filler": [{"name": "old", "shape": "square", "width_mm": 30, "shore_a": 30}],
    "band": [{"tension_n_per_mm": 0.5}],
    "cradle": [
        {"name": side, "covers": side, "thickness_mm": 15, "material": "plywood"}
        for side in ("top", "bottom")
    ],
}


@pytest.fixture(scope="module")
def closing():
    return close(mold_of(MOLD), fineness=0.5, deformation="small")


def test_bodies_have_fills_of_their_own(closing):
    assert [fill_of(k, closing) for k in range(4)] == [RUBBER, FILLER, CRADLE, CRADLE]
    assert set(np.unique(closing.field.body)) == {0, 1, 2, 3}


def test_figure_names_pieces_and_keys_bodies(closing):
    drawn = figure(closing, judge(closing))
    said = {text.get_text() for ax in drawn.axes for text in ax.texts}
    assert {"top", "bottom"} <= said
    assert any("older rubber" in text for text in said)
    assert any("cradle" in text for text in said)


def test_table_has_one_row_a_piece(closing):
    made = seats(closing)
    assert made.row_count == 2
    assert [str(cell) for cell in made.columns[0].cells] == ["top", "bottom"]
    forces = [float(cell) for cell in made.columns[-1].cells]
    assert forces[0] == pytest.approx(forces[1], abs=0.002)


def test_json_tells_seats(closing):
    told = json.loads(as_text(closing, judge(closing)))
    assert {seat["cradle"] for seat in told["seats"]} == {"top", "bottom"}
    assert told["joints"] == []


def test_vtu_tells_bodies(closing, tmp_path):
    import meshio

    write_vtu(closing, tmp_path / "f.vtu")
    body = meshio.read(tmp_path / "f.vtu").cell_data["body"][0]
    assert set(np.unique(body)) == {0, 1, 2, 3}


def test_piece_that_nothing_holds_is_named():
    wedge = {"name": "wedge", "points_mm": [[-40, 60], [40, 60], [40, 90], [-40, 65]],
             "material": "plywood", "friction": 0.0}  # fmt: skip
    held = close(mold_of(MOLD | {"cradle": [wedge]}), deformation="small", check=False)
    verdict = judge(held)
    assert verdict.grade == "Comes apart"
    assert "cradle piece 'wedge' is held by nothing" in verdict.say


def test_piece_that_rocks_is_told():
    hollow = [dict(piece, crown_mm=4.0) for piece in MOLD["cradle"]]
    rocking = close(mold_of(MOLD | {"cradle": hollow}), fineness=0.5, deformation="small")
    said = notes(rocking)
    assert any("lifts at both ends" in line for line in said)
