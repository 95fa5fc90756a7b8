"""Python in the docs that takes long: it stands without prompts, and runs here.

What stands behind prompts (`>>>`) runs as a doctest, with what it prints.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
PAGES = [TOP / "README.md", *sorted((TOP / "docs").glob("*.md")), *TOP.glob("studies/**/*.md")]
BLOCKS = {
    f"{page.name}:{text[: found.start()].count(chr(10)) + 1}": found[1]
    for page in PAGES
    for text in [page.read_text(encoding="utf-8")]
    for found in re.finditer(r"^```python\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    if ">>>" not in found[1]
}


def test_there_are_some():
    assert BLOCKS


@pytest.mark.parametrize("source", BLOCKS.values(), ids=BLOCKS)
def test_it_is_python(source):
    compile(source, "docs", "exec")


@pytest.mark.slow(minutes=True)
@pytest.mark.parametrize("source", BLOCKS.values(), ids=BLOCKS)
def test_it_runs_as_it_stands(source, tmp_path):
    script = tmp_path / "example.py"
    script.write_text(source, encoding="utf-8")
    done = subprocess.run([sys.executable, script], cwd=TOP, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
