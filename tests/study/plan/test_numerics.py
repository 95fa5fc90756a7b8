"""The digest of the numerics: what makes old answers void, and what does not."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path

import pytest

import squeeze
from squeeze.study.plan.numerics import MODULES, ROOMS, code_digest, numerics, syntax_of

PACKAGE = Path(squeeze.__file__).parent


@pytest.fixture
def package(tmp_path) -> Path:
    """Return a package of the same modules as this one, each a line long."""
    made = tmp_path / "squeeze"
    for path in [*MODULES, *(p.relative_to(PACKAGE) for r in ROOMS for p in modules(PACKAGE / r))]:
        (made / path).parent.mkdir(parents=True, exist_ok=True)
        (made / path).write_text(f'"""What it holds."""\n\nNAME = "{path}"\n')
    return made


def modules(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.py"))


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.mark.slow
def test_comments_docstrings_and_layout_change_nothing(tmp_path):
    """In a copy of this package as it is."""
    package = tmp_path / "squeeze"
    for part in (*ROOMS, *MODULES):
        (package / part).parent.mkdir(parents=True, exist_ok=True)
        copy = shutil.copytree if (PACKAGE / part).is_dir() else shutil.copy
        copy(PACKAGE / part, package / part)
    assert code_digest(package) == numerics()
    for path in modules(package):
        text = path.read_text(encoding="utf-8")
        text = text.replace('"""', '"""Changed. ', 1).replace("\n\n\n", "\n\n\n\n# a remark\n\n")
        path.write_text(text + "\n# the end\n", encoding="utf-8", newline="\r\n")
    assert code_digest(package) == numerics()


NESTED = """
SLACK_MM = 0.25

class Wall:
    def area(self):
        return 2 * SLACK_MM
"""


@pytest.mark.parametrize("room", ROOMS)
def test_a_changed_constant_in_a_nested_module_counts(package, room):
    module = package / room / "deep" / "deeper" / "walls.py"
    module.parent.mkdir(parents=True)
    module.write_text(NESTED)
    before = code_digest(package)
    change(module, "0.25", "0.2500001")
    changed = code_digest(package)
    assert changed != before
    change(module, "2 * SLACK", "3 * SLACK")
    assert code_digest(package) not in (before, changed)


@pytest.mark.slow
def test_every_module_of_the_rooms_counts(package, monkeypatch):
    """Each on its own: a statement that is added anywhere is noticed."""
    monkeypatch.setattr("squeeze.study.plan.numerics.syntax_of", cache(syntax_of))
    before = code_digest(package)
    assert any(len(path.relative_to(package).parts) > 2 for path in modules(package))
    for path in modules(package):
        text = path.read_text(encoding="utf-8")
        path.write_text(text + "\nADDED = 1\n", encoding="utf-8")
        assert code_digest(package) != before, path
        path.write_text(text, encoding="utf-8")
    assert code_digest(package) == before


def test_a_module_moved_into_a_folder_still_counts(package):
    module = package / "solve" / "walls.py"
    module.write_text(NESTED)
    moved = package / "solve" / "walls" / "inner.py"
    moved.parent.mkdir()
    module.rename(moved)
    before = code_digest(package)
    change(moved, "0.25", "0.3")
    assert code_digest(package) != before


def test_a_module_that_is_gone_is_an_error(package):
    (package / MODULES[0]).unlink()
    with pytest.raises(FileNotFoundError):
        code_digest(package)


def test_a_text_that_is_no_docstring_counts():
    assert syntax_of("def f():\n    x = 'a'\n    'b'") != syntax_of("def f():\n    x = 'a'")
    assert syntax_of('def f():\n    """a"""') == syntax_of('def f():\n    """b"""\n')
    assert syntax_of('"""a"""\nX = 1') == syntax_of("X = 1  # one")
