"""JSON and VTU hold what the closing holds."""

from __future__ import annotations

import json
from dataclasses import replace

import meshio
import numpy as np
import pytest

import squeeze
from squeeze.show.export import as_json, as_text, at_nodes, write_vtu
from squeeze.show.write import CannotWrite, check_places, write_all
from squeeze.solve.outcome import Outcome
from squeeze.verdict import judge
from squeeze.verdict.figures.table import BY_NAME

LAND = {
    "cut", "land", "length_mm", "s_mm", "x_mm", "y_mm", "pressure_kpa", "gap_mm", "slip_mm",
    "closed_share", "mean_pressure_kpa", "least_pressure_kpa", "largest_gap_mm", "evenness",
    "force_n_per_mm", "largest_pressure_kpa", "largest_slip_mm", "seals", "name",
}  # fmt: skip
TOP = {
    "squeeze", "title", "lands", "seats", "joints", "cavities", "bands", "figures", "verdict",
    "trust", "errors", "seconds",
}  # fmt: skip


def said(closing):
    return json.loads(as_text(closing, judge(closing)))


def test_keys_are_the_promised_ones(gaping):
    data = said(gaping)
    assert set(data) == TOP
    assert LAND <= set(data["lands"][0]) <= LAND | set(BY_NAME)  # a new figure is no new promise
    assert set(data["cavities"][0]) == {
        "name", "area_mm2", "area_change_pct", "largest_shift_mm", "step_mm"
    }  # fmt: skip
    assert set(data["bands"]) == {"tension_n_per_mm", "wrap_mm"}
    assert {"seals", "say", "worst"} <= set(data["verdict"])
    assert {"x_mm", "y_mm", "land", "gap_mm", "pressure_kpa"} <= set(data["verdict"]["worst"])
    assert {"force_balance", "largest_strain_pct", "unknowns", "contact_steps"} <= set(
        data["trust"]
    )
    assert set(data["seconds"]) == {"mesh", "assemble", "factor", "contact", "total"}


def test_numbers_are_exact(gaping):
    data = said(gaping)
    assert data["squeeze"] == squeeze.__version__
    for land, told in zip(gaping.lands, data["lands"], strict=True):
        assert told["pressure_kpa"] == land.pressure_kpa.tolist()
        assert told["mean_pressure_kpa"] == land.mean_pressure_kpa
        assert told["s_mm"][0] == 0.0
    assert [land["seals"] for land in data["lands"]] == [True, False, True]
    assert data["verdict"]["worst"]["land"] == 1


def test_seats_name_their_cradle(closed):
    seat = replace(closed.lands[0], cut="top cradle")
    (told,) = said(replace(closed, seats=(seat,)))["seats"]
    assert told["cradle"] == "top cradle"
    assert "cut" not in told


def test_what_is_not_finite_becomes_null(made_up):
    made = made_up(outcome=Outcome.NOT_FINITE, press=lambda x: np.full_like(x, np.nan)).closing()
    data = said(made)
    assert data["lands"][0]["pressure_kpa"][0] is None
    assert data["verdict"]["worst"]["x_mm"] is None
    assert data["verdict"]["seals"] is False


def test_vtu_reads_back(gaping, tmp_path):
    path = tmp_path / "out.vtu"
    write_vtu(gaping, path)
    back = meshio.read(path)
    field = gaping.field
    assert back.cells[0].type == "triangle6"
    np.testing.assert_array_equal(back.cells[0].data, field.triangles)
    np.testing.assert_allclose(back.points[:, :2], field.points_mm)
    np.testing.assert_allclose(back.point_data["displacement_mm"][:, :2], field.displacement_mm)
    assert np.all(back.point_data["displacement_mm"][:, 2] == 0)
    np.testing.assert_array_equal(back.cell_data["body"][0], field.body)
    np.testing.assert_allclose(back.cell_data["strain_pct"][0], field.strain_pct)


def test_nodal_means_reproduce_a_linear_field(closed):
    field = closed.field
    x, y = field.points_mm[field.triangles[:, :3]].transpose(2, 0, 1)
    at = at_nodes(field, np.stack([2 * x - y, y], axis=2))
    px, py = field.points_mm.T
    np.testing.assert_allclose(at, np.column_stack([2 * px - py, py]), atol=1e-12)


def test_all_files_or_none(tmp_path):
    good, bad = tmp_path / "a.json", tmp_path / "b.json"

    def fail(part):
        part.write_text("half")
        raise OSError(28, "No space left on device")

    with pytest.raises(CannotWrite, match=r"b\.json: cannot be written: the disk is full"):
        write_all({good: lambda part: part.write_text("x"), bad: fail})
    assert list(tmp_path.iterdir()) == []


def test_places_are_checked_beforehand(tmp_path):
    mold = tmp_path / "mold.toml"
    for paths, why in (
        ([tmp_path], "is a folder"),
        ([tmp_path / "no" / "x.png"], "there is no folder"),
        ([mold], "is the file that is read"),
        ([tmp_path / "x", tmp_path / "x"], "two things were asked for in this one file"),
    ):
        with pytest.raises(CannotWrite, match=why):
            check_places(paths, mold)
    check_places([tmp_path / "x.png"], mold)


def test_json_is_plain_data(closed):
    assert as_json(closed, judge(closed)) == said(closed)
