"""What limits the answer of a plan of bands: sentences of made-up plans."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

import squeeze
from squeeze.verdict.bands.plan_remarks import plan_remarks

MOLD = {
    "length_mm": 140,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 80},
    "cut": [{"path_mm": [[-40, 0], [40, 0]], "friction": 0.0}],
    "band": [{"tension_n": 4.0}],
}


def stretch(count: int, is_coarse: bool = False, doubts=()):
    return SimpleNamespace(block=SimpleNamespace(count=count, is_coarse=is_coarse), doubts=doubts)


def said(stretches, **changed) -> list[str]:
    given = {"tried": (), "untried": (), "strain_pct": 1.0, "nothing_cut": False, "shown": None}
    plan = SimpleNamespace(mold=squeeze.mold_of(MOLD), stretches=stretches, **given | changed)
    return plan_remarks(plan, inches=False)


def closing(resin_kpa, overhang_mm=0.0, doubtful_mm=0.0):
    ends = SimpleNamespace(overhang_mm=overhang_mm, doubtful_mm=doubtful_mm)
    return SimpleNamespace(ends=ends, resin_kpa=np.array(resin_kpa))


def shown(*given, **more):
    return SimpleNamespace(closings=(closing(*given, **more),))


def test_pressures_are_means_over_the_length_by_the_number_of_waves():
    (one,) = said([stretch(35)])
    assert one.startswith("Pressures are means over 4.0 mm along the block.")
    (worst,) = said([stretch(35), stretch(20)])
    assert worst.startswith("Pressures are means over 7.0 mm along the block.")
    assert said([stretch(35)], nothing_cut=True) == []
    assert said([]) == []


def test_a_coarse_mesh_is_told_and_doubts_stand_first_and_once():
    doubts = ("Between 20 and 60 mm a cavity ends.",)
    found = said([stretch(35, True, doubts), stretch(35, False, doubts)])
    assert found[0] == doubts[0]
    assert found.count(doubts[0]) == 1
    assert found[-1].startswith("This block is large: the mesh here is coarser")


def test_much_strain_is_told():
    assert "strained by 12 %" in said([stretch(35)], strain_pct=12.0)[-1]
    assert len(said([stretch(35)], strain_pct=9.0)) == 1


def test_what_was_not_tried_is_told():
    tried = [
        SimpleNamespace(stopped_at=6, kind=SimpleNamespace(name="size 64")),
        SimpleNamespace(stopped_at=None, kind=SimpleNamespace(name="size 32")),
    ]
    found = said([stretch(35)], tried=tried, untried=[SimpleNamespace(name="size 107")])
    assert "of size 64, size 107." in found[-1]
    assert "size 32" not in found[-1]


def test_the_yardstick_is_the_resin_or_a_head_of_100_mm():
    assert "the file gives no resin" in said([stretch(35)], shown=shown([0.0, 0.0]))[0]
    assert said([stretch(35)], shown=shown([2.0, 2.0]))[0].endswith("the resin, 2.00 kPa.")


def test_a_band_far_from_an_end_is_told():
    far = shown([2.0], overhang_mm=30.0, doubtful_mm=12.0)
    found = said([stretch(35)], shown=far)[0]
    assert "lies 30 mm from an end, over half a pitch: within 12 mm of the end" in found
    assert not any("over half a pitch" in each for each in said([stretch(35)], shown=shown([2.0])))
