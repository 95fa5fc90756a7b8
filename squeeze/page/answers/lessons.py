"""Lessons: a question, guesses, a slider that changes a mold; each a TOML file anyone can write."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, TypeGuard

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from squeeze.mold import BadInput, Fault, Mold, dict_of, mold_of
from squeeze.mold.file.toml import tables_of, text_of
from squeeze.study.gallery import shipped
from squeeze.study.plan.formula import StudyValueError
from squeeze.study.plan.keys import with_key

OWN = Path(".squeeze") / "lessons"
"""Where a teacher's own lessons lie, in the home folder."""

Text = Annotated[str, Field(min_length=1, max_length=600)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Guess(_Part):
    """What somebody may guess, and whether it is right."""

    text: Text
    right: bool = False


class Move(_Part):
    """A key of the mold, and what it is at both ends of the slider: numbers, or lists of them."""

    key: Text
    start: Any = Field(alias="from")
    end: Any = Field(alias="to")


class Slider(_Part):
    """What is moved: its name, a word for each end, the keys that move with it."""

    name: Text
    ends: tuple[Text, Text]
    moves: tuple[Move, ...] = Field(min_length=1, max_length=30)


class LessonTable(_Part):
    """A lesson's file."""

    title: Text
    question: Text
    answer: Text
    look: str = ""
    guess: tuple[Guess, ...] = Field(min_length=2, max_length=6)
    slider: Slider
    mold: dict[str, Any]


@dataclass(frozen=True)
class Lesson:
    """A lesson that was read and whose molds can be built.

    Attributes
    ----------
    name : str
        Of its file, without the ending.
    table : LessonTable
    """

    name: str
    table: LessonTable

    def mold(self, share: float) -> Mold:
        """Return the mold with the slider at a share of its travel, 0 to 1."""
        data = {"title": self.table.title, **self.table.mold}
        for move in self.table.slider.moves:
            data = with_key(data, move.key, _between(move.start, move.end, share))
        return mold_of(data)

    def as_data(self) -> dict[str, Any]:
        """Return what the page needs of it."""
        data = self.table.model_dump(by_alias=True, exclude={"mold"})
        return data | {"name": self.name, "mold": dict_of(self.mold(0.0))}


def lesson_of(file: Path) -> Lesson:
    """Read a lesson and build its molds at both ends of the slider.

    Raises
    ------
    BadInput
        With every fault that was found.
    """
    data = tables_of(text_of(str(file), "lesson"), file.name, "lesson")
    try:
        lesson = Lesson(file.stem, LessonTable.model_validate(data))
        for share in (0.0, 1.0):
            lesson.mold(share)
    except ValidationError as error:
        faults = [
            Fault(".".join(map(str, e["loc"])), e["msg"][:1].lower() + e["msg"][1:])
            for e in error.errors()
        ]
        raise BadInput(faults, file.name) from None
    except StudyValueError as error:
        raise BadInput([Fault("slider.moves", str(error))], file.name) from None
    except BadInput as error:
        faults = [Fault(f"mold.{fault.key}", fault.text) for fault in error.faults]
        raise BadInput(faults, file.name) from None
    return lesson


def lessons(home: Path | None = None) -> tuple[list[Lesson], list[str]]:
    """Return the lessons that come with the program and one's own, and what is wrong with others.

    Parameters
    ----------
    home : Path, optional
        The home folder, unless that of the person who asks.
    """
    found, wrong = [], []
    for file in _files((home or Path.home()) / OWN):
        try:
            found.append(lesson_of(file))
        except BadInput as error:
            wrong.append(str(error))
    return found, wrong


def _files(own: Path) -> Iterator[Path]:
    yield from sorted(shipped("lessons").glob("*.toml"))
    if own.is_dir():
        yield from sorted(own.glob("*.toml"))


def _between(start: Any, end: Any, share: float) -> Any:
    if isinstance(start, list | tuple) and isinstance(end, list | tuple) and len(start) == len(end):
        return [_between(a, b, share) for a, b in zip(start, end, strict=True)]
    if not (_is_number(start) and _is_number(end)):
        raise StudyValueError("from and to are two numbers, or two lists of numbers of one length")
    return round(start + share * (end - start), 4)


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool)
