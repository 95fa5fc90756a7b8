"""Change the program in small steps and see whether its tests notice. By hand; not in CI.

    pip install -e '.[mutation]'
    python tests/mutate.py --sample 100 --seed 1          # mutants drawn from all rooms
    python tests/mutate.py verdict --sample 30            # from one room
    python tests/mutate.py --show mold/forces/bands.py    # what could be changed in a module

It works on a copy of the tree, so the tree that it is started in never changes. A mutant is one
change by an operator of cosmic-ray. The tests nearest to its module run, the quick ones first, and
stop at the first that fails. Docstrings and type hints are left alone. A mutant that no test
notices is printed with its difference; the exit status is 1 then, unless `EQUIVALENT` says why
nobody could notice it.

The last sample (seed 3, eight mutants a room, six of solve/accuracy): noticed were 7 of
mold/forces, 8 of verdict/seal, 8 of verdict/casting, 5 of study/plan, 7 of solve/elastic, 5 of
solve/bands, 5 of solve/mesh, 6 of solve/contact, 4 of solve/accuracy: 55 of 70, or 79 %. Seven of
the fifteen that were missed stand in `EQUIVALENT`. Each of the other eight is noticed by a test
that was written for it, so these 63 say nothing on what another seed would find.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import difflib
import os
import py_compile
import random
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

HOUSE = Path(__file__).parents[1]

NEAREST = {
    "mold/forces": ["tests/mold/test_loads.py", "tests/mold/test_moldfile_defaults.py",
                    "tests/mold/test_rubber_and_bands.py", "tests/mold/test_section.py"],
    "solve/mesh": ["tests/solve/test_mesh.py", "tests/solve/test_mesh_quality.py"],
    "solve/elastic": ["tests/solve/test_element.py", "tests/solve/test_land_figures.py",
                      "tests/solve/test_factor.py", "tests/solve/test_convergence.py"],
    "solve/bands": ["tests/solve/test_wrap.py", "tests/solve/test_pushes.py",
                    "tests/solve/test_load_kinds.py", "tests/published/test_capstan.py"],
    "solve/contact": ["tests/solve/test_coulomb.py", "tests/solve/test_lemke.py",
                      "tests/solve/test_holding.py", "tests/solve/test_partial_pivoting.py",
                      "tests/solve/test_contact_resin.py",
                      "tests/solve/test_land_figures.py", "tests/solve/test_contact.py",
                      "tests/published/test_lame.py", "tests/published/test_loose_pieces.py"],
    "solve/accuracy": ["tests/solve/test_accuracy.py"],
    "solve/along": ["tests/solve/test_along.py", "tests/published/test_along_ring.py"],
    "solve/large": ["tests/solve/test_law.py", "tests/solve/test_large_rubbing_band.py",
                    "tests/solve/test_large.py", "tests/solve/test_large_invariants.py"],
    "solve": ["tests/solve/test_land_figures.py", "tests/solve/test_invariants.py",
              "tests/solve/test_bodies.py", "tests/published/test_statics.py"],
    "verdict/seal": ["tests/verdict/test_seal.py", "tests/verdict/test_hand_counts.py"],
    "verdict/casting": ["tests/verdict/test_flash.py", "tests/verdict/test_hand_counts.py",
                        "tests/verdict/test_cavity_and_cost.py"],
    "verdict/bands": ["tests/verdict/test_bands.py"],
    "verdict/air": ["tests/verdict/test_air.py", "tests/verdict/test_air_of_models.py"],
    "verdict/cause": ["tests/verdict/test_head.py", "tests/verdict/test_why.py"],
    "verdict/head": ["tests/verdict/test_head.py", "tests/verdict/test_plain.py"],
    "verdict/uncertainty": ["tests/verdict/test_uncertainty.py"],
    "verdict/advice": ["tests/verdict/test_advise.py"],
    "verdict": ["tests/verdict/test_hand_counts.py", "tests/verdict/test_plain.py",
                "tests/verdict/test_quantities.py", "tests/verdict/test_head.py",
                "tests/verdict/test_film.py", "tests/verdict/test_uncertainty.py"],
    "study/plan": ["tests/study/plan"],
    "study/runner": ["tests/study/runner/test_run.py"],
}  # fmt: skip
"""Tests nearest to a folder of modules, quick ones first; the longest path that fits counts."""

NEARER = {
    "mold/forces/loads.py": ["tests/solve/test_pushes.py", "tests/published/test_resin.py"],
    "verdict/air/flood.py": ["tests/verdict/test_air.py"],
    "verdict/why.py": ["tests/verdict/test_why.py"],
}
"""More tests of single modules."""

EVERYWHERE = ["tests/python/test_records.py"]
"""Tests that hold all modules to rules of the house."""

LEFT_OUT = ("__init__.py",)

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

EQUIVALENT: dict[tuple[str, str], str] = {
    ("solve/bands/wrap.py", "lies = edges[:, 1] > 0"): "node 0 is a corner, never a mid-side node",
    ("solve/bands/wrap.py", "for r, w in zip(*gauss(3), strict=True):"):
        "an edge turns by 20 degrees at most: a point less changes the last digits alone",
    ("solve/mesh/size.py", "n = max(0, int(np.ceil(2 * np.hypot(*(b - a)) / h - 1e-6)))"):
        "a stretch has a length: the right side is 1 already",
    ("solve/mesh/sharp_corners.py", "far = np.array([3 * reach[a] for a in apexes.tolist()])"):
        "a line farther away than twice the reach does not shorten it",
    ("solve/mesh/triangulate.py", "_PASSES = 5"): "a limit that good meshes stay below",
    ("solve/contact/solution.py", "for share in np.arange(0, LOAD_STEPS + 1) / LOAD_STEPS:"):
        "a share of nothing moves nothing",
    ("study/plan/study.py",
     'text = json.dumps(value, sort_keys=False, separators=(",", ":"), default=str)'):
        "the model of the mold file puts its keys in one order already",
}  # fmt: skip
"""Changes that nobody can notice: (module, the line as it becomes) and why."""


def equivalent(mutant: Mutant, after: str) -> bool:
    """Return whether a change is one of those that nobody can notice; spaces do not count."""
    became = "".join(after.splitlines()[mutant.line - 1].split())
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
    """What became of a mutant: ``"killed"``, ``"survived"``, ``"too long"`` or ``"equivalent"``."""

    mutant: Mutant
    fate: str
    difference: str
    seconds: float


def modules(rooms: list[str]) -> list[str]:
    """Return the modules that mutants are drawn from."""
    package = HOUSE / "squeeze"
    found = (str(p.relative_to(package)) for p in sorted(package.rglob("*.py")))
    return [
        m for m in found
        if any(m.startswith(f"{folder}/") for folder in NEAREST)
        and not m.endswith(LEFT_OUT)
        and (not rooms or any(m.startswith(room) for room in rooms))
    ]  # fmt: skip


def tests_of(module: str) -> list[str]:
    """Return the tests that a mutant of a module meets."""
    fitting = max((f for f in NEAREST if module.startswith(f"{f}/")), key=len)
    return list(dict.fromkeys([*NEARER.get(module, []), *NEAREST[fitting], *EVERYWHERE]))


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
    tree, silent = get_ast_from_path(path), _silent_lines(path.read_text("utf-8"))
    found = []
    nodes = list(ast_nodes(tree))
    for name in (f"core/{each}" for each in OPERATORS):
        operator = get_operator(name)()
        places = (place for node in nodes for place in operator.mutation_positions(node))
        for k, ((line, _), _) in enumerate(places):
            if line not in silent:
                found.append(Mutant(module, name, k, line))
    return found


def drawn(rooms: list[str], count: int, seed: int) -> list[Mutant]:
    """Draw mutants: modules by their number of lines that can change, each line at most once."""
    lines: dict[tuple[str, int], list[Mutant]] = {}
    for module in modules(rooms):
        for mutant in mutants_of(module):
            lines.setdefault((module, mutant.line), []).append(mutant)
    rng = random.Random(seed)
    chosen = rng.sample(sorted(lines), min(count, len(lines)))
    return [rng.choice(lines[place]) for place in chosen]


def tried(mutant: Mutant, copy: Path, limit_s: float) -> Fate:
    """Change the copy, run the nearest tests, and put it back."""
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
        return Fate(mutant, "equivalent", difference, 0.0)
    begun = time.monotonic()
    path.write_text(after, "utf-8")
    try:
        fate = _fate(copy, tests_of(mutant.module), limit_s)
    finally:
        path.write_text(before, "utf-8")
    return Fate(mutant, fate, difference, time.monotonic() - begun)


def _fate(copy: Path, tests: list[str], limit_s: float) -> str:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    settings = {
        "PYTHONPATH": str(copy),
        "SQUEEZE_HYPOTHESIS": "fixed",
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    try:
        done = subprocess.run(
            command, cwd=copy, timeout=limit_s, capture_output=True, env=os.environ | settings
        )
    except subprocess.TimeoutExpired:
        return "too long"
    if done.returncode not in (0, 1, 2, 4):  # the run itself failed; 2 and 4 = an import did
        raise RuntimeError(done.stdout.decode()[-2000:] + done.stderr.decode()[-2000:])
    return "survived" if done.returncode == 0 else "killed"


def main() -> int:
    """Draw mutants, try them and print what became of them; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("room", nargs="*", help="starts of paths, as verdict or mold/forces")
    parser.add_argument("--sample", type=int, default=100, help="how many mutants")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--limit-s",
        type=float,
        default=300,
        help="longest run of the tests; less where they are quick",
    )
    parser.add_argument("--show", metavar="MODULE", help="list the mutants of a module")
    given = parser.parse_args()
    if given.show:
        for mutant in mutants_of(given.show):
            print(f"{mutant.module}:{mutant.line}: {mutant.operator} {mutant.occurrence}")
        return 0
    fates = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        skip = shutil.ignore_patterns(".git", ".venv", "__pycache__", "*.png", "*.pdf")
        shutil.copytree(HOUSE, copy, ignore=skip)
        by_content = py_compile.PycInvalidationMode.CHECKED_HASH  # a mutant may keep size and time
        compileall.compile_dir(copy / "squeeze", quiet=1, invalidation_mode=by_content)
        chosen = drawn(given.room, given.sample, given.seed)
        limits: dict[tuple[str, ...], float] = {}
        for tests in dict.fromkeys(tuple(tests_of(mutant.module)) for mutant in chosen):
            begun = time.monotonic()
            if _fate(copy, list(tests), given.limit_s) != "survived":
                parser.error(f"these fail before anything is changed: {', '.join(tests)}")
            limits[tests] = min(20 + 4 * (time.monotonic() - begun), given.limit_s)
        for mutant in chosen:
            limit_s = limits[tuple(tests_of(mutant.module))]
            fates.append(fate := tried(mutant, copy, limit_s))
            place = f"{mutant.module}:{mutant.line}"
            print(f"{fate.fate:10} {fate.seconds:5.0f} s  {place}  {mutant.operator}", flush=True)
            if fate.fate == "survived":
                print("   ", fate.difference.replace("\n", "\n    "), flush=True)
    counts = {word: sum(f.fate == word for f in fates) for word in
              ("killed", "too long", "survived", "equivalent")}  # fmt: skip
    noticed = counts["killed"] + counts["too long"]
    print(*(f"{count} {word}" for word, count in counts.items()), sep=", ")
    print(f"noticed: {100 * noticed / max(1, noticed + counts['survived']):.0f} %")
    return 1 if counts["survived"] else 0


if __name__ == "__main__":
    sys.exit(main())
