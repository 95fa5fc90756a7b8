"""Two runs of a benchmark are compared figure by figure."""

import json
import subprocess
import sys
from pathlib import Path

COMPARE = Path(__file__).parents[1] / "benchmarks" / "compare.py"


def compared(folder, before, after):
    files = []
    for name, values in (("before", before), ("after", after)):
        rows = [{"name": n, "value": v, "unit": "s", "goal": 1.0} for n, v in values.items()]
        files.append(folder / f"{name}.json")
        files[-1].write_text(json.dumps({"rows": rows}))
    return subprocess.run(
        [sys.executable, COMPARE, *files], capture_output=True, text=True, check=False
    )


def test_what_grew_is_named_and_ends_with_one(tmp_path):
    found = compared(tmp_path, {"close": 1.0, "cradle": 1.0}, {"close": 1.5, "cradle": 0.5})
    assert found.returncode == 1
    assert found.stdout.splitlines()[-1] == "worse: close"


def test_noise_and_new_figures_are_not_worse(tmp_path):
    found = compared(tmp_path, {"close": 1.0}, {"close": 1.1, "bands": 3.0})
    assert found.returncode == 0
    assert "new" in found.stdout


def test_a_figure_that_is_gone_is_worse(tmp_path):
    assert compared(tmp_path, {"close": 1.0, "bands": 1.0}, {"close": 1.0}).returncode == 1
