"""The mold file as people write it: one frozen record per table, same words, same units.

Units stand in the field names. A value that is not given is None unless a default is named here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from squeeze.mold.entry import (
    Entry,
    Table,
    came,
    listed,
    number,
    number_or_numbers,
    numbers,
    plain,
    point,
    points,
    spelling,
    text,
    whole,
    word,
    yes_or_no,
)
from squeeze.mold.stock import SIZES

Pairs = Iterator[tuple[str, str]]

SHAPES: dict[str, tuple[str, ...]] = {
    "round": ("diameter_mm",),
    "square": ("width_mm",),
    "rectangle": ("width_mm", "height_mm"),
    "oval": ("width_mm", "height_mm"),
    "drawn": ("points_mm",),
}
"""The figures that each shape takes."""

FIGURES = ("diameter_mm", "width_mm", "height_mm", "points_mm")

Friction = Annotated[float, number(0, 3)]
Name = Annotated[str, text(60)]
XY = tuple[float, float]


def exactly_one(given: dict[str, Any], forms: dict[str, tuple[str, ...]], what: str) -> Pairs:
    """Yield what is wrong unless the keys given make up exactly one of the `forms`.

    Parameters
    ----------
    given : dict
        The raw table.
    forms : dict
        How a form is called when spoken of, and its keys.
    what : str
        What the forms describe, e.g. ``"the band"``.
    """
    begun = [name for name, keys in forms.items() if any(key in given for key in keys)]
    if len(begun) != 1:
        say = f"{listed(begun, 'and')} came together" if begun else f"nothing says {what}"
        yield "", f"{say}; give exactly one of {listed(forms)}"
        return
    for key in forms[begun[0]]:
        if key not in given:
            yield key, f"is missing; {what} takes {listed(forms[begun[0]], 'and')} together"


class Shape(Table):
    """A closed shape: the outline of a block, or of a cavity.

    Attributes
    ----------
    shape : str
        round, square, rectangle, oval or drawn; drawn when only ``points_mm`` is given.
    bevel_mm : float
        Leg, along both sides, of the flat taken off each outward corner [mm].
    round_mm : float or None
        Radius on every corner that is left [mm], 0 = sharp. When it is not given: 2 mm, or on
        corners whose sides are short for it as much as half of the shorter side carries.
    """

    shape: Annotated[str, word(*SHAPES)] = "drawn"
    diameter_mm: Annotated[float | None, number(0.5, 1000, "mm")] = None
    width_mm: Annotated[float | None, number(0.5, 1000, "mm")] = None
    height_mm: Annotated[float | None, number(0.5, 1000, "mm")] = None
    points_mm: Annotated[tuple[XY, ...] | None, points(3)] = None
    bevel_mm: Annotated[float, number(0, 500, "mm")] = 0.0
    round_mm: Annotated[float | None, number(0, 500, "mm")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield missing and surplus figures of the shape."""
        shape = given.get("shape", "drawn" if "points_mm" in given else None)
        if shape is None:
            yield "shape", f"is missing; allowed are {listed(SHAPES)}"
        elif isinstance(shape, str) and shape in SHAPES:
            yield from _figures(shape, given)
            if shape in ("round", "oval"):
                yield from _no_corners(shape, given)


def _figures(shape: str, given: dict[str, Any]) -> Pairs:
    wanted = SHAPES[shape]
    takes = f"the shape {shape} takes {listed(wanted, 'and')}"
    for key in FIGURES:
        if key in given and key not in wanted:
            yield key, f"does not go with this shape; {takes}"
        elif key in wanted and key not in given:
            yield key, f"is missing; {takes}"


def _no_corners(shape: str, given: dict[str, Any]) -> Pairs:
    value = given.get("bevel_mm", 0)
    if value != 0:
        yield "bevel_mm", f"{came(value)} came, but the shape {shape} has no corner to bevel; leave"\
            " it out or give 0"


class Block(Shape):
    """The rubber body's outline, round the middle (0, 0) of the section unless drawn."""


class Cavity(Shape):
    """A void that the model left.

    Attributes
    ----------
    centre_mm : (x, y)
        Where its middle is; points of a drawn cavity are counted from here [mm].
    """

    name: Name = ""
    centre_mm: Annotated[XY, point] = (0.0, 0.0)


class Rubber(Table):
    """The block's rubber.

    Attributes
    ----------
    shore_a : float or None
        Hardness, Shore A.
    youngs_modulus_mpa : float or None
        E, the other way to say how stiff it is [MPa].
    poisson : float or None
        nu; when it is not given it follows from E and the bulk modulus.
    bulk_modulus_mpa : float
        K, 1000 MPa unless given.
    density_g_cm3 : float
        1.1 unless given (common practice for mold silicones).
    price_per_kg : float or None
        In any currency.
    """

    shore_a: Annotated[float | None, number(5, 80, "Shore A")] = None
    youngs_modulus_mpa: Annotated[float | None, number(0.05, 50, "MPa")] = None
    poisson: Annotated[float | None, number(0, 0.49999)] = None
    bulk_modulus_mpa: Annotated[float, number(100, 5000, "MPa")] = 1000.0
    density_g_cm3: Annotated[float, number(0.5, 3, "g/cm3")] = 1.1
    price_per_kg: Annotated[float | None, number(0, 1e6)] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield what is wrong unless there is one stiffness and one measure of compressibility."""
        ways = ("shore_a", "youngs_modulus_mpa")
        yield from exactly_one(given, {key: (key,) for key in ways}, "how stiff the rubber is")
        if "poisson" in given and "bulk_modulus_mpa" in given:
            yield "poisson", "came together with bulk_modulus_mpa; each follows from the other, so"\
                " give one of them"


class Cut(Table):
    """A knife line.

    Attributes
    ----------
    gap_mm : float or tuple of float
        Gap of the unloaded cut: one number, or several spread evenly along the path [mm].
    """

    name: Name = ""
    path_mm: Annotated[tuple[XY, ...], points(2)]
    friction: Friction = 0.0
    gap_mm: Annotated[float | tuple[float, ...], number_or_numbers(0, 20, "mm")] = 0.0


def _stock(value: object) -> str:
    name = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if isinstance(name, str) and name.upper() in SIZES:
        return name.upper()
    raise plain(f"{came(value)} is not a size in the table; known are {listed(SIZES, 'and')}, or"
                f" give width_mm, thickness_mm and flat_length_mm{spelling(value, SIZES)}")


class Band(Table):
    """Rubber bands of one kind, each once round the block: a strand on every side of it.

    Attributes
    ----------
    stock : str or None
        Trade size.
    flat_length_mm : float or None
        Length of the band lying flat: half of its loop [mm].
    tension_n : float or None
        Pull of one strand, as weighed with a scale [N].
    tension_n_per_mm : float or None
        Pull of all strands together, spread over the block's length [N/mm].
    count : int
        How many bands, evenly spread; 1 unless given. Where `at_mm` is given, as many as it lists.
    at_mm : tuple of float or None
        Places along the block's length [mm].
    friction : float
        Coulomb's coefficient of the band on the block.
    """

    stock: Annotated[str | None, Entry(_stock, {"type": ["string", "integer"], "enum": [*SIZES]})] = None
    width_mm: Annotated[float | None, number(0.5, 100, "mm")] = None
    thickness_mm: Annotated[float | None, number(0.1, 20, "mm")] = None
    flat_length_mm: Annotated[float | None, number(5, 2000, "mm")] = None
    tension_n: Annotated[float | None, number(0, 2000, "N")] = None
    tension_n_per_mm: Annotated[float | None, number(0, 100, "N/mm")] = None
    count: Annotated[int, whole(0, 500)] = 1
    at_mm: Annotated[tuple[float, ...] | None, numbers(0, 2000, "mm")] = None
    friction: Friction = 0.0

    @property
    def strands(self) -> int:
        """How many bands there are."""
        return self.count if self.at_mm is None else len(self.at_mm)

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield what is wrong unless there is one form of strength and one of place."""
        sizes = ("width_mm", "thickness_mm", "flat_length_mm")
        forms = {"stock": ("stock",), "width_mm with thickness_mm and flat_length_mm": sizes}
        forms |= {key: (key,) for key in ("tension_n", "tension_n_per_mm")}
        yield from exactly_one(given, forms, "how hard the band pulls")
        if "count" in given and "at_mm" in given:
            yield "count", "came together with at_mm; the places say how many bands there are"
        for key in ("count", "at_mm"):
            if key in given and "tension_n_per_mm" in given:
                yield key, "does not go with tension_n_per_mm, which is the pull of all strands" \
                    " together, spread over the block's length"


class Push(Table):
    """A hand, a clamp pad or a board edge; with `pressure_kpa` alone, pressure all round."""

    at_mm: Annotated[XY | None, point] = None
    width_mm: Annotated[float | None, number(0.5, 1000, "mm")] = None
    force_n_per_mm: Annotated[float | None, number(0, 100, "N/mm")] = None
    pressure_kpa: Annotated[float | None, number(0, 1000, "kPa")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield what is wrong unless there is a patch, or a pressure all round."""
        patch = ("at_mm", "width_mm", "force_n_per_mm")
        forms = {"at_mm with width_mm and force_n_per_mm": patch, "pressure_kpa alone":
                 ("pressure_kpa",)}
        yield from exactly_one(given, forms, "the push")


class Resin(Table):
    """The casting resin in the cavity.

    Attributes
    ----------
    head_mm : float or None
        Height of liquid resin above the station [mm].
    pressure_kpa : float or None
        The other way to say how hard it presses [kPa].
    enters_cuts : bool
        Whether it presses inside open lands too.
    """

    head_mm: Annotated[float | None, number(0, 5000, "mm")] = None
    pressure_kpa: Annotated[float | None, number(0, 1000, "kPa")] = None
    enters_cuts: Annotated[bool, yes_or_no()] = True
    density_g_cm3: Annotated[float, number(0.5, 5, "g/cm3")] = 1.05
    viscosity_mpa_s: Annotated[float | None, number(0.1, 1e6, "mPa s")] = None
    pot_life_min: Annotated[float | None, number(0.1, 10000, "min")] = None

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield what is wrong unless there is a head or a pressure."""
        ways = ("head_mm", "pressure_kpa")
        yield from exactly_one(given, {key: (key,) for key in ways}, "how hard the resin presses")


class Pot(Table):
    """The pressure pot, inside."""

    bore_mm: Annotated[float, number(20, 5000, "mm")]
    depth_mm: Annotated[float, number(20, 5000, "mm")]


class Mold(Table):
    """One mold: everything a mold file says. Lists carry the file's own words.

    ``mold.cut[0].path_mm`` is the path of the first cut.
    """

    title: Annotated[str, text(200)] = ""
    length_mm: Annotated[float, number(1, 2000, "mm")]
    rubber: Rubber
    block: Block
    cavity: tuple[Cavity, ...] = ()
    cut: tuple[Cut, ...] = ()
    band: tuple[Band, ...] = ()
    push: tuple[Push, ...] = ()
    resin: Resin | None = None
    pot: Pot | None = None

    @classmethod
    def prepare(cls, given: dict[str, Any]) -> dict[str, Any]:
        """Number the cavities and cuts that have no name."""
        return given | {
            kind: [
                {"name": f"{kind} {i}"} | entry if isinstance(entry, dict) else entry
                for i, entry in enumerate(given[kind], start=1)
            ]
            for kind in ("cavity", "cut")
            if isinstance(given.get(kind), list | tuple)
        }

    @classmethod
    def rules(cls, given: dict[str, Any]) -> Pairs:
        """Yield names that stand twice and bands beside the block."""
        for kind in ("cavity", "cut"):
            names = [entry.get("name") for entry in _entries(given.get(kind))]
            for name in sorted({n for n in names if isinstance(n, str) and names.count(n) > 1}):
                yield kind, f"the name {came(name)} stands {names.count(name)} times; every {kind}"\
                    " needs a name of its own"
        yield from _beside(given.get("length_mm"), _entries(given.get("band")))


def _entries(value: object) -> list[dict[str, Any]]:
    values = value if isinstance(value, list | tuple) else []
    return [entry for entry in values if isinstance(entry, dict)]


def _beside(length: Any, bands: list[dict[str, Any]]) -> Pairs:
    if isinstance(length, bool) or not isinstance(length, int | float):
        return
    for i, band in enumerate(bands, start=1):
        places = band.get("at_mm")
        places = places if isinstance(places, list | tuple) else []
        off = [p for p in places if isinstance(p, int | float) and p > length]
        if off:
            yield "band", f"band {i} sits at {listed(map(came, off), 'and')} mm, but the block is"\
                f" {came(length)} mm long"
