"""A knife line, and what lies between its faces."""

from __future__ import annotations

from typing import Annotated, Any

from squeeze.mold.faces import FACES
from squeeze.mold.tables.entries import is_raw_number
from squeeze.mold.tables.shape import DrawnTable
from squeeze.mold.tables.table import KeyFaults
from squeeze.mold.tables.values import (
    XY,
    FrictionValue,
    Name,
    number,
    number_or_numbers,
    numbers,
    points,
    quote,
    word,
)


class CutTable(DrawnTable):
    """A knife line.

    Attributes
    ----------
    friction : float
        Coulomb's coefficient between the faces; `coefficient` is that of `faces` where they are
        given in words.
    faces : str or None
        How slippery they are: ``"released"``, ``"dusted"`` or ``"clean"``.
    gap_mm : float or tuple of float
        Gap of the unloaded cut: one number, or several spread evenly along the path [mm].
    bow_mm : float
        Gap in the middle of each land, on top of `gap_mm`: what shrinkage and springy rubber
        leave [mm].
    film_mm : float or tuple of float
        How thick glue, old flash or dirt lies in the cut before the bands are on: one number, or
        several spread evenly along the path [mm].
    film_at_mm : tuple of float or None
        The stretch of the path that it lies on, from and to; all of it unless given [mm].
    along_mm : tuple of float or None
        Where along the block it begins and ends; all of the length unless given [mm].
    """

    name: Name = ""
    path_mm: Annotated[tuple[XY, ...], points(2)]
    friction: FrictionValue = 0.0
    faces: Annotated[str | None, word(*FACES)] = None
    gap_mm: Annotated[float | tuple[float, ...], number_or_numbers(0, 20, "mm")] = 0.0
    bow_mm: Annotated[float, number(0, 20, "mm")] = 0.0
    film_mm: Annotated[float | tuple[float, ...], number_or_numbers(0, 5, "mm")] = 0.0
    film_at_mm: Annotated[tuple[float, ...] | None, numbers(0, 4000, "mm")] = None
    along_mm: Annotated[tuple[float, ...] | None, numbers(0, 2000, "mm")] = None

    @property
    def misfits(self) -> bool:
        """Whether unloaded faces stand apart or overlap somewhere: by a gap, a bow or a film."""
        given = (self.gap_mm, self.bow_mm, self.film_mm)
        return any(any(value) if isinstance(value, tuple) else bool(value) for value in given)

    @property
    def coefficient(self) -> float:
        """Coulomb's coefficient between the faces, as a number or by the word for them."""
        return self.friction if self.faces is None else FACES[self.faces].friction

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield what is wrong unless both spans end beyond where they begin, and more.

        The friction is given once, and a stretch for the film goes with a film.
        """
        yield from super().rules(given)
        spans = {
            "along_mm": "two places along the block, first where the cut begins, then where it"
            " ends",
            "film_at_mm": "two distances along the path, first where the film begins, then where"
            " it ends",
        }
        for key, wanted in spans.items():
            span = given.get(key)
            if isinstance(span, list | tuple) and all(is_raw_number(v) for v in span):
                if len(span) != 2 or not span[0] < span[1]:
                    yield key, f"{quote(span)} given; give {wanted}"
        if given.get("faces") is not None and "friction" in given:
            yield "friction", "given together with faces; give the number or the word"
        if given.get("film_at_mm") is not None and not given.get("film_mm"):
            yield "film_at_mm", "given without film_mm, which says how thick the film is"
