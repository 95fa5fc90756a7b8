"""What stands on a bench sheet: one record, made from the mold and what was found out about it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from squeeze import __version__
from squeeze.mold import Mold, Section, dump, section_of, strand_n, stretch_of, wrap_mm
from squeeze.mold.forces.bands import size_of
from squeeze.mold.forces.loads import GRAVITY
from squeeze.mold.tables.loads import BandTable
from squeeze.show.sheet.air import caught_air, channels
from squeeze.show.sheet.knife import KnifePoint, cutting_order, knife_points
from squeeze.show.sheet.parts import Grid, Part, Row, Step, Unit
from squeeze.show.sheet.picture import (
    BandPlace,
    band_places,
    bands_picture,
    closing_picture,
    cut_picture,
)
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict
from squeeze.verdict.air.pockets import Air, air_of
from squeeze.verdict.casting.flash import HAIRLINE_MM
from squeeze.verdict.figures import times
from squeeze.verdict.grade import SHUT_IN
from squeeze.verdict.pot import pot_fit
from squeeze.verdict.quantities import Amount, Quantities, quantities_of, under_bands
from squeeze.verdict.uncertainty import Uncertainty, say_variations
from squeeze.verdict.words import in_inches, length, pressure

CAUTIONS = (
    "Results are estimates for planning; local codes, the makers' data sheets and licensed"
    " practice govern. Use only a pressure vessel rated and marked by its maker, with its relief"
    " valve, gauge and lid fastening; never go above the marked pressure, never modify it, vent it"
    " fully before opening. Casting resins can be sensitisers: follow the maker's safety data"
    " sheet, ventilate, wear gloves. Stretched bands snap: eye protection, face out of their line."
    " Cut away from the hand, with a guard or cut-resistant glove."
)


@dataclass(frozen=True)
class Sheet:
    """All that stands on a bench sheet, apart from where on the paper it stands.

    Attributes
    ----------
    title : str
    head, advice : tuple of str
        The verdict, and what to do about it.
    steps : tuple of Step
        Pour, cut, close, fill, expect.
    file, digest, date : str
    cautions : str
    """

    title: str
    head: str
    advice: tuple[str, ...]
    steps: tuple[Step, ...]
    file: str
    digest: str
    date: str
    cautions: str = CAUTIONS

    @property
    def made_by(self) -> str:
        """What the sheet was made from."""
        return f"{self.file} - mold {self.digest} - {self.date} - squeeze {__version__}"


def digest_of(mold: Mold) -> str:
    """Return eight signs that two molds share only when they say the same.

    Remarks and the order of keys in the file do not count.
    """
    signs = hashlib.sha256(dump(mold).encode()).hexdigest()[:8]
    return f"{signs[:4]}-{signs[4:]}"


def sheet_of(
    mold: Mold,
    closing: Closing,
    verdict: Verdict,
    varied: Uncertainty | None = None,
    *,
    file: str,
    date: str,
    inches: bool = False,
) -> Sheet:
    """Return the contents of a mold's bench sheet.

    Parameters
    ----------
    mold : Mold
    closing : Closing
    verdict : Verdict
        Told in the same unit.
    varied : Uncertainty, optional
        For how sure it is.
    file, date : str
        As they stand on the sheet.
    inches : bool
        Give lengths in inches.
    """
    quantities, section, air = quantities_of(mold), section_of(mold), air_of(mold)
    unit = Unit(inches)
    head, *advice = verdict.head.lines
    sheet = Sheet(
        title=mold.title or file,
        head=head,
        advice=tuple(advice),
        steps=(
            Step("Pour", (*_pour(mold, section, quantities, air, unit),)),
            Step("Cut", (*_cut(mold, section, unit),)),
            Step("Close", (*_close(mold, section, unit),)),
            Step("Fill", (*_fill(mold, quantities, air, unit),)),
            Step("Expect", (*_expect(closing, verdict, varied, unit),)),
        ),
        file=file,
        digest=digest_of(mold),
        date=date,
    )
    return _in_inches(sheet) if inches else sheet


def _in_inches(sheet: Sheet) -> Sheet:
    """Return a sheet whose sentences tell lengths in inches and pressures in psi."""
    steps = tuple(
        replace(
            step,
            parts=tuple(
                replace(part, say=in_inches(part.say)) if isinstance(part, Row) else part
                for part in step.parts
            ),
        )
        for step in sheet.steps
    )
    advice = tuple(map(in_inches, sheet.advice))
    return replace(sheet, head=in_inches(sheet.head), advice=advice, steps=steps)


def _pour(mold: Mold, section: Section, found: Quantities, air: Air, unit: Unit) -> list[Part]:
    box = " x ".join(unit.bare(mm) for mm in found.box_mm)
    mixed = found.rubber_mixed
    parts: list[Part] = [
        Row("Box inside", f"{box} {unit.name} (width x height x length)"),
        Row("Block", _outline(mold, unit)),
        Row(
            "Rubber",
            f"{found.rubber.volume_cm3:.0f} cm3, {_grams(found.rubber.mass_g)} in the block",
        ),
        Row("Weigh out", f"{_weigh(mixed)} with {mold.rubber.waste_percent:g} % waste"),
        Row("Mixing vessel", f"{found.vessel_cm3 / 1000:.1f} l or more: rubber rises under vacuum"),
    ]
    if mold.rubber.shore_a is not None:
        parts.insert(2, Row("Hardness", f"Shore A {mold.rubber.shore_a:g}"))
    saved = [
        f"{cm3:.0f} cm3 by {what}"
        for cm3, what in (
            (found.filler_cm3, "fillers"),
            (found.saved_by_outline_cm3, "the outline, against its box"),
        )
        if cm3 >= 0.5
    ]
    if saved:
        parts.append(Row("Rubber saved", ", ".join(saved)))
    if found.shrinkage is not None:
        parts.append(Row("Shrinkage", _shrinkage(found, unit)))
    if section.cavities:
        parts.append(_models(section, unit))
    for cavity in mold.cavity:
        if cavity.models:
            at = ", ".join(unit.bare(model.at_mm) for model in cavity.models)
            say = f"{len(cavity.models)} of {cavity.name}, middles {at} {unit.name} from the start"
            parts.append(Row("In a row", say))
    parts += channels(mold, air, unit)
    return parts


def _outline(mold: Mold, unit: Unit) -> str:
    block = mold.block
    sizes = [mm for mm in (block.diameter_mm, block.width_mm, block.height_mm) if mm is not None]
    said = block.shape + (
        f" {' x '.join(unit.bare(mm) for mm in sizes)} {unit.name}" if sizes else ""
    )
    if block.bevel_mm:
        said += f", bevels of {unit.say(block.bevel_mm)} along both sides of each corner"
    return said


def _weigh(amount: Amount) -> str:
    said = _grams(amount.mass_g)
    if amount.parts_g:
        said += f" = {' + '.join(_grams(part) for part in amount.parts_g)}"
    return said + ("" if amount.price is None else f", price {amount.price:.2f}")


def _grams(mass: float) -> str:
    return f"{mass:.0f} g" if mass >= 20 else f"{mass:.1f} g"


def _shrinkage(found: Quantities, unit: Unit) -> str:
    assert found.shrinkage is not None
    sizes = max((max(size[1:]) for size in found.shrinkage.sizes), default=0.0)
    bow = max((bow for _, bow in found.shrinkage.bow_mm), default=0.0)
    return (
        f"{found.shrinkage.percent:g} %: castings up to {length(sizes, unit.inches)} smaller, cuts"
        f" bowed by {length(bow, unit.inches)} at most"
    )


def _models(section: Section, unit: Unit) -> Grid:
    """Return where the models hang: middle from the left and the lower edge, and their sizes."""
    x0, y0, _, _ = section.outline.polygon.bounds
    rows = []
    for number, cavity in enumerate(section.cavities, start=1):
        a, b, c, d = cavity.loop.polygon.bounds
        middle = ((a + c) / 2 - x0, (b + d) / 2 - y0)
        size = f"{unit.bare(c - a)} x {unit.bare(d - b)}"
        rows.append((f"{number} {cavity.name}", *(unit.bare(mm) for mm in middle), size))
    heads = (f"model, middle [{unit.name}]", "from left", "from below", "size")
    return Grid(heads, tuple(rows), (0.42, 0.17, 0.19, 0.22))


def _cut(mold: Mold, section: Section, unit: Unit) -> list[Part]:
    if not section.cuts:
        return [Row("Cuts", "none in the mold file")]
    knife = knife_points(section)
    order = cutting_order(section.cuts)
    names = [section.cuts[k].name for k in order]
    parts: list[Part] = [cut_picture(section, knife)]
    if len(names) > 1:
        parts.append(Row("Order", ", then ".join(names)))
    if any(len(points) > 2 for points in knife):
        keyed = ", ".join(section.cuts[k].name for k in order if len(knife[k]) > 2)
        parts.append(
            Row("Key shapes", f"cut the corners of {keyed} as lettered: they lock the halves")
        )
    if mold.block.bevel_mm:
        parts.append(
            Row(
                "Bevels",
                f"{unit.say(mold.block.bevel_mm)} off each corner, unless the box has them",
            )
        )
    parts.append(_knife_grid([(section.cuts[k].name, knife[k]) for k in order], unit))
    return parts


def _knife_grid(cuts: Sequence[tuple[str, tuple[KnifePoint, ...]]], unit: Unit) -> Grid:
    rows = [
        (name if k == 0 else "", p.letter, unit.bare(p.from_left_mm), unit.bare(p.from_bottom_mm))
        for name, points in cuts
        for k, p in enumerate(points)
    ]
    heads = (f"cut [{unit.name}]", "at", "from left", "from below")
    return Grid(heads, tuple(rows), (0.46, 0.12, 0.2, 0.22))


def _close(mold: Mold, section: Section, unit: Unit) -> list[Part]:
    parts: list[Part] = []
    if section.cradles:
        named = [f"{k} {piece.name}" for k, piece in enumerate(section.cradles, start=1)]
        parts.append(Row("Cradle", f"pieces with their templates' numbers: {', '.join(named)}"))
    places = band_places(mold)
    if places:
        parts.append(bands_picture(mold, places))
    wrap = wrap_mm(section)
    for number, band in enumerate(mold.band):
        own = [place for place in places if place.kind == number]
        parts += _band(number, band, own, wrap, mold, unit)
    if mold.push:
        parts.append(Row("Pushes", f"{len(mold.push)} on the outside, as in the mold file"))
    friction = max((cut.friction for cut in mold.cut), default=0.0)
    if mold.cut:
        parts.append(Row("Release agent", _release(friction)))
    parts.append(Row("Bands off", under_bands(mold.resin)))
    return parts


def _band(
    number: int,
    band: BandTable,
    places: Sequence[BandPlace],
    wrap: float,
    mold: Mold,
    unit: Unit,
) -> list[Part]:
    name = f"Band {number + 1}" if len(mold.band) > 1 else "Bands"
    pull, stretch = strand_n(band, wrap), stretch_of(band, wrap)
    if pull is None:
        whole = (band.tension_n_per_mm or 0.0) * mold.length_mm
        return [Row(name, f"{whole:.0f} N in all, spread evenly over the length")]
    size = _size(band, unit)
    at = ", ".join(unit.bare(place.at_mm) for place in places)
    said = [Row(name, f"{band.strands} of {size}, at {at} {unit.name} from the start")]
    way = f"{unit.say(wrap)} once round"
    if stretch is None:
        said.append(Row("Pull", f"{pull:.1f} N a strand ({_scale(pull)} on a scale), {way}"))
        return list(said)
    half = unit.say(wrap / 2)
    said.append(
        Row(
            "Stretch",
            f"{stretch:.1f} times, {way}. Hook a loop on a scale, pull it {half} long: it reads"
            f" {_scale(2 * pull)} ({2 * pull:.1f} N), two strands",
        )
    )
    return list(said)


def _size(band: BandTable, unit: Unit) -> str:
    size = size_of(band)
    if band.stock or size is None:
        named = f"'{band.name}'" if band.name else "those weighed"
        return f"size {band.stock}" if band.stock else named
    across = f"{unit.bare(size.width_mm)} x {unit.say(size.thickness_mm)}"
    return f"{across}, {unit.say(size.flat_length_mm)} long lying flat"


def _scale(newton: float) -> str:
    return f"{newton / GRAVITY * 1000:.0f} g"


def _release(friction: float) -> str:
    if friction:
        return (
            f"Keep it off the cut faces: the answer counts on a friction of {friction:g} there, and"
            " release agent takes that away"
        )
    return "The answer counts on no friction, so release agent on the cut faces does not change it"


def _fill(mold: Mold, found: Quantities, air: Air, unit: Unit) -> list[Part]:
    resin = mold.resin
    parts: list[Part] = []
    if found.cavities_cm3:
        inside = [f"{found.cavities_cm3:.0f} cm3 in the cavities"]
        inside += [f"{found.sprue_cm3:.1f} in the sprue"] if found.sprue_cm3 else []
        inside += [f"{found.vents_cm3:.1f} in vents"] if found.vents_cm3 else []
        parts.append(Row("Resin", f"{_grams(found.resin.mass_g)} a filling: {', '.join(inside)}"))
        waste = resin.waste_percent if resin else 10.0
        count = f" for {found.castings} fillings" if found.castings > 1 else ""
        parts.append(Row("Weigh out", f"{_weigh(found.resin_mixed)}{count} with {waste:g} % waste"))
    parts += caught_air(mold, air, unit)
    if resin is not None:
        parts.append(Row("Head", _head_of_resin(mold, unit)))
        times_told = [
            f"{minutes:g} min {what}"
            for minutes, what in ((resin.pot_life_min, "to pour"), (resin.demold_min, "to demold"))
            if minutes is not None
        ]
        if times_told:
            parts.append(Row("Time", ", ".join(times_told)))
    parts.append(
        Row("To lift", f"{_grams(found.lifted_g)} closed and filled; cradle and bands extra")
    )
    if found.price is not None:
        parts.append(
            Row("Price", f"{found.price:.2f} for rubber and resin as far as prices are given")
        )
    parts += _pot(mold, unit)
    return parts


def _head_of_resin(mold: Mold, unit: Unit) -> str:
    resin = mold.resin
    assert resin is not None
    if resin.head_mm is None:
        return f"{pressure(resin.pressure_kpa or 0.0)} in the cavities"
    if resin.standing:
        return f"{unit.say(resin.head_mm)} above the upper end; the block stands on its start"
    return f"{unit.say(resin.head_mm)} of liquid above the section; the block lies"


def _pot(mold: Mold, unit: Unit) -> list[Part]:
    fit = pot_fit(mold)
    if fit is None:
        return []
    size = f"{unit.bare(fit.bore_mm)} x {unit.say(fit.depth_mm)}"
    own = (
        f"the block needs {unit.bare(fit.widest_mm)} x {unit.say(fit.high_mm)}, cradle and bands on"
    )
    if fit.goes_in:
        return [Row("Pot", f"{size} (bore x depth): goes in; {own}")]
    said = f"{size} (bore x depth): does NOT go in; {own}"
    if fit.bevel_mm is not None:
        said += f". With bevels of {unit.say(fit.bevel_mm)} its bore is wide enough"
    return [Row("Pot", said)]


def _expect(
    closing: Closing, verdict: Verdict, varied: Uncertainty | None, unit: Unit
) -> list[Part]:
    inches = unit.inches
    parts: list[Part] = [closing_picture(closing), Row("Grade", verdict.head.grade)]
    if not closing.outcome.has_answer or verdict.head.grade == SHUT_IN:
        return parts
    flash = verdict.flash
    if flash.lines:
        parts.append(Row("Flash", _flash(verdict, inches)))
    parts += _first(closing, verdict, unit)
    if verdict.cavities:
        worst = max(verdict.cavities, key=lambda cavity: cavity.largest_shift_mm)
        parts.append(
            Row(
                "Castings",
                f"off by {length(worst.largest_shift_mm, inches)} at most ({worst.name}: width"
                f" {_signed(worst.width_change_mm, inches)}, height"
                f" {_signed(worst.height_change_mm, inches)}); step at the parting line"
                f" {length(max(c.step_mm for c in verdict.cavities), inches)}",
            )
        )
    if varied is not None:
        parts.append(Row("How sure", say_variations(varied)))
    return parts


def _signed(mm: float, inches: bool) -> str:
    told = length(abs(mm), inches)
    return told if mm == 0 or told.startswith("under") else f"{'-' if mm < 0 else '+'}{told}"


def _flash(verdict: Verdict, inches: bool) -> str:
    flash = verdict.flash
    if flash.thickness_mm == 0:
        return "clean: no cut stands open at a cavity"
    if flash.thickness_mm < HAIRLINE_MM:
        return f"clean: a film of {length(flash.thickness_mm, inches)} at most"
    mass = "" if flash.mass_g is None else f", {flash.mass_g:.2f} g in all"
    thick, reach = length(flash.thickness_mm, inches), length(flash.reach_mm, inches)
    return f"{flash.grade}: {thick} thick, runs {reach} in{mass}"


def _first(closing: Closing, verdict: Verdict, unit: Unit) -> list[Part]:
    """Return where flash comes first: at the widest gap, or at the barrier that gives first."""
    lines = [line for line in verdict.flash.lines if line.thickness_mm >= HAIRLINE_MM]
    if lines:
        line = max(lines, key=lambda each: each.thickness_mm)
        return [Row("Flash first", f"at '{line.cavity}', along land {line.land + 1}")]
    weakest = verdict.seal.weakest
    if weakest is None:
        return []
    land = closing.lands[weakest.land]
    x0, y0, _, _ = closing.section.outline.polygon.bounds
    left, below = (
        unit.bare(float(v[weakest.place]) - edge) for v, edge in ((land.x_mm, x0), (land.y_mm, y0))
    )
    return [
        Row(
            "Flash first",
            f"land {weakest.land + 1}, {left} from left, {below} from below: it presses"
            f" {times(weakest.margin)} times as hard as the resin; {times(2.0)} are needed",
        )
    ]
