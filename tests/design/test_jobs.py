"""Jobs: computed once, kept, and found again."""

import squeeze
from squeeze.design.answer import DesignFigures
from squeeze.design.jobs import InProcess, Job, certify_job, found_of, run_jobs, search_job
from squeeze.design.search import Draft, Found
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
    other = mold.model_copy(update={"length_mm": 141.0})
    jobs = [
        search_job(mold, 0, ""),
        search_job(mold, 1, ""),
        search_job(other, 0, ""),
        certify_job(mold, DesignTable(), ""),
        certify_job(mold, DesignTable(band_price=1.0), ""),
    ]
    assert len({job.id for job in jobs}) == len(jobs)
    assert search_job(mold, 0, "other words").id == jobs[0].id


def test_a_search_comes_back_from_its_answer_as_it_went():
    from dataclasses import asdict

    draft = Draft({"block": {}}, "round", 900.0, 0.2, 12, 4, 3.0, 0.0, 0.05, True)
    found = Found("round", 3, [draft])
    found.dropped["too large for the pot"] += 2
    kept = {"found": asdict(found) | {"dropped": dict(found.dropped)}}
    assert found_of(CaseAnswer("id", CaseState.DONE, None, kept)) == found
    assert len(DesignFigures.__dataclass_fields__) == 17
