"""A mold that is written over its file keeps what the file says besides."""

from __future__ import annotations

from typing import Any

import pytest

from squeeze.mold import dict_of, mold_of, parse
from squeeze.mold.file.kept_comments import lost_comments, rewritten
from squeeze.show.start import start

TEXT = start("Two pen barrels")


def given() -> dict[str, Any]:
    return dict_of(parse(TEXT))


def test_the_same_mold_gives_the_same_text() -> None:
    assert rewritten(TEXT, parse(TEXT)) == TEXT


@pytest.mark.parametrize(
    "change",
    [
        {"title": "Another"},
        {"length_mm": 99.5},
        {"block": {"shape": "round", "diameter_mm": 90}},
        {"cut": [{"name": "new", "path_mm": [[-60, 1], [60, 1]]}]},
        {"cavity": []},
        {"resin": {"head_mm": 100}},
        {"cradle": [{"name": "lid", "covers": "top", "thickness_mm": 18, "material": "plywood"}]},
    ],
)
def test_every_change_arrives_and_the_rest_stays(change: dict[str, Any]) -> None:
    mold = mold_of(given() | change)
    made = rewritten(TEXT, mold)
    assert parse(made) == mold
    lost = lost_comments(TEXT, made)
    assert len(lost) < 8
    assert TEXT.splitlines()[0] == made.splitlines()[0]


@pytest.mark.parametrize("number", [0, 1])
def test_an_entry_is_taken_away_with_its_comments_alone(number: int) -> None:
    text = "".join(
        f'[[cavity]] # {n}\nshape = "round"\nname = "{n}" # the {n}\n'
        f"diameter_mm = 9\ncentre_mm = [{x}, 0]\n"
        for n, x in (("left", -20), ("right", 20))
    )
    text = (
        f'length_mm = 90\n[rubber]\nshore_a = 20\n[block]\nshape = "square"\nwidth_mm = 90\n{text}'
    )
    data = dict_of(parse(text))
    data["cavity"] = [data["cavity"][1 - number]]
    made = rewritten(text, mold_of(data))
    assert parse(made) == mold_of(data)
    gone, kept = ("left", "right") if number == 0 else ("right", "left")
    assert f"# the {kept}" in made
    assert set(lost_comments(text, made)) == {f"# {gone}", f"# the {gone}"}


def test_a_text_that_is_no_mold_any_more_is_written_afresh() -> None:
    made = rewritten("# mine\n[[[", parse(TEXT))
    assert parse(made) == parse(TEXT)
    assert lost_comments("# mine\n[[[", made) == ("# mine",)
