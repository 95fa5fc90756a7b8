"""One block, many load cases: what `close` is told counts like the mold, and changes nothing."""

import copy
import pickle
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

import squeeze
from squeeze.mold import BadInput, dict_of

ARRAYS = ("pressure_kpa", "gap_mm", "slip_mm", "shear_kpa", "sticks", "wet")


def mold(tension=0.6, resin=0.0, first=None, second=None):
    """Make a lopsided square with two cavities and two cuts."""
    return squeeze.mold_of(
        {
            "length_mm": 100,
            "rubber": {"youngs_modulus_mpa": 0.6, "poisson": 0.499},
            "block": {"shape": "square", "width_mm": 120, "bevel_mm": 12},
            "cavity": [
                {"shape": "round", "diameter_mm": 20, "centre_mm": [-20, 25]},
                {"shape": "round", "diameter_mm": 14, "centre_mm": [26, 20]},
            ],
            "cut": [
                {"name": "across", "path_mm": [[-60, 28], [26, 20]], **(first or {})},
                {"name": "down", "path_mm": [[-20, 25], [-10, -60]], **(second or {})},
            ],
            "band": [{"tension_n_per_mm": tension}],
        }
        | ({"resin": {"pressure_kpa": resin}} if resin else {})
    )


@pytest.fixture(scope="module")
def block():
    return squeeze.Block(mold(), fineness=0.8)


def same(one, other):
    assert one.trust.outcome == other.trust.outcome == "converged"
    assert one.pried == other.pried
    for a, b in zip(one.lands, other.lands, strict=True):
        for name in ARRAYS:
            assert np.array_equal(getattr(a, name), getattr(b, name)), name
    assert np.array_equal(one.field.displacement_mm, other.field.displacement_mm)


CASES = [
    ({"band_tension_n_per_mm": 0.9}, {"tension": 0.9}),
    ({"resin_kpa": 1.5}, {"resin": 1.5}),
    ({"friction": 0.3}, {"first": {"friction": 0.3}, "second": {"friction": 0.3}}),
    ({"friction": {"down": 0.4}}, {"second": {"friction": 0.4}}),
    ({"gap_mm": 0.2}, {"first": {"gap_mm": 0.2}, "second": {"gap_mm": 0.2}}),
    ({"gap_mm": {"across": [0.2, 0, 0.1]}}, {"first": {"gap_mm": [0.2, 0, 0.1]}}),
    (
        {
            "band_tension_n_per_mm": 0.3,
            "resin_kpa": 4.0,
            "friction": {"across": 0.5},
            "gap_mm": {"down": 0.1},
        },
        {"tension": 0.3, "resin": 4.0, "first": {"friction": 0.5}, "second": {"gap_mm": 0.1}},
    ),
]


@pytest.mark.parametrize(("case", "tables"), CASES)
def test_told_to_close_or_written_in_the_mold(block, case, tables):
    said = block.close(**case)
    same(said, squeeze.Block(mold(**tables), fineness=0.8).close())
    plain = block.close()
    differ = [
        np.abs(a.pressure_kpa - b.pressure_kpa).max()
        for a, b in zip(said.lands, plain.lands, strict=True)
    ]
    assert max(differ) > 0.05


def test_an_answer_does_not_depend_on_those_before(block):
    before = block.close()
    for case, _ in CASES:
        block.close(**case)
    same(before, block.close())


def test_a_name_that_is_no_cut_is_refused(block):
    for case in ({"friction": {"acros": 0.3}}, {"gap_mm": {"acros": 0.3}}):
        with pytest.raises(BadInput, match=r'"acros"; there are "across" and "down"'):
            block.close(**case)


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), -1.0, "x", "0.5", True, [0.1, [0.2]], []]
)
@pytest.mark.parametrize("key", ["band_tension_n_per_mm", "resin_kpa", "friction", "gap_mm"])
def test_what_is_no_number_from_0_up_is_refused(block, key, value):
    with pytest.raises(BadInput, match=rf"{key}: .* given; allowed is"):
        block.close(**{key: value})
    if key in ("friction", "gap_mm"):
        with pytest.raises(BadInput, match=rf"{key}: .* given; allowed is"):
            block.press(**{key: {"across": value}})


def test_a_block_can_be_pickled(block):
    again = pickle.loads(pickle.dumps(block))
    same(again.close(friction=0.3, gap_mm=0.1), block.close(friction=0.3, gap_mm=0.1))
    assert len(pickle.dumps(block)) < 3e6


def test_several_threads_get_the_same_answers(block):
    cases = [case for case, _ in CASES] * 3
    alone = [block.close(**case) for case in cases[: len(CASES)]]
    with ThreadPoolExecutor(4) as threads:
        together = list(threads.map(lambda case: block.close(**case), cases))
    for one, other in zip(alone * 3, together, strict=True):
        same(one, other)


def test_a_smooth_and_a_rough_cut_side_by_side(block):
    closing = block.close(friction={"across": 0.0, "down": 1.5})
    for land in closing.lands:
        if land.cut == "across":
            assert not land.shear_kpa.any()
            assert not land.sticks.any()
        else:
            assert (land.sticks == (land.pressure_kpa > 0)).all()
            assert np.abs(land.shear_kpa).max() > 0


def test_a_displacement_that_does_not_balance_is_no_answer(block):
    """A compliance that is not the factor's own: contact settles on it, the forces give it away."""
    spoilt = copy.copy(block)
    factor = replace(block.factor, C=1.001 * block.factor.C)
    spoilt.__dict__["model"] = replace(block.model, factor=factor)
    assert block.close().trust.residual < 1e-9
    with pytest.raises(squeeze.NotSolved, match="does not balance the forces on it"):
        spoilt.close()
    closing = spoilt.close(check=False)
    assert closing.trust.residual > 1e-5
    assert closing.trust.outcome == "forces at the nodes do not balance"


def test_friction_has_the_limit_of_the_mold_file(block):
    with pytest.raises(BadInput, match="friction: 5 given; allowed is a finite number from 0 to 3"):
        block.close(friction=5)
    with pytest.raises(BadInput, match="from 0 to 3"):
        squeeze.mold_of(
            dict_of(block.mold) | {"cut": [{"path_mm": [[0, 0], [9, 9]], "friction": 5}]}
        )
    assert block.press(friction=3.0, check=False).section.cuts[0].friction == 3.0


@pytest.mark.parametrize("fineness", [0, -1, 9, float("nan"), "fine", None, True])
def test_a_fineness_that_no_mesh_has_is_refused(block, fineness):
    for build in (squeeze.Block, squeeze.LongBlock):
        with pytest.raises(
            BadInput, match=r"fineness: .* given; allowed is a .*number from 0.25 to 8"
        ):
            build(block.mold, fineness=fineness)


@pytest.mark.parametrize("given", ["x.toml", None, 3, {"block": {}}])
def test_what_is_no_mold_is_refused(given):
    for close in (squeeze.close, squeeze.Block, squeeze.LongBlock):
        with pytest.raises(
            BadInput, match=r"mold: .* given; allowed is a mold, such as squeeze.load"
        ):
            close(given)


@pytest.mark.parametrize("loads", [0.6, "0.6", {"tension_n_per_mm": 1}])
def test_what_are_no_loads_is_refused(block, loads):
    with pytest.raises(BadInput, match=r"loads: .* given; allowed are squeeze.Loads"):
        block.close(loads)


def test_a_block_does_not_change_after_it_is_built(block):
    for name in ("mold", "section", "factor", "anything"):
        with pytest.raises(AttributeError, match="does not change after it is built"):
            setattr(block, name, None)
    with pytest.raises(AttributeError, match="does not change"):
        del block.mesh


def pushes(pressure, x=0.0):
    return squeeze.Loads(pushes=tuple(squeeze.Push((x, y), 20.0, pressure) for y in (-60.0, 60.0)))


def test_a_push_is_solved_once_for_all_pressures(block, monkeypatch):
    block.press(pushes(0.01), friction=1.0, check=False)
    monkeypatch.setattr(type(block.factor), "free_gaps", None)  # nothing is solved from here on
    once, ten_times = (block.problem(pushes(pressure), friction=1.0) for pressure in (0.01, 0.1))
    assert ten_times.b == pytest.approx(10 * once.b)
    assert ten_times.q == pytest.approx(10 * once.q)


def test_pushes_that_move_along_do_not_pile_up(block):
    for x in np.linspace(-20.0, 20.0, 50):
        block.problem(pushes(0.01, float(x)))
    assert block.solved_loads.kept <= 64


def test_every_kind_of_load_reaches_section_and_length():
    """A load kind that is listed once acts in every solver: none can forget one."""
    tables = {
        "push": [
            {"at_mm": [0, 60], "width_mm": 20, "force_n_per_mm": 0.3},
            {"at_mm": [0, -60], "width_mm": 20, "force_n_per_mm": 0.3},
            {"pressure_kpa": 2},
        ]
    }
    made = squeeze.mold_of(dict_of(mold(resin=1.0)) | tables)
    long = squeeze.LongBlock(made, waves=2)
    mean = long._mean_forces(long.loads.tension_n_per_mm, long.loads.cavity_mpa)
    block = squeeze.Block(made)
    assert mean.f == pytest.approx(block.solved_loads.given_forces(long.loads).f, abs=1e-12)
    parts = [
        squeeze.Loads(tension_n_per_mm=long.loads.tension_n_per_mm),
        squeeze.Loads(pushes=long.loads.pushes),
        squeeze.Loads(all_round_mpa=0.002),
        squeeze.Loads(cavity_mpa=0.001),
    ]
    assert mean.f == pytest.approx(
        sum(block.solved_loads.given_forces(part).f for part in parts), abs=1e-12
    )
