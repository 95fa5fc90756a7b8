"""Change the program in small steps and see whether its tests notice. By hand; not in CI.

    pip install -e '.[mutation]'
    python tests/mutate.py --each 6 --seed 1              # mutants drawn from each room
    python tests/mutate.py verdict/seal --each 30         # from one room
    python tests/mutate.py --show mold/forces/bands.py    # what could be changed in a module

It works on a copy of the tree, so the tree that it is started in never changes. A mutant is one
change by an operator of cosmic-ray. The quick tests that run its line are asked, the nearest first,
until one fails or a minute is over; a run of all of them under coverage says first which these are
(ten minutes, kept in a file). Docstrings and type hints are left alone. A mutant that no test
notices is printed with its difference; the exit status is 1 then, unless `equivalent_mutants.py`
says why nobody could notice it.

Three samples were drawn on 2026-11-28. Before the second and the third, tests were written for what
others had missed, so each says what one more seed would find. Noticed of drawn in the third, by
room (seed 21, `--each 3 --budget-s 50`):

    mold/forces        3/3    solve/large        3/3    verdict/figures      1/3
    solve/mesh         1/3    modules of solve   3/3    verdict/head         2/3
    solve/elastic      2/3    verdict/advice     2/3    verdict/seal         1/3
    solve/bands        3/3    verdict/air        0/3    verdict/uncertainty  3/3
    solve/contact      3/3    verdict/bands      3/3    modules of verdict   2/3
    solve/accuracy     3/3    verdict/casting    1/3    study/plan           3/3
    solve/along        1/3    verdict/cause      3/3    study/runner         2/3

That is 45 of 63, 71 %. Five of the eighteen that lived are equivalent: 78 % (45 of 58) without
them. The other thirteen are noticed by now. The samples before it had 77 % (seed 11, 76 of 99) and
80 % (seed 12, 47 of 59); where they were drawn, the gallery's pictures were missing and its tests
failed by themselves, so they may flatter study/plan. The aim is 90 %. The rooms for which most
tests had been written (study, accuracy, and of the verdict advice, bands, cause, figures, head and
uncertainty) had 22 of 27, and those read less (mesh, along, air, casting, seal) 4 of 15: there it
is farthest.

Known to live are changes of the order of elimination, which costs time alone
(solve/elastic/dissection.py); of what the residual of large deformation is divided by
(solve/large/newton.py); of how many steps a search takes (verdict/advice/bevel.py, GRID).
"""

from __future__ import annotations

import argparse
import ast
import compileall
import difflib
import importlib
import itertools
import multiprocessing
import os
import py_compile
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1]
sys.path.insert(0, str(HOUSE))  # this script is started by its path

import squeeze.verdict.advice.advice  # noqa: E402, F401
from tests.equivalent_mutants import EQUIVALENT, LIMITS  # noqa: E402
from tests.lines_run import LinesRun  # noqa: E402

ROOMS = (
    "mold/forces", "solve/mesh", "solve/elastic", "solve/bands", "solve/contact", "solve/accuracy",
    "solve/along", "solve/large", "solve/", "verdict/advice", "verdict/air", "verdict/bands",
    "verdict/casting", "verdict/cause", "verdict/figures", "verdict/head", "verdict/seal",
    "verdict/uncertainty", "verdict/", "study/plan", "study/runner",
)  # fmt: skip
"""Rooms that mutants are drawn from; of one that ends in /, the modules right in it."""

TESTS = ("tests/mold", "tests/solve", "tests/verdict", "tests/study", "tests/design",
         "tests/published", "tests/regressions", "squeeze/mold", "squeeze/solve",
         "squeeze/verdict", "squeeze/study")  # fmt: skip
"""Tests that may notice a mutant, where they run its line."""

IN_WORKERS = {
    "study/runner": ["tests/study/runner/test_run.py", "tests/study/test_command.py",
                     "tests/study/runner/test_dask_cluster.py"],
}  # fmt: skip
"""Tests of modules that run in processes of their own, where nobody notes their lines."""

EVERYWHERE = ["tests/python/test_records.py"]
"""Tests that hold all modules to rules of the house."""

RUN_FAILED = 99
"""Exit status of a run of tests that could not take place."""

LEFT_OUT = ("__init__.py",)

GUARDS = ("strict=", "repr=")
"""Arguments left alone: they show themselves only where the program is wrong already."""

OPERATORS = (
    "NumberReplacer",
    *(f"ReplaceBinaryOperator_{pair}" for pair in (
        "Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul", "Mod_Add", "FloorDiv_Mul",
        "BitAnd_BitOr", "BitOr_BitAnd",
    )),
    *(f"ReplaceComparisonOperator_{pair}" for pair in (
        "Lt_LtE", "LtE_Lt", "Gt_GtE", "GtE_Gt", "Lt_Gt", "Gt_Lt", "LtE_GtE", "GtE_LtE",
        "Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is",
    )),
    "ReplaceUnaryOperator_USub_UAdd",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ZeroIterationForLoop",
)  # fmt: skip
"""Operators of cosmic-ray that are used; others turn operands into what Python refuses."""


def equivalent(mutant: Mutant, after: str) -> bool:
    """Return whether a change is one of those that nobody can notice; spaces do not count."""
    became = "".join(after.splitlines()[mutant.line - 1].split())
    limits = LIMITS.get(mutant.module, ())
    if any(became.startswith(f"{name}=") for name in limits):
        return mutant.operator.endswith("NumberReplacer")
    return any(
        mutant.module == module and became == "".join(line.split()) for module, line in EQUIVALENT
    )


@dataclass(frozen=True)
class Mutant:
    """One change of one module.

    Attributes
    ----------
    module : str
        Its path below the package.
    operator : str
    occurrence : int
    line : int
        Of the change, from 1.
    """

    module: str
    operator: str
    occurrence: int
    line: int


@dataclass(frozen=True)
class Fate:
    """What became of a mutant.

    Attributes
    ----------
    mutant : Mutant
    fate : str
        ``"killed"``, ``"too long"``, ``"survived"`` or ``"equivalent"``.
    by : str
        The test that noticed it.
    difference : str
        Lines as they were and as they became.
    seconds : float
    """

    mutant: Mutant
    fate: str
    by: str
    difference: str
    seconds: float


def modules(room: str) -> list[str]:
    """Return the modules of a room and of the rooms in it; of a room that ends in /, its own."""
    package = HOUSE / "squeeze"
    found = (str(p.relative_to(package)) for p in sorted(package.rglob("*.py")))
    here = room.endswith("/")
    return [
        m for m in found
        if (f"{m.rpartition('/')[0]}/" == room if here else m.startswith(f"{room}/") or m == room)
        and not m.endswith(LEFT_OUT)
    ]  # fmt: skip


def tests_of(mutant: Mutant, ran: LinesRun, budget_s: float) -> list[str]:
    """Return the tests that a mutant meets: those that run its line, nearest and quickest first.

    Parameters
    ----------
    mutant : Mutant
    ran : LinesRun
    budget_s : float
        What takes longer than this in all is left out.

    Returns
    -------
    list of str
        Modules of tests; empty where none runs the line.
    """
    words = {*re.findall("[a-z]+", mutant.module)} - {"py"}

    def near(test: str) -> tuple[int, float]:
        return -len(words & {*re.findall("[a-z]+", test)}), ran.seconds.get(test, 0.0)

    room = mutant.module.rsplit("/", 1)[0]
    first = IN_WORKERS.get(room, [])
    asked: list[str] = []
    for test in [*first, *sorted(ran.tests_of(mutant.module, mutant.line) - {*first}, key=near)]:
        if not asked or sum(ran.seconds.get(t, 0.0) for t in (*asked, test)) < budget_s:
            asked.append(test)
    return [*EVERYWHERE, *asked] if asked else []


def _silent_lines(source: str) -> set[int]:
    """Lines that compute nothing: docstrings, other lone constants, type hints, imports."""
    silent: set[int] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            silent.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
        if isinstance(node, ast.FunctionDef):
            hints = [a.annotation for a in (*node.args.args, *node.args.kwonlyargs)]
            for hint in (*hints, node.returns):
                if hint is not None:
                    silent.update(range(hint.lineno, (hint.end_lineno or hint.lineno) + 1))
        if isinstance(node, ast.AnnAssign) and node.value is None:
            silent.add(node.lineno)
        if isinstance(node, ast.Import | ast.ImportFrom):
            silent.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return silent


def mutants_of(module: str) -> list[Mutant]:
    """Return every change that the operators make in a module."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator

    path = HOUSE / "squeeze" / module
    tree, source = get_ast_from_path(path), path.read_text("utf-8")
    silent, text = _silent_lines(source), source.splitlines()
    found = []
    nodes = list(ast_nodes(tree))
    for name in (f"core/{each}" for each in OPERATORS):
        operator = get_operator(name)()
        places = (place for node in nodes for place in operator.mutation_positions(node))
        for k, ((line, column), _) in enumerate(places):
            if line not in silent and not text[line - 1][:column].endswith(GUARDS):
                found.append(Mutant(module, name, k, line))
    return found


def drawn(room: str, count: int, seed: int) -> list[Mutant]:
    """Draw mutants: modules by their number of lines that can change, each line at most once."""
    lines: dict[tuple[str, int], list[Mutant]] = {}
    for module in modules(room):
        for mutant in mutants_of(module):
            lines.setdefault((module, mutant.line), []).append(mutant)
    rng = random.Random(f"{room} {seed}")
    chosen = rng.sample(sorted(lines), min(count, len(lines)))
    return [rng.choice(lines[place]) for place in chosen]


def tried(mutant: Mutant, copy: Path, ran: LinesRun, budget_s: float) -> Fate:
    """Change the copy, run the tests of the changed line, and put it back."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    path = copy / "squeeze" / mutant.module
    before = path.read_text("utf-8")
    after = mutate_code(before, get_operator(mutant.operator)(), mutant.occurrence)
    assert after is not None, mutant
    difference = "\n".join(
        line for line in difflib.unified_diff(
            before.splitlines(), after.splitlines(), lineterm="", n=0
        ) if line[:1] in "+-" and not line.startswith(("+++", "---"))
    )  # fmt: skip
    if equivalent(mutant, after):
        return Fate(mutant, "equivalent", "", difference, 0.0)
    begun, tests = time.monotonic(), tests_of(mutant, ran, budget_s)
    limit_s = 30 + 4 * sum(ran.seconds.get(test, 0.0) for test in tests)
    path.write_text(after, "utf-8")
    try:
        fate, by = _fate(copy, tests, limit_s) if tests else ("survived", "")
    finally:
        path.write_text(before, "utf-8")
    return Fate(mutant, fate, by, difference, time.monotonic() - begun)


def _fate(copy: Path, tests: list[str], limit_s: float) -> tuple[str, str]:
    """Return a fate, and the test that failed."""
    with tempfile.TemporaryFile("w+") as said:
        asked = multiprocessing.get_context("fork").Process(
            target=_ask, args=(copy, tests, said.fileno())
        )
        asked.start()  # libraries are loaded in it already, which is half of a short run
        asked.join(limit_s)
        if asked.exitcode is None:
            asked.kill()
            asked.join()
            return "too long", ""
        said.seek(0)
        text = said.read()
    if asked.exitcode == 0:
        return "survived", ""
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", text, re.MULTILINE)
    if failed is None and asked.exitcode != 4:  # 4 = tests/conftest.py cannot import the program
        raise RuntimeError(text[-4000:])
    return "killed", failed[1] if failed else "import"


def _ask(copy: Path, tests: list[str], said: int) -> None:
    for number in (1, 2):
        os.dup2(said, number)
    os.chdir(copy)
    os.environ.update(_settings(copy))
    sys.path[0] = str(copy)
    sys.dont_write_bytecode = True
    for name in [each for each in sys.modules if each.split(".")[0] in ("squeeze", "tests")]:
        del sys.modules[name]
    importlib.invalidate_caches()
    code = RUN_FAILED
    try:
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests]))
    finally:
        sys.stdout.flush()
        os._exit(code)


def _settings(copy: Path) -> dict[str, str]:
    own = {"PYTHONPATH": str(copy), "SQUEEZE_HYPOTHESIS": "fixed", "PYTHONDONTWRITEBYTECODE": "1"}
    return os.environ | own


def watched(copy: Path, path: Path) -> None:
    """Run all tests once, unchanged, and write to a file which lines they run."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
    subprocess.run(
        [*command, "-p", "tests.lines_run", *TESTS], cwd=copy, check=True,
        env=_settings(copy) | {"LINES_RUN": str(path.absolute())},
    )  # fmt: skip


def _rate(fates: list[Fate]) -> str:
    counts = {word: sum(f.fate == word for f in fates) for word in
              ("killed", "too long", "survived", "equivalent")}  # fmt: skip
    noticed = counts["killed"] + counts["too long"]
    share = 100 * noticed / max(1, noticed + counts["survived"])
    return ", ".join(f"{n} {word}" for word, n in counts.items()) + f": {share:.0f} % noticed"


def main() -> int:
    """Draw mutants, try them and print what became of them; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("room", nargs="*", default=ROOMS, help="verdict/seal; all where none is")
    parser.add_argument("--each", type=int, default=6, help="how many mutants of each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--budget-s", type=float, default=60, help="most that a mutant's tests take"
    )
    parser.add_argument(
        "--lines", type=Path, default=Path(tempfile.gettempdir()) / "lines_run.json",
        help="which lines the tests run: written where there is none; remove it when tests change",
    )  # fmt: skip
    parser.add_argument("--show", metavar="MODULE", help="list the mutants of a module")
    given = parser.parse_args()
    if given.show:
        for mutant in mutants_of(given.show):
            print(f"{mutant.module}:{mutant.line}: {mutant.operator} {mutant.occurrence}")
        return 0
    fates: dict[str, list[Fate]] = {room: [] for room in given.room}
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        skip = shutil.ignore_patterns(".git", ".venv", "__pycache__")
        shutil.copytree(HOUSE, copy, ignore=skip)
        by_content = py_compile.PycInvalidationMode.CHECKED_HASH  # a mutant may keep size and time
        compileall.compile_dir(copy / "squeeze", quiet=1, invalidation_mode=by_content)
        collect = [sys.executable, "-m", "pytest", "-q", "--collect-only", *TESTS]
        subprocess.run(collect, cwd=copy, capture_output=True, check=True)  # compiles the tests
        if not given.lines.exists():
            watched(copy, given.lines)
        ran = LinesRun.read(given.lines)
        fate, by = _fate(copy, EVERYWHERE, 300)
        if fate != "survived":
            parser.error(f"this fails before anything is changed: {by}")
        for room in given.room:
            for mutant in drawn(room, given.each, given.seed):
                fates[room].append(fate := tried(mutant, copy, ran, given.budget_s))
                place = f"{mutant.module}:{mutant.line}"
                print(f"{fate.fate:10} {fate.seconds:3.0f} s  {place}  {fate.by}", flush=True)
                if fate.fate == "survived":
                    print("   ", fate.difference.replace("\n", "\n    "), flush=True)
            print(f"{room}: {_rate(fates[room])}", flush=True)
    print(f"all: {_rate([*itertools.chain(*fates.values())])}")
    return 1 if any(fate.fate == "survived" for fate in itertools.chain(*fates.values())) else 0


if __name__ == "__main__":
    sys.exit(main())
