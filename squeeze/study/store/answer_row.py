"""An answer as a row of the store: its fields in order, and the checksum that they carry."""

from __future__ import annotations

import json
import zlib
from typing import Any

from squeeze.study.records import CaseAnswer, CaseState

_TEXTS = ("id", "state", "outcome", "measures", "error")
_NUMBERS = ("factor_s", "solve_s")
FIELDS = ", ".join((*_TEXTS, *_NUMBERS))
SOUND = (
    "sound(cast(checksum as integer), "
    + ", ".join(f"cast({name} as blob)" for name in _TEXTS)
    + ", "
    + ", ".join(f"cast({name} as real)" for name in _NUMBERS)
    + ")"
)
"""Whether the row of an answer is as it was written. A damaged field may hold anything, so each is
cast to what it ought to be."""


def joined_fields() -> str:
    """Return the fields as a query names them that joins answers, under ``kept``, to cases."""
    return ", ".join(f"kept.{name}" for name in FIELDS.split(", "))


def checksum_of(*values: Any) -> int:
    """Return the CRC-32 of some values."""
    return zlib.crc32(json.dumps(values).encode())


def fields_of(answer: CaseAnswer) -> tuple:
    """Return the row of an answer, its checksum last."""
    values = (
        answer.id,
        str(answer.state),
        answer.outcome,
        json.dumps(answer.measures),
        answer.error,
        float(answer.factor_s),
        float(answer.solve_s),
    )
    return (*values, checksum_of(*values))


def decoded(data: bytes) -> str:
    """Return text that was damaged as text, too: its checksum shows the damage."""
    return data.decode(errors="replace")


def is_sound(checksum: int, *fields: Any) -> bool:
    """Return whether the fields of an answer are as they were written.

    Parameters
    ----------
    checksum : int
        CRC-32 of the fields.
    *fields
        id, state, outcome, measures, error, factor_s, solve_s; texts as such or as bytes.
    """
    values = [decoded(field) if isinstance(field, bytes) else field for field in fields]
    try:
        return checksum == checksum_of(*values) and values[1] in tuple(CaseState)
    except (TypeError, ValueError):  # a damaged field may hold anything
        return False


def answer_of(
    case_id: str,
    state: str,
    outcome: str | None,
    measures: str,
    error: str | None,
    factor_s: float,
    solve_s: float,
) -> CaseAnswer:
    """Return the answer in the fields of a row that `is_sound`.

    They are, in the order of the table: `case_id`, `state`, `outcome`, `measures` as JSON, `error`,
    `factor_s` and `solve_s`.
    """
    kept = json.loads(measures)
    return CaseAnswer(case_id, CaseState(state), outcome, kept, error, factor_s, solve_s)
