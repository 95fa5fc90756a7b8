"""Importing the room stays light."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize("heavy", ["matplotlib", "scipy", "skfem", "starlette", "rich"])
def test_importing_the_room_loads_nothing_heavy(heavy):
    code = f"import sys, squeeze.mold; sys.exit({heavy!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
