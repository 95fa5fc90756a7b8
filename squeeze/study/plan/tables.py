"""The study file as people write it: one frozen record per table, same words as the mold file."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from squeeze.mold.tables.table import KeyFaults, Table
from squeeze.mold.tables.values import (
    LEAST_ACCURACY_PCT,
    LEAST_FINENESS,
    MOST_ACCURACY_PCT,
    MOST_FINENESS,
    Entry,
    as_number,
    number,
    plain_error,
    quote,
    text,
    whole,
    word,
)

KINDS = ("lines", "map", "sections")


def _table(value: object) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise plain_error(f"{quote(value)} is not a table")
    return value


def _tables(value: object) -> tuple[dict[str, Any], ...]:
    if not isinstance(value, list | tuple):
        raise plain_error(f"{quote(value)} given; write [[paired]] over each table")
    return tuple(_table(entry) for entry in value)


def _texts(value: object) -> tuple[str, ...]:
    values = [value] if isinstance(value, str) else value
    if not isinstance(values, list | tuple) or not values:
        raise plain_error(f"{quote(value)} given; needed is a text in quotes, or a list of them")
    for entry in values:
        if not isinstance(entry, str) or not entry.strip():
            raise plain_error(f"{quote(entry)} is not text; needed is text in quotes")
    return tuple(values)


def _file(*endings: str) -> Entry:
    """Take the name of a file that stands beside the study file."""

    def read(value: object) -> str:
        name = text(200).read(value)
        if "/" in name or "\\" in name or not name.lower().endswith(endings):
            raise plain_error(
                f"{quote(name)} given; allowed is a name without folders that ends in"
                f" {' or '.join(endings)}"
            )
        return name

    return Entry(read, {"type": "string"})


def _size(value: object) -> tuple[float, float]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise plain_error(f"{quote(value)} given; needed is [width, height] in mm")
    wide, high = (as_number(entry, 40, 1000, " mm") for entry in value)
    return wide, high


_ANY_TABLE = {"type": "object"}
AnyTable = Annotated[dict[str, Any], Entry(_table, _ANY_TABLE)]
_TEXTS = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
Texts = Annotated[tuple[str, ...], Entry(_texts, _TEXTS)]


class FigureTable(Table):
    """A figure that is drawn from the results.

    Attributes
    ----------
    kind : str
        lines, map, or sections (small pictures of the closed sections); lines unless given.
    x, each : str or None
        Columns: along the axis; and one line for each of its values.
    y : tuple of str
        Measures; one panel above the other for several. A map takes a column: its other axis.
    value : str or None
        The measure that a map shows.
    where : dict
        Columns held at a value.
    columns : int
        Pictures side by side in ``sections``.
    """

    kind: Annotated[str, word(*KINDS)] = "lines"
    x: Annotated[str | None, text(120)] = None
    y: Texts = ()
    each: Annotated[str | None, text(120)] = None
    value: Annotated[str | None, text(120)] = None
    where: AnyTable = Field(default_factory=dict)
    title: Annotated[str, text(200)] = ""
    file: Annotated[str | None, _file(".png", ".svg", ".pdf")] = None
    columns: Annotated[int, whole(1, 8)] = 4
    size_mm: Annotated[tuple[float, float] | None, Entry(_size, {"type": "array"})] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield keys that the raw table `given` lacks for its kind of figure, or cannot use."""
        kind = given.get("kind", "lines")
        needs = {"lines": ("x", "y"), "map": ("x", "y", "value"), "sections": ()}
        takes = {"lines": ("each", "size_mm"), "map": ("size_mm",), "sections": ("columns",)}
        if kind not in KINDS:
            return
        for key in needs[kind]:
            if key not in given:
                yield key, f"is missing; a figure of kind {kind} needs it"
        for key in ("x", "y", "each", "value", "columns", "size_mm"):
            if key in given and key not in (*needs[kind], *takes[kind]):
                yield key, f"does not go with the kind {kind}"


class StudyTable(Table):
    """Everything that a study file says.

    Attributes
    ----------
    mold : str
        The mold file, beside the study file or with a path from there.
    vary : dict
        For each key of the mold a list or a range; every combination is a case.
    paired : tuple of dict
        Tables of lists that run together.
    sample : dict or None
        A space-filling sample instead of every combination.
    set : dict
        Keys that follow from others by a formula ``"= 0.5 * block.width_mm"``.
    skip : tuple of str
        Formulas; a case for which one of them holds is left out.
    keep : tuple of str
        Measures that are kept of each case.
    timeout_s : float
        A case that takes longer is given up [s].
    fineness : float
        Of the mesh: 1 = the default, 2 halves every edge.
    deformation : str
        small, large, or auto: large where that changes pressures or gaps by over 2 %. Small
        unless given.
    accuracy : float or None
        Error that pressures may have, over the largest [%]: the errors of all measures are kept as
        well, and meshes are as fine as that needs. Without it every case keeps to one even mesh.
    names : dict
        What figures call a column or a measure, in place of its key.
    table : str or None
        CSV file that is written beside the study when it is complete.
    """

    title: Annotated[str, text(200)] = ""
    mold: Annotated[str, text(500)]
    vary: AnyTable = Field(default_factory=dict)
    paired: Annotated[tuple[dict[str, Any], ...], Entry(_tables, {"type": "array"})] = ()
    sample: Annotated[dict[str, Any] | None, Entry(_table, _ANY_TABLE)] = None
    set: AnyTable = Field(default_factory=dict)
    skip: Texts = ()
    keep: Texts = ("closed_share", "least_pressure_kpa", "largest_gap_mm", "seals")
    timeout_s: Annotated[float, number(0.1, 86400, "s")] = 300.0
    fineness: Annotated[float, number(LEAST_FINENESS, MOST_FINENESS)] = 1.0
    deformation: Annotated[str, word("small", "large", "auto")] = "small"
    accuracy: Annotated[float | None, number(LEAST_ACCURACY_PCT, MOST_ACCURACY_PCT, "%")] = None
    names: AnyTable = Field(default_factory=dict)
    table: Annotated[str | None, _file(".csv")] = None
    figure: tuple[FigureTable, ...] = ()

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Return the raw tables `given` with a single ``[figure]`` as a list of one."""
        figure = given.get("figure")
        return given | {"figure": [figure]} if isinstance(figure, dict) else given

    @classmethod
    def rules(cls, given: dict[str, Any]) -> KeyFaults:
        """Yield that nothing is varied, or that the mesh is given twice."""
        if "accuracy" in given and "fineness" in given:
            yield "accuracy", "and fineness are both given: the accuracy decides how fine a mesh is"
        if not any(given.get(key) for key in ("vary", "paired", "sample")):
            yield "", "nothing is varied; give [vary], [[paired]] or [sample]"
