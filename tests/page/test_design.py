"""Blocks about the models of a mold, on the page."""

from __future__ import annotations

import json

import pytest

from squeeze.mold import mold_of
from squeeze.page.answers.answer import answer


@pytest.mark.slow
def test_a_block_is_designed_about_the_models(mold) -> None:
    wishes = {"outlines": ["round"], "cradle": False, "turn": False, "designs": 3}
    told: list[str] = []
    asked = {"do": "design", "mold": mold(design=wishes, band=[{"stock": "64", "count": 3}])}
    status, said = answer(asked, lambda what, share=None: told.append(what))
    assert status == 200
    assert told
    assert json.dumps(said, allow_nan=False)
    assert said["designs"] or said["refusal"]["say"]
    for each in said["designs"]:
        assert mold_of(each["mold"]).block.shape == "round"
        assert {"rubber_g", "margin", "flash_mm", "good_in"} <= set(each["figures"])


def test_a_mold_without_models_is_refused_in_words(mold) -> None:
    status, said = answer({"do": "design", "mold": mold(cavity=[])})
    assert status == 422
    assert said.get("faults") or said.get("error")
