"""Which blocks are on the front, which are computed in full, which are named."""

from dataclasses import replace

import pytest

from squeeze.design.answer import DesignFigures
from squeeze.design.blocks.work import weight_of
from squeeze.design.certified.choose import (
    Certified,
    beaten_by,
    chosen,
    stands_in,
    to_certify,
)
from squeeze.design.search.drafts import Draft, dominates, front
from squeeze.mold.tables.design import DesignTable

BASE = {"block": {"shape": "round"}, "cavity": [{}], "cut": [{}]}
DRAFT = Draft(BASE, "round", 900.0, 0.2, 12, 4, 3.0, 0.0, 0.05, True)
FIGURES = DesignFigures(
    900.0, None, 12, 4, 3.0, 0.0, 0.05, 0.01, "Clean", 12, 12, 12, 3.2, 10.0, 90.0, 5.0, False
)


def draft(**changes):
    return replace(DRAFT, **changes)


def block(kind="round", corner=None, **changes):
    data = BASE | {"block": {"shape": kind} | (corner or {})}
    return Certified(draft(kind=kind, data=data), None, replace(FIGURES, **changes))


def test_a_block_is_beaten_by_what_is_better_in_one_thing_and_worse_in_none():
    assert dominates((1, 2), (1, 3))
    assert not dominates((1, 2), (1, 2))
    assert not dominates((1, 3), (2, 2))


def test_the_front_keeps_what_is_best_in_something_and_one_of_equals():
    a, b, c = draft(), draft(rubber_g=800.0, steps=20), draft(rubber_g=950.0)
    assert front([a, b, c, draft()]) == [a, b]


def test_the_best_of_the_kinds_come_first_and_none_twice():
    drafts = [
        draft(data=BASE | {"n": 1}),
        draft(
            data=BASE | {"n": 2, "block": {"shape": "oval"}}, kind="oval", rubber_g=700.0, steps=25
        ),
        draft(
            data=BASE | {"n": 3, "block": {"shape": "oval"}},
            kind="oval",
            rubber_g=750.0,
            steps=25,
            bands=2,
        ),
        draft(
            data=BASE | {"n": 4, "block": {"shape": "square"}},
            kind="square",
            rubber_g=2000.0,
            steps=9,
            is_clean=False,
        ),
    ]
    order = [each.data["n"] for each in to_certify(drafts, 10.0)]
    assert sorted(order) == [1, 2, 3, 4]
    assert order[0] == 2
    assert order.index(4) >= 2
    assert order[-1] == 3, "an oval much like another comes last"
    assert to_certify([], 10.0) == []


def test_what_is_clean_is_poured_first_even_if_it_takes_more():
    light = block("oval", rubber_g=500.0, clean_in=3)
    heavy = block("round", clean_in=11)
    assert chosen([light, heavy], 6, 10.0) == [heavy, light]


def test_blocks_that_are_alike_are_named_once():
    near = block(rubber_g=910.0, margin=3.1)
    far = block(rubber_g=910.0, margin=9.0, bands=9)
    other = block("oval", rubber_g=910.0, margin=3.2)
    assert chosen([block(), near, far, other], 6, 10.0) == [block(), far, other]
    assert len(chosen([block(), near, far, other], 2, 10.0)) == 2


def test_work_has_its_price():
    wishes = DesignTable(step_price=3.0)
    assert weight_of(wishes, 30.0, 800.0) == pytest.approx(100.0)
    assert weight_of(DesignTable(), 30.0, 800.0) == pytest.approx(16.0)


def test_a_block_is_compared_with_the_file():
    assert beaten_by(FIGURES, [replace(FIGURES, rubber_g=800.0)])
    assert not beaten_by(FIGURES, [FIGURES, replace(FIGURES, rubber_g=800.0, steps=13)])


def test_a_bevel_that_a_knife_takes_off_makes_no_other_block():
    plain = block("square", rubber_g=901.0, margin=3.1)
    little = block("square", {"bevel_mm": 2.0})
    wide = block("square", {"bevel_mm": 12.0}, rubber_g=902.0, margin=3.2)
    assert chosen([plain, little, wide], 6, 10.0) == [little, wide]


def test_of_blocks_with_the_same_rubber_and_work_the_larger_margin_comes_first():
    thin, thick = (draft(data=BASE | {"n": k}, margin=m) for k, m in ((1, 2.2), (2, 4.0)))
    assert to_certify([thin, replace(thick, shift_mm=0.06)], 10.0)[0].data["n"] == 2


def test_a_block_that_saves_nothing_worth_a_thought_is_not_named():
    """A third of a gram less rubber, and worse in everything else."""
    good = block("hexagon")
    worse = block("oval", rubber_g=899.7, steps=14, bands=6, margin=2.4, shift_mm=0.15)
    assert chosen([good, worse], 6, 10.0) == [good]
    assert not stands_in(good.costs(), block("oval", rubber_g=890.0).costs())
    assert not stands_in(good.costs(), block("oval", bands=3).costs())
    assert not stands_in(good.costs(), block("oval", margin=3.1).costs())
