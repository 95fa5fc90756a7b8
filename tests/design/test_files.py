"""The folder of a design: what is ours is renewed, what is not is put aside."""

from dataclasses import replace
from pathlib import Path

import pytest

import squeeze
from squeeze.design import Design, DesignAnswer, DesignFigures, Dropped, Refusal
from squeeze.show.design.files import design_writers, file_name, put_aside
from squeeze.show.design.words import design_table, head_lines, lines
from squeeze.show.write import write_all

FIGURES = DesignFigures(
    900.0, 29.5, 12, 4, 3.0, 0.0, 0.05, 0.01, "Clean", 12, 12, 12, 3.2, 10.0, 90.0, 5.0, False
)


@pytest.fixture
def answer():
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    one = Design(1, "round, 120 mm", "round", "We would pour this one.", mold, FIGURES)
    two = replace(one, number=2, name="square, 78 mm, bevels of 11 mm", say="Another.")
    dropped = (Dropped("too large for the pot", 7, (("round", 7),)),)
    return DesignAnswer("barrels", (one, two), FIGURES, 214, 8, dropped)


def written(answer, folder):
    made = {p: w for p, w in design_writers(answer, folder).items() if p.suffix != ".png"}
    aside = list(put_aside(folder, made))
    write_all(made, folder)
    return aside


def test_files_are_named_by_the_order_and_the_block(answer):
    names = [file_name(each) for each in answer.designs]
    assert names == ["1-round-120.toml", "2-square-78-bevels-of-11.toml"]


def test_a_block_is_written_as_a_mold_file_that_can_be_read(answer, tmp_path):
    assert written(answer, tmp_path) == []
    assert squeeze.load(tmp_path / "1-round-120.toml").block == answer.designs[0].mold.block
    assert (tmp_path / "blocks.csv").read_text(encoding="utf-8").count("\n") == 4


def test_what_was_changed_is_renamed_and_what_is_stale_is_removed(answer, tmp_path):
    written(answer, tmp_path)
    own = tmp_path / "1-round-120.toml"
    own.write_text("# mine\n", encoding="utf-8")
    (tmp_path / "notes.toml").write_text("# mine, too\n", encoding="utf-8")
    fewer = replace(answer, designs=answer.designs[:1])
    ((before, after),) = written(fewer, tmp_path)
    assert before == own
    assert after.read_text(encoding="utf-8") == "# mine\n"
    assert own.read_text(encoding="utf-8") != "# mine\n"
    assert not (tmp_path / "2-square-78-bevels-of-11.toml").exists()
    assert (tmp_path / "notes.toml").exists()


def test_a_list_of_files_from_elsewhere_removes_nothing_outside(answer, tmp_path):
    from hashlib import sha256

    outside = tmp_path / "keep.toml"
    outside.write_text("x", encoding="utf-8")
    folder = tmp_path / "in"
    folder.mkdir()
    digest = sha256(b"x").hexdigest()
    text = f'{{"../keep.toml": "{digest}"}}'
    Path(folder / ".written.json").write_text(text, encoding="utf-8")
    written(answer, folder)
    assert outside.exists()


def test_the_answer_in_words(answer):
    assert head_lines(answer) == ["1. We would pour this one.", "2. Another."]
    assert design_table(answer).row_count == 3
    assert any("214 blocks tried" in line and "7: too large" in line for line in lines(answer))
    no = replace(answer, designs=(), refusal=Refusal("pot", "No block fits.", "A bore of 181 mm."))
    assert head_lines(no) == ["No block will do: no block fits.", "A bore of 181 mm."]
    assert head_lines(replace(no, refusal=None, is_complete=False)) == [
        "No block has been computed in full yet."
    ]
