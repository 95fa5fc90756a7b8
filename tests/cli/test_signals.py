"""Ctrl-C and requests to end: one line, the status that shells expect, and nothing left behind.

Real processes are sent real signals. What Python itself does before the first line of squeeze runs
is not ours, so each process says when it is there: just behind the import of the first module.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")

BARRELS = Path(__file__).parents[2] / "studies" / "barrels" / "barrels.toml"
BEGIN = "import os; from squeeze.__main__ import main; os.write(1, b'+'); main()"


def started(*asked: object, code: str = BEGIN) -> subprocess.Popen[str]:
    """Start a command and wait until squeeze's own code runs."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, asked)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),  # nohup may run the tests
    )
    assert process.stdout is not None
    assert process.stdout.read(1) == "+"
    return process


def some(values: tuple, quick: tuple) -> list:
    """Return all values, those that are not quick as slow ones: each starts a process."""
    return [pytest.param(v, marks=() if v in quick else pytest.mark.slow) for v in values]


MOMENTS_S = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.8, 1.2)


@pytest.mark.parametrize("after_s", some(MOMENTS_S, (0.0, 0.05, 0.2, 0.4, 0.8)))
def test_ctrl_c_once_squeeze_runs(tmp_path, after_s):
    """During the first imports, the later ones, the mesh, the solve."""
    process = started("close", BARRELS, "--json", tmp_path / "a.json")
    time.sleep(after_s)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, "Stopped.\n")
    assert list(tmp_path.iterdir()) == []


AT_AN_IMPORT = """
import os, runpy, signal, sys
class Finder:
    def find_spec(self, name, *_):
        if name == {module!r}:
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Finder())
del sys.modules["signal"]
os.write(1, b"+")
runpy.run_module("squeeze", run_name="__main__", alter_sys=True)
"""


@pytest.mark.parametrize(
    "module",
    ["squeeze.cli", "signal", "squeeze.cli.commands", "typer", "squeeze.mold", "numpy", "scipy"],
)
def test_ctrl_c_during_an_import(module):
    """From the first module that squeeze imports on, whether its own or a library."""
    process = started("close", BARRELS, code=AT_AN_IMPORT.format(module=module))
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, "Stopped.\n")


def test_the_command_starts_where_ctrl_c_is_answered():
    """The installed script imports the module whose first lines set up the signals."""
    project = tomllib.loads((BARRELS.parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["scripts"] == {"squeeze": "squeeze.__main__:main"}


SLOW_WRITE = """
import os
import time
import tomllib
from pathlib import Path
import squeeze.cli.new, squeeze.show.write as write
def slow(writers, folder=None):
    def half(part):
        part.write_text("half")
        os.write(1, b"+")
        time.sleep(60)
    return write_all({path: half for path in writers})
write_all, write.write_all = write.write_all, slow
from squeeze.cli import main
main()
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_no_half_file_stays(tmp_path, number):
    process = started("new", tmp_path / "pens", code=SLOW_WRITE)
    assert [entry.suffix for entry in tmp_path.iterdir()] == [".part"]
    process.send_signal(number)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (128 + number, "Stopped.\n")
    assert list(tmp_path.iterdir()) == []


def test_an_ignored_signal_stays_ignored():
    """`nohup squeeze ...` goes on when its terminal closes."""
    code = f"import signal; signal.signal(signal.SIGHUP, signal.SIG_IGN); {BEGIN}"
    process = started("--version", code=code)
    process.send_signal(signal.SIGHUP)
    process.communicate(timeout=60)
    assert process.returncode == 0


@pytest.mark.parametrize("after_s", some((0.0, 0.3, 1.0), (0.3,)))
def test_the_page_stops_in_words(after_s):
    """A terminal sends Ctrl-C to the processes that solve as well, while they still import."""
    process = started("page", "--port", 0, "--no-browser")
    assert process.stdout is not None
    assert "http://127.0.0.1:" in process.stdout.readline()
    time.sleep(after_s)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, "Stopped.\n")
