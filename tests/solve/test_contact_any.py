"""Any section with many cuts gets a certified answer or a named outcome."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import squeeze
from squeeze.solve import Outcome
from squeeze.solve.large.newton import GAP_ERROR

frictions = st.sampled_from([0.0, 0.0, 0.1, 0.3, 0.5, 0.8, 1.2, 1.5])
gaps = st.sampled_from([0.0, 0.0, 0.1, [0.2, 0.0, 0.1], [0.0, 0.15, 0.0]])
cases = st.fixed_dictionaries(
    {
        "seed": st.integers(0, 10**6),
        "cavities": st.integers(0, 3),
        "cuts": st.lists(st.tuples(frictions, gaps), min_size=1, max_size=6),
        "resin": st.sampled_from([0.0, 0.0, 1.0, 5.0]),
        "push": st.sampled_from([0.0, 0.0, 10.0]),
    }
)


def answered(tables_of, case, deformation="auto"):
    """Close a random mold; None when the mold is refused, which has to be said in words."""
    tables = tables_of(case["seed"], case["cavities"], len(case["cuts"]))
    for cut, (friction, gap) in zip(tables["cut"], case["cuts"], strict=True):
        cut |= {"friction": friction, "gap_mm": gap}
    if case["resin"]:
        tables["resin"] = {"pressure_kpa": case["resin"]}
    if case["push"]:
        tables["push"] = [{"pressure_kpa": case["push"]}]
    try:
        mold = squeeze.mold_of(tables)
        return squeeze.close(mold, fineness=0.4, deformation=deformation, check=False)
    except squeeze.BadInput as error:
        faults = error.faults
    assert all(fault.key and len(fault.text) > 15 for fault in faults)
    return None


def obeys(closing):
    """Check contact and friction from the lands' own figures."""
    most = max((land.pressure_kpa.max() for land in closing.lands), default=0.0)
    mu = {cut.name: cut.friction for cut in closing.section.cuts}
    for land in closing.lands:
        p, t, bound = land.pressure_kpa, land.shear_kpa, mu[land.cut] * land.pressure_kpa
        assert p.min() >= 0
        assert (land.gap_mm[p > 0] == 0).all()
        assert (np.abs(t) <= bound + 1e-6 * most).all()
        assert not (land.wet & (p > 0)).any()
        slides = (p > 1e-3 * most) & ~land.sticks
        assert np.abs(t[slides]) == pytest.approx(bound[slides], abs=1e-6 * most)


def checked(closing):
    trust = closing.trust
    assert trust.outcome in tuple(Outcome)
    going = [piece for piece in trust.pieces if piece.goes is not None or piece.turns]
    if trust.outcome == "a piece is not held":
        assert going
        assert len(going) < len(trust.pieces)
    else:
        assert not going
    if closing.outcome.has_answer:
        # what friction at its limit leaves over shows in gaps as well
        least = GAP_ERROR if closing.deformation.is_large else 1e-7
        assert trust.complementarity < max(least, 20 * trust.force_balance)
        assert trust.force_balance < 2e-3  # what is left along a smooth cut that nothing resists
        if all(cut.friction for cut in closing.section.cuts):
            assert trust.force_balance < 1e-6
        obeys(closing)
    return str(trust.outcome)


few = settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=True,
)
many = settings(few, max_examples=1000, derandomize=False)


@few
@given(case=cases)
def test_a_few(tables_of, case):
    """The contact law by itself; the slow test takes the same molds as they deform."""
    closing = answered(tables_of, case, deformation="small")
    assert closing is None or checked(closing)


@pytest.mark.slow(minutes=True)
@many
@given(case=cases)
def test_a_thousand(tables_of, case):
    closing = answered(tables_of, case)
    assert closing is None or checked(closing)


@pytest.mark.parametrize(
    ("deformation", "count"),
    [("small", 12), *(pytest.param(d, 24, marks=pytest.mark.slow) for d in ("small", "auto"))],
)
def test_most_are_answered(tables_of, deformation, count):
    """A count over seeds: an engine that refused or gave up on all would pass the others."""
    outcomes = []
    for seed in range(count):
        cuts = [((0.1, 0.4, 0.8)[seed % 3], (0.0, [0.1, 0.0, 0.1])[seed % 2])] * (1 + seed % 4)
        case = {"seed": seed, "cavities": seed % 3, "cuts": cuts, "resin": 0.0, "push": 5.0}
        closing = answered(tables_of, case, deformation)
        outcomes.append(None if closing is None else checked(closing))
    told = [outcome for outcome in outcomes if outcome]
    assert len(told) > count / 2
    assert np.mean([outcome == "converged" for outcome in told]) > 0.6
    assert np.mean([outcome == "step limit" for outcome in told]) < 0.1
