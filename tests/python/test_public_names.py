"""Every public name says what it takes and gives, in which shapes and units, and its errors."""

from __future__ import annotations

import dataclasses
import inspect
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

import squeeze

UNITS = ("mm", "mm2", "n", "kpa", "mpa", "s", "pct", "deg", "rad", "g", "kg", "n_per_mm", "cm3")
NO_UNIT = {
    "poisson": "strain over strain",
    "goes": "a unit vector",
    "fineness": "finer or coarser",
    "coarser_fineness": "finer or coarser",
    "coarser_by": "an edge over another",
    "friction": "Coulomb's coefficient",
    "friction_range": "Coulomb's coefficient",
    "share": "of the loads",
    "change": "over the largest",
    "evenness": "least over mean",
    "closed_share": "of the length",
    "complementarity": "over its own scale",
    "force_balance": "over all forces",
    "moment_balance": "over all forces",
    "residual": "over the loads",
}
"""Figures without a unit."""

NEVER_RAISES = {
    "Loads.pull_n_per_mm",
    "Loads.scaled",
    "LongBlock.bonded_waves",
    "dump",
    "even_places",
    "figure",
    "judge",
    "uncertainty",
}


def functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Yield the public functions and the public methods of public classes, with their names."""
    for name in squeeze.__all__:
        found = getattr(squeeze, name)
        if inspect.isfunction(found):
            yield name, found
        elif inspect.isclass(found):
            for member, value in vars(found).items():
                if inspect.isfunction(value) and not member.startswith("_"):
                    yield f"{name}.{member}", value


def records() -> Iterator[type]:
    """Yield the public records, and the records that stand in them."""
    waiting = [getattr(squeeze, name) for name in squeeze.__all__]
    seen: set[type] = set()
    for found in waiting:
        if not (inspect.isclass(found) and dataclasses.is_dataclass(found)) or found in seen:
            continue
        seen.add(found)
        yield found
        module = inspect.getmodule(found)
        words = {w for f in dataclasses.fields(found) for w in re.findall(r"[A-Z]\w+", str(f.type))}
        waiting += [
            value for word in sorted(words) if (value := getattr(module, word, None)) is not None
        ]


def sections(doc: str) -> dict[str, dict[str, str]]:
    """Return the entries of each section of a NumPy docstring, with what is said on them."""
    found: dict[str, dict[str, str]] = {}
    lines = inspect.cleandoc(doc).splitlines()
    entries: dict[str, str] = {}
    names: list[str] = []
    for k, line in enumerate(lines):
        if k + 1 < len(lines) and set(lines[k + 1]) == {"-"}:
            entries = found.setdefault(line, {})
            names = []
        elif line and not line.startswith((" ", "-", ">")):
            head, _, kind = line.partition(" : ")
            names = [name.strip() for name in head.split(",")]
            entries |= dict.fromkeys(names, f"{kind} ")
        for name in names:
            entries[name] += f"{line.strip()} " if line.startswith(" ") else ""
    return found


def lacks(name: str, annotation: str, said: str) -> list[str]:
    """Return what is not said of one figure: the unit of a number, the shape of an array."""
    found = []
    has_unit = name.endswith(tuple(f"_{unit}" for unit in UNITS)) or name in NO_UNIT
    if re.search(r"\bfloat\b", annotation) and not has_unit and "[" not in said:
        found.append(f"{name}: in which unit?")
    if "Array" in annotation and "(" not in said:
        found.append(f"{name}: of which shape?")
    return found


@pytest.mark.parametrize(("name", "function"), [*functions()], ids=[n for n, _ in functions()])
def test_a_function_says_what_it_takes_and_gives(name, function):
    said = sections(function.__doc__ or "")
    signature = inspect.signature(function)
    wanted = [p for p in signature.parameters.values() if p.name != "self"]
    named = said.get("Parameters", {})
    missing = [f"{p.name} is not among the parameters" for p in wanted if p.name not in named]
    missing += [f"{n} is no parameter" for n in named if n not in signature.parameters]
    for p in wanted:
        missing += lacks(p.name, str(p.annotation), named.get(p.name, "["))
    if signature.return_annotation not in ("None", None) and "Returns" not in said:
        missing.append("what does it return?")
    if name not in NEVER_RAISES and "Raises" not in said:
        missing.append("what does it raise?")
    assert not missing


MESH_OF_ITS_OWN = {"self", "start", "after", "left_over", "most_tangents"}
"""What `Block.close` takes besides a load case: where it begins and where it stops on its mesh."""


def test_close_takes_the_load_cases_of_a_block_with_the_same_defaults():
    of_block, of_mold = (
        inspect.signature(function).parameters for function in (squeeze.Block.close, squeeze.close)
    )
    case = set(of_block) - MESH_OF_ITS_OWN
    assert case == set(of_mold) - {"mold", "accuracy_pct", "fineness"}
    for name in case - {"deformation"}:  # a block is small for sweeps, a mold decides
        assert of_block[name].annotation == of_mold[name].annotation
        assert of_block[name].default == of_mold[name].default


@pytest.mark.parametrize("record", [*records()], ids=lambda record: record.__name__)
def test_a_record_says_what_stands_in_it(record):
    said = sections(record.__doc__ or "")
    named = said.get("Attributes", {}) | said.get("Parameters", {})
    missing = []
    for field in dataclasses.fields(record):
        if field.name not in named:
            missing.append(f"{field.name} is not among the attributes")
        missing += lacks(field.name, str(field.type), named.get(field.name, "[("))
    for name, value in vars(record).items():
        if isinstance(value, property) and not name.startswith("_") and not value.__doc__:
            missing.append(f"{name}: what is it?")
    assert not missing


@pytest.mark.parametrize("name", squeeze.__all__)
def test_every_public_name_has_words(name):
    found = getattr(squeeze, name)
    if inspect.isclass(found) or inspect.isfunction(found):
        assert found.__doc__
        assert "Built-in" not in found.__doc__


def test_a_figure_without_its_unit_is_found():
    assert lacks("pull", "float", "float Of all strands.") == ["pull: in which unit?"]
    assert lacks("pull_n_per_mm", "float", "float") == []
    assert lacks("pull", "float", "float Of all strands [N].") == []
    assert lacks("x_mm", "Array", "array") == ["x_mm: of which shape?"]
