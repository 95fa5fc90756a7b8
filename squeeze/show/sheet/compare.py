"""Two bench sheets side by side: what differs, step by step, and both pictures."""

from __future__ import annotations

from dataclasses import replace

from squeeze.show.sheet.contents import Sheet
from squeeze.show.sheet.parts import Part, Row, Step
from squeeze.show.sheet.picture import Picture


def compared(one: Sheet, two: Sheet) -> Sheet:
    """Return the sheet that a person would put beside another: A and B in every row that differs.

    Rows that say the same stand once, without a letter.
    """
    steps = tuple(_step(a, b) for a, b in zip(one.steps, two.steps, strict=True))
    return Sheet(
        title=f"A: {one.title}   B: {two.title}",
        head=f"A: {one.head}\nB: {two.head}",
        advice=(),
        steps=tuple(step for step in steps if step.parts),
        file=f"A {one.file} ({one.digest}), B {two.file}",
        digest=two.digest,
        date=one.date,
        cautions=one.cautions,
    )


def _step(one: Step, two: Step) -> Step:
    parts: list[Part] = []
    for sheet, letter in ((one, "A"), (two, "B")):
        parts += [
            replace(part, caption=f"{letter}: {part.caption}")
            for part in sheet.parts
            if isinstance(part, Picture)
        ]
    said = [_said(step) for step in (one, two)]
    for label in dict.fromkeys([*said[0], *said[1]]):
        a, b = (each.get(label, ()) for each in said)
        if a == b:
            rows = a
        else:
            rows = tuple(
                f"{letter}: {say}"
                for letter, says in (("A", a), ("B", b))
                for say in says or ("none",)
            )
        parts += [Row(label if k == 0 else "", say) for k, say in enumerate(rows)]
    return Step(one.name, tuple(parts))


def _said(step: Step) -> dict[str, tuple[str, ...]]:
    """Return what stands beside each label; a row without a label goes on with the one above."""
    found: dict[str, tuple[str, ...]] = {}
    label = ""
    for row in step.rows:
        label = row.label or label
        found[label] = (*found.get(label, ()), row.say)
    return found
