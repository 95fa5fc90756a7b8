"""Jobs: computed once, kept, and found again."""

import json

import squeeze
from squeeze.design.blocks.limits import limits_of
from squeeze.design.jobs import (
    InProcess,
    Job,
    certify_job,
    run_jobs,
    screen_job,
    screened_of,
)
from squeeze.design.search.given_up import FITS_NOT, Unfit
from squeeze.design.search.screen import Screened, screen
from squeeze.mold.tables.design import DesignTable
from squeeze.study import CaseAnswer, CaseState, MemoryStore

CALLS = []


def counted(data):
    CALLS.append(data["n"])
    if data["n"] < 0:
        raise ValueError("less than nothing")
    return {"twice": 2 * data["n"]}


def answers(jobs, store):
    return {job.data["n"]: answer for job, answer in run_jobs(jobs, store, InProcess())}


def test_what_was_computed_is_not_computed_again():
    CALLS.clear()
    store = MemoryStore()
    answers([Job(counted, {"n": 1}, "one")], store)
    found = answers([Job(counted, {"n": n}, "more") for n in (1, 2)], store)
    assert CALLS == [1, 2]
    assert {n: a.measures["twice"] for n, a in found.items()} == {1: 2, 2: 4}


def test_a_job_that_fails_says_why_and_the_others_go_on():
    found = answers([Job(counted, {"n": n}, "") for n in (-1, 3)], MemoryStore())
    assert found[-1].state is CaseState.FAILED
    assert "less than nothing" in found[-1].error
    assert found[3].state is CaseState.DONE


def test_the_identity_depends_on_the_mold_and_the_wishes():
    mold = squeeze.load("studies/barrels/barrels.toml")
    data = squeeze.mold.dict_of(mold)
    limits, wider = limits_of(mold), limits_of(mold, DesignTable(most_width_mm=90))
    more = limits_of(mold, DesignTable(most_bands=9))
    jobs = [
        screen_job(data, limits, ""),
        screen_job(data | {"length_mm": 141.0}, limits, ""),
        screen_job(data, wider, ""),
        screen_job(data, more, ""),
        certify_job(mold, DesignTable(), ""),
        certify_job(mold, DesignTable(band_price=1.0), ""),
    ]
    assert len({job.id for job in jobs}) == len(jobs)
    assert screen_job(data, limits, "other words").id == jobs[0].id


def screened_by_job(data, limits):
    ((_, answer),) = run_jobs([screen_job(data, limits, "")], MemoryStore(), InProcess())
    kept = json.loads(json.dumps(answer.measures))  # as a store keeps it
    return screened_of(CaseAnswer(answer.id, answer.state, None, kept))


def test_a_block_that_was_screened_elsewhere_comes_back_as_it_went():
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    data, limits = squeeze.mold.dict_of(mold), limits_of(mold)
    got = screened_by_job(data, limits)
    assert isinstance(got, Screened)
    assert got == screen(data, limits)


def test_a_block_that_was_given_up_elsewhere_comes_back_with_its_reason():
    mold = squeeze.load("studies/barrels/barrels-round.toml")
    data = squeeze.mold.dict_of(mold) | {"pot": {"bore_mm": 50, "depth_mm": 300}}
    got = screened_by_job(data, limits_of(mold))
    assert isinstance(got, Unfit)
    assert got.reason == FITS_NOT
    assert got.needs > 120
    assert not got.is_computed
