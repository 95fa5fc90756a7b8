"""The plan: order, identity, sections, and that it stays small."""

from __future__ import annotations

import tracemalloc
from itertools import islice

import pytest

from squeeze.mold import BadInput
from squeeze.study import cases, load_study
from squeeze.study.plan import study as plan_module
from squeeze.study.plan.sections import is_load
from squeeze.study.plan.study import batches

HEAD = 'mold = "small.toml"\n'
MIXED = (
    HEAD
    + """
[vary]
"band.tension_n_per_mm" = [0.1, 0.2, 0.3]
"block.bevel_mm" = [0, 4]
"cut.across.gap_mm" = [0, 0.1]
"""
)


def test_cases_that_share_a_section_stand_together(study):
    found = list(cases(study(MIXED)))
    assert len(found) == 12
    sections = [case.section for case in found]
    assert sections == [sections[0]] * 6 + [sections[6]] * 6
    assert sorted(case.number for case in found) == list(range(12))


def test_numbers_follow_the_file(study):
    found = sorted(cases(study(MIXED)), key=lambda case: case.number)
    assert [tuple(case.values.values()) for case in found[:3]] == [
        (0.1, 0, 0),
        (0.1, 0, 0.1),
        (0.1, 4, 0),
    ]


@pytest.mark.parametrize(
    ("key", "load"),
    [
        ("band.count", True),
        ("resin.head_mm", True),
        ("cut.across.friction", True),
        ("cut.across.gap_mm", True),
        ("cut.across.path_mm", False),
        ("cut", False),
        ("block.bevel_mm", False),
        ("rubber.shore_a", False),
    ],
)
def test_what_needs_no_new_factor(key, load):
    assert is_load(key) is load


def identities(study) -> dict[str, str]:
    return {case.name: case.id for case in cases(study)}


def test_identity_is_the_content(study, monkeypatch):
    base = identities(study(MIXED))
    assert len(set(base.values())) == 12
    assert identities(study(MIXED)) == base
    more = identities(study(MIXED.replace("[0, 4]", "[0.0, 4, 5]")))
    assert set(base.values()) < set(more.values())
    finer = identities(study("fineness = 2\n" + MIXED))
    assert not set(base.values()) & set(finer.values())
    other = identities(study("keep = 'evenness'\n" + MIXED))
    assert not set(base.values()) & set(other.values())
    monkeypatch.setattr(plan_module, "numerics", lambda: "another")
    assert not set(base.values()) & set(identities(study(MIXED)).values())


def test_a_mold_renamed_is_the_same(write):
    path = write(MIXED)
    before = identities(load_study(path))
    mold = path.with_name("small.toml")
    mold.write_text(mold.read_text().replace("Small block", "Another title"))
    assert identities(load_study(path)) == before


def test_batches_share_a_section_and_are_small(study):
    text = (
        HEAD
        + '[vary]\n"block.bevel_mm" = [0, 4]\n"band.tension_n_per_mm" = {from=1, to=2, count=50}'
    )
    made = study(text)
    found = list(batches(made, cases(made)))
    assert [len(batch.cases) for batch in found] == [32, 18, 32, 18]
    assert len({batch.section for batch in found}) == 2


def test_a_large_plan_takes_no_room(study):
    """10,000 cases are gone through one by one."""
    text = HEAD + '[vary]\n"block.bevel_mm" = {from=0, to=9.9, count=100}\n'
    made = study(text + '"band.tension_n_per_mm" = {from=0.1, to=0.5, count=100}')
    source = cases(made)
    list(islice(source, 100))
    tracemalloc.start()
    seen = sum(1 for _ in islice(source, 400))
    now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert seen == 400
    assert peak < 1_000_000
    assert now < 300_000


def test_what_is_no_mold_is_a_case_with_a_fault(study):
    text = HEAD + '[vary]\n"block.shape" = ["square", "oval"]'
    found = list(cases(study(text)))
    assert [case.fault is None for case in found] == [True, False]
    assert "height_mm" in str(found[1].fault)


@pytest.mark.parametrize(
    "text",
    [
        '[vary]\n"own.n" = [2, 0, 4]\n[set]\n"block.bevel_mm" = "= 4 / own.n"',
        'skip = "1 / own.n > 9"\n[vary]\n"own.n" = [2, 0, 4]\n"block.bevel_mm" = [1]',
    ],
)
def test_a_formula_that_one_case_cannot_compute_is_a_fault_of_that_case(study, text):
    found = list(cases(study(HEAD + text)))
    assert [case.fault is None for case in found] == [True, False, True]
    assert "division by zero" in str(found[1].fault)


def test_cases_that_a_formula_leaves_without_a_mold_have_identities_of_their_own(study):
    vary = '[vary]\n"own.n" = [2, 0]\n"own.m" = [1, 2]\n[set]\n"block.bevel_mm" = "= own.m / own.n"'
    assert len({case.id for case in cases(study(HEAD + vary))}) == 4


def test_a_formula_that_the_first_case_cannot_compute_is_refused(study):
    with pytest.raises(BadInput, match="division by zero"):
        study(HEAD + '[vary]\n"own.n" = [0, 2]\n[set]\n"block.bevel_mm" = "= 4 / own.n"')


def test_the_order_of_the_keys_in_a_mold_is_no_matter(write):
    path = write(MIXED)
    before = identities(load_study(path))
    mold = path.with_name("small.toml")
    shape, width = 'shape = "square"', "width_mm = 40"
    mold.write_text(mold.read_text().replace(f"{shape}\n{width}", f"{width}\n{shape}"))
    assert identities(load_study(path)) == before


def test_what_is_paired_with_a_shape_does_not_run_fastest(write):
    """Two tensions, each with a bevel of its own, and two lengths: a new mesh for each bevel."""
    plan = load_study(
        write(
            'mold = "small.toml"\nkeep = ["seals"]\n[vary]\nlength_mm = [30, 40]\n'
            '[[paired]]\n"band.tension_n_per_mm" = [0.1, 0.2]\n"block.bevel_mm" = [2, 4]\n'
        )
    )
    order = [(each.mold["block"]["bevel_mm"], each.mold["length_mm"]) for each in cases(plan)]
    assert order == [(2, 30), (2, 40), (4, 30), (4, 40)]
    assert [each.number for each in cases(plan)] == [0, 2, 1, 3]
