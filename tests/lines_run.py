"""Which lines of the program each module of tests runs: a plugin of pytest, for `mutate.py`.

    LINES_RUN=lines.json python -m pytest -p tests.lines_run tests/solve

It needs coverage. A line that runs only while modules are imported belongs to no test.
"""

from __future__ import annotations

import ast
import json
import os
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1]


class LineWatch:
    """Notes which lines run for the tests of each module, and how long these take."""

    def __init__(self) -> None:
        import coverage

        self.seconds: defaultdict[str, float] = defaultdict(float)
        self.coverage = coverage.Coverage(data_file=None, source=["squeeze"])
        self.coverage.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Book what runs for a test to the test's module."""
        name = item.nodeid.split("::")[0]
        begun = time.monotonic()
        self.coverage.switch_context(name)
        try:
            return (yield)
        finally:
            self.seconds[name] += time.monotonic() - begun

    def pytest_sessionfinish(self) -> None:
        """Write seconds and lines to the file that ``LINES_RUN`` names."""
        self.coverage.stop()
        data = self.coverage.get_data()
        lines = {
            str(Path(path).relative_to(HOUSE / "squeeze")): {
                line: [test for test in tests if test]
                for line, tests in sorted(data.contexts_by_lineno(path).items())
            }
            for path in sorted(data.measured_files())
        }
        text = json.dumps({"seconds": self.seconds, "lines": lines})
        Path(os.environ["LINES_RUN"]).write_text(text, "utf-8")


def pytest_configure(config: pytest.Config) -> None:
    """Watch from the start where a file for the lines is named."""
    if "LINES_RUN" in os.environ:
        config.pluginmanager.register(LineWatch())


@dataclass(frozen=True)
class LinesRun:
    """What ran for which tests.

    Attributes
    ----------
    seconds : dict of str to float
        How long the tests of a module take, by the module's path.
    lines : dict of str to dict of str to list of str
        Modules of tests by the module of the program (path below the package) and the line.
    """

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[str]]]

    @classmethod
    def read(cls, path: Path) -> LinesRun:
        """Read what `LineWatch` wrote."""
        return cls(**json.loads(path.read_text("utf-8")))

    def tests_of(self, module: str, line: int) -> set[str]:
        """Return the tests that run a line's statement.

        Of a line outside functions they are those of the whole module; where it has no function,
        they are all tests.

        Parameters
        ----------
        module : str
            Its path below the package.
        line : int
            From 1.

        Returns
        -------
        set of str
            Paths of modules of tests.
        """
        found = self.lines.get(module, {})
        tree = ast.parse((HOUSE / "squeeze" / module).read_text("utf-8"))
        inside = _function_lines(tree)
        if not inside:
            return {*self.seconds}
        lines = _statement_lines(tree, line) if line in inside else inside
        return {test for each in lines for test in found.get(str(each), [])}


def _function_lines(tree: ast.Module) -> set[int]:
    """Lines that run when a function is called, not when its module is imported."""
    return {
        line
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        for line in range(node.body[0].lineno, (node.end_lineno or node.lineno) + 1)
    }


def _statement_lines(tree: ast.Module, line: int) -> set[int]:
    """Lines of the smallest statement round a line, without the statements that it holds."""
    found = {line}
    for node in ast.walk(tree):  # outer ones come first
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or line):
            inner = [part for part in ast.iter_child_nodes(node) if isinstance(part, ast.stmt)]
            held = {k for part in inner for k in range(part.lineno, (part.end_lineno or 0) + 1)}
            found = {*range(node.lineno, (node.end_lineno or line) + 1)} - held
    return found or {line}
