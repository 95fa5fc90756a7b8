"""The usual mesh: that of every ordinary mold is 1, and very many parts get longer edges."""

import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.solve.accuracy import usual_mesh
from squeeze.solve.accuracy.refined import refined
from squeeze.solve.accuracy.usual_mesh import usual_fineness
from squeeze.verdict.advice.trial import Trials

MOLD = {
    "length_mm": 100,
    "rubber": {"shore_a": 20},
    "block": {"shape": "round", "diameter_mm": 80},
    "cavity": [{"shape": "round", "diameter_mm": 20}],
    "cut": [{"path_mm": [[-40, 0], [40, 0]]}],
    "band": [{"tension_n_per_mm": 0.2}],
}


def test_an_ordinary_mold_has_the_usual_mesh():
    assert usual_fineness(section_of(squeeze.mold_of(MOLD))) == 1.0


@pytest.fixture
def many(monkeypatch):
    """Let this mold count as one with too many parts: a mesh half as fine is too large by half."""
    mold = squeeze.mold_of(MOLD)
    coarse = squeeze.Block(mold, 0.5).mesh.points.size
    monkeypatch.setattr(usual_mesh, "MOST_UNKNOWNS", int(coarse / 1.5))
    return mold


def test_the_unknowns_are_those_of_the_mesh(many):
    """Counted from the triangles alone, before cuts double the nodes on them."""
    mesh = squeeze.Block(many, 0.5).mesh
    twice = mesh.points.size - 2 * sum(len(faces.left) for faces in mesh.faces)
    counted = usual_mesh.MOST_UNKNOWNS / usual_fineness(section_of(many)) ** 2
    assert twice - 20 < counted <= mesh.points.size


def test_an_answer_on_fewer_unknowns_still_says_how_far_it_is_off(many):
    found = refined(many, accuracy_pct=20)
    assert found.block.fineness == pytest.approx(1.5**-0.5, rel=0.02)
    assert found.closing.errors is not None
    fine = squeeze.close(many, fineness=1.0)
    ours, theirs = (each.lands[0].mean_pressure_kpa for each in (found.closing, fine))
    assert ours == pytest.approx(theirs, rel=0.02)


def test_a_mesh_that_is_asked_for_is_kept(many):
    assert refined(many, fineness=1.0).block.fineness == 1.0


def test_advice_compares_on_the_usual_mesh(many):
    trials = Trials(usual=usual_fineness(section_of(many)))
    block = trials.block(many, "the mold as it is")
    assert block is not None
    assert block.fineness == trials.usual < 1
