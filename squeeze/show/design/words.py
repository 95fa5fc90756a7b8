"""A design in words: the sentence of each block, the table, what was tried and dropped."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rich.box import SIMPLE_HEAD
from rich.table import Table

from squeeze.design import DesignAnswer, DesignFigures
from squeeze.design.words.sentences import tried_words
from squeeze.verdict.words import length

HEADS = (
    "block",
    "rubber\ng",
    "price\n",
    "work\nsteps",
    "bands\n",
    "margin\ntimes",
    "flash\nmm",
    "castings\noff by, mm",
    "clean\nin 12",
)


def head_lines(answer: DesignAnswer) -> list[str]:
    """Return the first lines: the block to pour and the others, or what binds."""
    if answer.designs:
        return [f"{each.number}. {each.say}" for each in answer.designs]
    if answer.refusal is not None:
        said = (f"No block will do: {_lower(answer.refusal.say)}", answer.refusal.change)
        return [line for line in said if line]
    return ["No block has been computed in full yet."]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def lines(answer: DesignAnswer) -> list[str]:
    """Return what stands below the table."""
    said = []
    if answer.designs:
        said.append(
            "Margin: the weakest barrier over the resin's pressure, in the worst of 12 variations"
            " and between the bands. A barrier holds from 2 times on. Flash, and how far castings"
            " are off: the most in 12 variations."
        )
    return [*said, *answer.remarks, tried_words(answer)]


def design_table(answer: DesignAnswer, inches: bool = False) -> Table:
    """Return the table of the blocks, which rich prints; the file's own block stands last."""
    made = Table(box=SIMPLE_HEAD, pad_edge=False)
    priced = any(each.figures.price is not None for each in answer.designs)
    heads = [head for head in HEADS if priced or not head.startswith("price")]
    if inches:
        heads = [head.replace("mm", "in") for head in heads]
    for k, head in enumerate(heads):
        made.add_column(head, justify="left" if k == 0 else "right", overflow="fold")
    for each in answer.designs:
        cells = list(_cells(each.figures, priced, inches))
        made.add_row(
            f"{each.number}. {each.name}", *cells, style="bold" if each.number == 1 else ""
        )
    if answer.given is not None:
        made.add_row("the file's block", *_cells(answer.given, priced, inches))
    return made


def _cells(figures: DesignFigures, priced: bool, inches: bool) -> Iterator[str]:
    yield f"{figures.rubber_g:.0f}"
    if priced:
        yield "" if figures.price is None else f"{figures.price:.2f}"
    yield f"{figures.steps}"
    yield f"{figures.bands}"
    yield f"{figures.margin:.1f}"
    yield _length(figures.flash_mm, inches)
    yield _length(figures.shift_mm, inches)
    yield f"{figures.clean_in}"


def _length(value_mm: float, inches: bool) -> str:
    if math.isinf(value_mm):
        return "no answer"
    said = length(value_mm, inches)
    return said.removesuffix(" mm").removesuffix(" in")
