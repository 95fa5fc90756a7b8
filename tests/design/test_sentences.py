"""What is said of the search: rules only where what was tried shows them."""

import squeeze
from squeeze.design.search.drafts import Found
from squeeze.design.words.sentences import bands_words, name_of, remarks_of


def remarks(*found):
    mold = squeeze.load("studies/barrels/barrels.toml")
    return remarks_of(found, (), None, mold, True)


def test_bevels_that_are_too_small_are_told_where_larger_ones_hold():
    found = Found("square", open_shapes=[(3, 1), (9, 1), (15, 1)], held_shapes=[(18, 1), (30, 1)])
    assert remarks(found) == (
        "All 3 blocks of the kind 'square' with less than 18 mm off their corners leave a land"
        " open.",
    )


def test_low_blocks_are_told_where_bevels_do_not_decide():
    found = Found(
        "rectangle", open_shapes=[(3, 0.4), (9, 0.4), (15, 0.5)], held_shapes=[(3, 0.7), (9, 0.9)]
    )
    (said,) = remarks(found)
    assert "lower than 0.70 of their width leave a land open, even with 15 mm" in said


def test_no_rule_is_told_of_two_blocks_or_where_it_does_not_divide():
    few = Found("square", open_shapes=[(3, 1), (9, 1)], held_shapes=[(18, 1)])
    mixed = Found("square", open_shapes=[(3, 1), (9, 1), (20, 1)], held_shapes=[(18, 1)])
    assert remarks(few, mixed) == ()


def test_a_kind_that_never_holds_is_told():
    (said,) = remarks(Found("oval", open_shapes=[(0, 0.5)] * 4))
    assert said.startswith("All 4 blocks of the kind 'oval' leave a land open")


def test_blocks_and_bands_have_names():
    mold = squeeze.load("studies/barrels/barrels-beveled.toml")
    assert name_of(mold) == "square, 120 mm, bevels of 35 mm"
    assert name_of(mold, inches=True) == "square, 4.72 in, bevels of 1.38 in"
    assert name_of(squeeze.load("studies/barrels/barrels.toml")) == "square, 120 mm"
    assert bands_words(mold) == "eight bands of size 84"
