"""What the server answers: the numbers and words of the command line."""

from __future__ import annotations

import re

import numpy as np
import pytest
from shapely.geometry import MultiPoint, Point
from starlette.testclient import TestClient

import squeeze
from squeeze.mold import BadInput, dict_of, dump, mold_of
from squeeze.mold.tables.shape import SHAPES
from squeeze.page.answers.difference import _moved, difference
from squeeze.page.answers.drawing import BAND_OFF
from squeeze.page.answers.limits import limits, shape_figures
from squeeze.show.export import as_json
from squeeze.show.figure.tint import tint

BOWS = {
    "block": {"shape": "square", "width_mm": 60, "bevel_mm": 5},
    "cavity": [],
    "cut": [{"path_mm": [[-30, 20], [30, 20]]}],
}
"""A thin lid that bows, so that large deformation says something else than small."""


def close(client: TestClient, given, **more) -> dict:
    answer = client.post("/close", json={"page": "test", "mold": given, **more})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_numbers_are_those_of_the_command_line(client: TestClient, mold) -> None:
    said = close(client, mold())
    closing = squeeze.close(mold_of(mold()))
    wanted = as_json(closing, squeeze.judge(closing, mold=mold_of(mold())))
    assert said["verdict"]["say"] == wanted["verdict"]["say"]
    for ours, theirs in zip(said["lands"], wanted["lands"], strict=True):
        assert ours["pressure_kpa"] == pytest.approx(theirs["pressure_kpa"], rel=1e-9)
        assert ours["gap_mm"] == pytest.approx(theirs["gap_mm"], rel=1e-9, abs=1e-12)


def test_loads_alone_need_no_new_factor_and_change_the_answer(client: TestClient, mold) -> None:
    one = close(client, mold(), quick=True)  # the quick answer is that of small deformation
    two = close(client, mold(band=[{"tension_n_per_mm": 0.1}]), quick=True)
    for a, b in zip(one["lands"], two["lands"], strict=True):
        assert b["mean_pressure_kpa"] == pytest.approx(2 * a["mean_pressure_kpa"], rel=1e-6)


def test_the_coarse_answer_says_that_it_is_coarse(client: TestClient, mold) -> None:
    coarse, fine = close(client, mold(), quick=True), close(client, mold())
    assert coarse["fineness"] < fine["fineness"] == 1.0
    assert (coarse["final"], fine["final"]) == (False, True)
    assert coarse["trust"]["unknowns"] < fine["trust"]["unknowns"]
    assert coarse["lands"][1]["mean_pressure_kpa"] == pytest.approx(
        fine["lands"][1]["mean_pressure_kpa"], rel=0.05
    )


def test_faces_and_bodies_are_drawn_where_the_section_lies(client: TestClient, mold) -> None:
    drawing = close(client, mold())["drawing"]
    ring = drawing["bodies"][0]["rest"]
    assert max(max(r) for r in ring) == pytest.approx(30, abs=0.01)
    assert len(drawing["bodies"][0]["moved"]) == len(ring)
    assert [len(a) for a in drawing["bodies"][0]["moved"]] == [len(a) for a in ring]
    forces = [(a["fx_n_per_mm"], a["fy_n_per_mm"]) for a in drawing["arrows"]]
    assert sum(f[0] for f in forces) == pytest.approx(0, abs=1e-9)
    assert sum(f[1] for f in forces) == pytest.approx(0, abs=1e-9)


def test_the_first_fine_answer_is_that_of_small_deformation(client: TestClient, mold) -> None:
    bowing = mold(**BOWS)
    first, last = close(client, bowing, first=True), close(client, bowing)
    assert (first["fineness"], first["final"], first["large"]) == (1.0, False, False)
    assert last["large"]  # so that the two differ
    small = squeeze.Block(mold_of(bowing)).close()
    for ours, theirs in zip(first["lands"], small.lands, strict=True):
        assert ours["gap_mm"] == pytest.approx(theirs.gap_mm, rel=1e-9, abs=1e-12)


def test_small_deformation_is_drawn_beside_large_to_one_scale(client: TestClient, mold) -> None:
    said = close(client, mold(**BOWS))
    small = said["small"]
    assert said["large"]
    gaps = [max(land["largest_gap_mm"] for land in each["lands"]) for each in (said, small)]
    assert gaps[1] == small["largest_gap_mm"]
    assert gaps[0] != pytest.approx(gaps[1], rel=0.01)
    for each, gap in zip((said, small), gaps, strict=True):
        (faces,) = each["drawing"]["lands"]
        left, right = (np.reshape(faces[side], (-1, 2)) for side in ("left", "right"))
        apart = np.hypot(*(left - right).T).max()
        assert apart == pytest.approx(said["drawing"]["gap_factor"] * gap, abs=0.003)


def test_the_band_lies_evenly_round_the_block_as_drawn(client: TestClient, mold) -> None:
    said = close(client, mold(**BOWS))
    assert said["large"]  # the wrap is that of the deformed block then, the picture is not
    drawing = said["drawing"]
    block = MultiPoint(np.reshape(drawing["outline"], (-1, 2))).convex_hull
    off = [block.distance(Point(p)) for p in np.reshape(drawing["band"], (-1, 2))]
    assert min(off) > 0.8 * BAND_OFF * drawing["size_mm"]
    assert max(off) < 1.2 * BAND_OFF * drawing["size_mm"]


def test_faults_have_the_text_of_the_command_line(client: TestClient, mold) -> None:
    bad = mold(block={"shape": "square", "width_mm": "wide", "bevel_mm": 900})
    answer = client.post("/close", json={"page": "test", "mold": bad})
    with pytest.raises(BadInput) as told:
        mold_of(bad)
    assert answer.status_code == 422
    assert [f["say"] for f in answer.json()["faults"]] == str(told.value).split("\n")
    assert [f["key"] for f in answer.json()["faults"]] == ["block.width_mm", "block.bevel_mm"]


def test_a_file_goes_round_with_exact_values(client: TestClient, barrels) -> None:
    text = barrels.read_text()
    read = client.post("/read", json={"page": "test", "text": text, "name": "b.toml"}).json()
    assert mold_of(read["mold"]) == squeeze.load(barrels)
    odd = read["mold"] | {"length_mm": 140.1 + 1e-13}
    written = client.post("/write", json={"page": "test", "mold": odd}).json()["text"]
    assert squeeze.parse(written) == mold_of(odd)
    assert squeeze.parse(written).length_mm == 140.1 + 1e-13


def test_a_bad_file_is_told_with_its_lines(client: TestClient) -> None:
    text = "length_mm = 140\n[rubber]\nshore_a = 2000\n"
    answer = client.post("/read", json={"page": "test", "text": text, "name": "b.toml"})
    assert answer.status_code == 422
    says = [fault["say"] for fault in answer.json()["faults"]]
    assert any(say.startswith("b.toml:3: rubber.shore_a: 2000 is out of range") for say in says)


def test_colours_are_those_of_the_figures(client: TestClient) -> None:
    tints = client.get("/start").json()["tints"]
    assert set(tints) == {"4", "5", "6", "7", "8"}
    for count, colours in tints.items():
        assert len(colours) == int(count)
        wanted = [round(255 * c) for c in tint(1.0)]
        assert list(bytes.fromhex(colours[-1][1:])) == wanted


def test_limits_are_those_of_the_model() -> None:
    found = limits()
    assert found["block.bevel_mm"] == {"least": 0, "most": 500, "otherwise": 0.0}
    assert found["resin.density_g_cm3"]["otherwise"] == 1.05
    assert "otherwise" not in found["block.width_mm"]
    assert found["band.count"] == {"least": 0, "most": 500, "otherwise": 1}
    assert found["rubber.shore_a"] == {"least": 5, "most": 80}


def test_every_shape_is_told_with_its_figures() -> None:
    found = shape_figures()
    assert list(found) == list(SHAPES)
    assert found["round"] == ["diameter_mm"]
    assert found["oval"] == ["width_mm", "height_mm"]
    assert found["drawn"] == ["points_mm", "bevel_mm", "round_mm"]


@pytest.fixture
def pairs(gaping, closed):
    """Return an open and a closed state, each with its verdict."""
    return tuple((closing, squeeze.judge(closing)) for closing in (gaping, closed))


def test_the_difference_is_told_in_words(pairs) -> None:
    gaping, closed_all = pairs
    words = difference(gaping, closed_all)
    assert words[0] == "Before, 1 of 3 lands does not seal; now, all 3 lands seal."
    assert words[1] == "The widest gap, 1.0 mm, is closed."
    back = difference(closed_all, gaping)
    assert back[1] == "A gap of 1.0 mm opens that was not there."
    assert "rises" in words[2]
    assert "falls" in back[2]


def test_alike_is_told_as_alike(pairs) -> None:
    closed_all = pairs[1]
    words = difference(closed_all, closed_all)
    assert words[0] == "As before, all 3 lands seal."
    assert words[1] == "Both close all along."
    assert "stays at" in words[2]


def test_figures_that_read_the_same_are_told_as_the_same() -> None:
    def tell(value: float) -> str:
        return f"{value:.2f} mm"

    for old, new in ((0.046, 0.054), (0.054, 0.046), (0.05, 0.05), (10.0, 10.1)):
        said = _moved("The widest gap", old, new, tell, ("shrinks", "grows"))
        assert said == f"The widest gap stays at {new:.2f} mm."
    said = _moved("The widest gap", 0.04, 0.06, tell, ("shrinks", "grows"))
    assert said == "The widest gap grows from 0.04 mm to 0.06 mm."


def test_castings_are_compared(client: TestClient, mold) -> None:
    tight = mold(band=[{"tension_n_per_mm": 0.2}])
    said = close(client, tight, against=mold())["difference"]
    assert any("mean pressure on the lands rises" in words for words in said)
    assert said[-1].startswith("The castings come out less true: ")
    back = close(client, mold(), against=tight)["difference"]
    assert back[-1].startswith("The castings come out truer: ")
    same = close(client, mold(), against=mold())["difference"]
    assert re.fullmatch(r"The castings are off by [\d.]+ mm, as before\.", same[-1])
    assert not any("squash" in words for words in (*said, *back, *same))


def test_a_start_is_a_mold_that_loads(client: TestClient) -> None:
    said = client.get("/start").json()
    assert dict_of(squeeze.parse(dump(mold_of(said["start"])))) == dict_of(mold_of(said["start"]))


def test_how_sure_it_is_comes_with_the_same_head(client: TestClient, mold) -> None:
    said = close(client, mold())["verdict"]
    answer = client.post("/sure", json={"page": "test", "mold": mold()})
    assert answer.status_code == 200, answer.text
    sure = answer.json()["verdict"]
    assert said["sure"] == ""
    assert sure["sure"]
    if sure["grade"] == said["grade"]:
        assert (sure["say"], sure["do"]) == (said["say"], said["do"])
    read = mold_of(mold())
    block = squeeze.Block(read)
    closing = block.close(deformation="auto")
    varied = squeeze.uncertainty(block, closing)
    head = squeeze.judge(closing, mold=read, varied=varied).head
    assert (sure["grade"], sure["say"], sure["do"], sure["sure"]) == (
        head.grade,
        head.say,
        head.do,
        head.sure,
    )
