"""Measures of one's own: functions on each closing, in other processes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import squeeze
from squeeze.mold import BadInput
from squeeze.study import CaseState, MemoryStore, OwnMeasureFault, load_study, run
from squeeze.study.own_measures import own_measures
from squeeze.study.plan.study import cases

STUDY = """
mold = "small.toml"
fineness = 0.5
keep = ["closed_share"]
[vary]
"band.tension_n_per_mm" = [0.1, 0.2]
"""


@pytest.mark.usefixtures("solved_here")
def test_a_function_is_a_column(write):
    heard = []
    table = squeeze.run_study(
        write(STUDY),
        own_measures={
            "peak_kpa": lambda closing: max(land.pressure_kpa.max() for land in closing.lands),
            "rubber_moves": lambda closing: bool(np.abs(closing.field.displacement_mm).max() > 0),
        },
        workers=1,
        progress=lambda what, share=None: heard.append((what, share)),
    )
    once, twice = table["peak_kpa"]
    assert once > 0
    assert twice == pytest.approx(2 * once, rel=1e-6)  # twice the tension
    assert list(table["rubber_moves"]) == [True, True]
    assert heard[-1] == ("2 of 2 cases", 1.0)
    kept = squeeze.read_study(write(STUDY))
    assert list(kept["peak_kpa"]) == [once, twice]


@pytest.mark.slow
def test_functions_of_a_script_and_of_a_module_beside_it(write, tmp_path):
    """``__main__`` is not there in a worker process, and needs no guard; modules are found."""
    path = write(STUDY)
    Path(tmp_path / "my_measures.py").write_text("def lands(c):\n    return len(c.lands)\n")
    script = tmp_path / "script.py"
    script.write_text(
        "import squeeze, my_measures\n"
        "def cavities(closing):\n    return len(closing.cavities)\n"
        "own = {'pieces': my_measures.lands, 'voids': cavities}\n"
        f"table = squeeze.run_study({str(path)!r}, own_measures=own, workers=1)\n"
        "print(list(table['pieces']), list(table['voids']))\n"
    )
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[2, 2] [1, 1]"


@pytest.mark.usefixtures("solved_here")
def test_a_function_that_fails_is_named_in_its_case(write):
    study = load_study(write(STUDY), {"broken": lambda closing: closing.lands[99]})
    store = MemoryStore()
    run(study, store, workers=1)
    rows = list(store.rows())
    assert {row["state"] for row in rows} == {CaseState.FAILED}
    assert all("broken: IndexError" in row["error"] for row in rows)


def test_what_is_no_value_is_refused(closed):
    with pytest.raises(OwnMeasureFault, match="pressure: ndarray given; needed is a number"):
        own_measures({"pressure": lambda c: c.lands[0].pressure_kpa}).values(closed)


def test_nan_is_no_value(closed):
    assert own_measures({"share": lambda c: float("nan")}).values(closed) == {"share": None}


@pytest.mark.usefixtures("solved_here")
def test_without_an_answer_a_function_is_not_asked(write):
    """No bands: nothing holds the halves together."""
    study = load_study(
        write(STUDY.replace("[0.1, 0.2]", "[0.1]"), mold=LOOSE), {"one": lambda closing: 1 / 0}
    )
    store = MemoryStore()
    run(study, store, workers=1)
    (row,) = store.rows()
    assert (row["state"], row["one"]) == (CaseState.DONE, None)
    assert row["outcome"] == "a piece is not held"


LOOSE = """
title = "Cut off"
length_mm = 40
rubber.youngs_modulus_mpa = 0.6
block = { shape = "square", width_mm = 40 }
push = [{ at_mm = [-20, 0], width_mm = 10, force_n_per_mm = 0.1 },
        { at_mm = [20, 0], width_mm = 10, force_n_per_mm = 0.1 }]
[[cut]]
name = "corner"
path_mm = [[0, 20], [20, 0]]
[[band]]
tension_n_per_mm = 0.0
"""


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("closed_share", "is a column of the table already"),
        ("band.tension_n_per_mm", "needed are letters"),
        ("state", "is a column of the table already"),
        ("the web", "needed are letters"),
    ],
)
def test_names_that_cannot_be(write, name, said):
    with pytest.raises(BadInput, match=said):
        load_study(write(STUDY), {name: lambda closing: 1})


def test_what_is_no_function_is_refused(write):
    with pytest.raises(OwnMeasureFault, match="web: 3 given; needed is a function"):
        load_study(write(STUDY), {"web": 3})


def test_answers_belong_to_the_function(write):
    path = write(STUDY)

    def scaled(factor):
        return lambda closing: factor * closing.lands[0].mean_pressure_kpa

    def ids(**own):
        return [case.id for case in cases(load_study(path, own))]

    assert ids(a=scaled(2)) == ids(a=scaled(2))
    assert ids(a=scaled(2)) != ids(a=scaled(3))
    assert ids(a=scaled(2)) != ids(b=scaled(2))
    assert ids() == [case.id for case in cases(load_study(path))]


def test_a_figure_may_show_it(write):
    text = STUDY + '[figure]\nx = "band.tension_n_per_mm"\ny = "web_mm"\n'
    with pytest.raises(BadInput, match="web_mm"):
        load_study(write(text))
    assert load_study(write(text), {"web_mm": lambda c: 1.0}).keep == ("closed_share", "web_mm")
