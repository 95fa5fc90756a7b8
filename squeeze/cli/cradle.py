"""The command `squeeze cradle`: compare, search the seat that closes evenly, write templates."""

from __future__ import annotations

import json as json_text
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from squeeze.cli.preamble import (
    BAD_INPUT,
    DONE,
    FigureFile,
    Inches,
    Json,
    MoldFile,
    Voice,
    form_of,
    length_given,
    progress,
    writable,
)

if TYPE_CHECKING:
    from squeeze.mold.progress import Progress
    from squeeze.mold.section.records import Section
    from squeeze.mold.tables.mold import Mold
    from squeeze.show.write import Write, Writers
    from squeeze.study.cradles.comparison import CradleComparison


def cradle(
    mold: MoldFile,
    tension: Annotated[
        str | None,
        typer.Option(
            metavar="N/MM",
            help="Tension of all bands together, or several: 0.3,0.6; by default the file's.",
        ),
    ] = None,
    material: Annotated[
        str, typer.Option(metavar="NAME", help="Material of the pieces.")
    ] = "plywood",
    thickness: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help="Thickness of flat boards; 18 mm unless given (or inches, with --inches).",
        ),
    ] = None,
    rise: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help="Rise of round backs (or inches, with --inches); a tenth of the block's side.",
        ),
    ] = None,
    friction: Annotated[
        float, typer.Option(metavar="MU", min=0, max=3, help="Friction of the pieces on rubber.")
    ] = 0.3,
    even: Annotated[
        bool,
        typer.Option("--even", metavar="", help="Search for the seat that presses most evenly."),
    ] = False,
    templates: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Write sawing templates 1:1: SVG, DXF, PDF."),
    ] = None,
    figure: FigureFile = None,
    json: Json = None,
    take: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the mold with the simplest cradle that closes."),
    ] = None,
    inches: Inches = False,
) -> int:
    """Compare cradles on the cuts of a mold, and write templates to saw them."""
    from squeeze.mold import load
    from squeeze.show.write import write_all
    from squeeze.study.cradles.candidates import BoardSpec
    from squeeze.study.cradles.comparison import compare_cradles

    pulls = _tensions(tension)
    _check_material(material)
    can_write = writable([figure, json, take], mold, templates)
    read = load(mold)
    thick = length_given(thickness, "--thickness", 2.0, 200.0, inches)
    risen = length_given(rise, "--rise", 0.5, 200.0, inches)
    board = BoardSpec(material, BoardSpec.thickness_mm if thick is None else thick, risen, friction)
    with progress("Closing the cuts with each cradle") as report:
        compared = compare_cradles(read, board, pulls, progress=report)
        found = _chosen(read, compared, even, inches, report)
    found = replace(found, loose=_loose(read))
    voice = Voice(figure, json, take, inches=inches)
    _print_answer(found, inches, voice)
    writers = _writers(found, figure, json, take, inches)
    if templates and found.mold:
        if found.section is not None:
            voice.say("The templates are drawn with that one crown; without --even they have none.")
        writers |= _template_writers(found.mold, found.section, templates, voice)
    if (templates or take) and not found.mold:
        voice.say(
            f"There is no cradle to write: the file has none, and {_why_none(found.compared)}."
        )
    if not can_write:
        return BAD_INPUT
    write_all(writers, templates)
    voice.say_all(f"Wrote {path}." for path in writers)
    return DONE


@dataclass(frozen=True)
class CradleReport:
    """The comparison, the mold whose cradle is written if any, and what the seat search says.

    `section` is that of the mold with its seats changed, where they were searched.
    """

    compared: CradleComparison
    mold: Mold | None
    section: Section | None = None
    seat: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()


def _tensions(text: str | None) -> tuple[float, ...]:
    """Return the tensions in a text such as "0.3,0.6".

    Raises
    ------
    BadInput
        When it is not a list of numbers over 0 and up to 100.
    """
    from squeeze.mold import BadInput, Fault

    if text is None:
        return ()
    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = (0.0,)
    if not all(0 < pull <= 100 for pull in found):
        said = f"{text!r} given; allowed are numbers over 0 and up to 100, with commas between"
        raise BadInput([Fault("--tension", said)])
    return tuple(dict.fromkeys(found))


def _check_material(name: str) -> None:
    from squeeze.mold import BadInput, Fault
    from squeeze.mold.cradle.materials import MATERIALS

    if name not in MATERIALS:
        said = f"{name!r} is not known; allowed are {', '.join(MATERIALS)}"
        raise BadInput([Fault("--material", said)])


def _print_answer(found: CradleReport, inches: bool, voice: Voice) -> None:
    from squeeze.show.cradles import cradle_table, cradle_words
    from squeeze.show.start import CAUTION

    words = cradle_words(found.compared)
    said = " ".join(words)
    voice.say(words[0], style="bold")
    for tension in found.compared.tensions_n_per_mm if len(words) > 1 else ():
        voice.say(f"Bands: {tension:.3g} N per mm of length.")
        voice.show(cradle_table(found.compared, tension, inches))
    loose = (note for note in found.loose if note not in said)
    voice.say_all((*words[1:], *loose, *found.seat, CAUTION))


def _loose(mold: Mold) -> tuple[str, ...]:
    """Return sentences on bands that are stretched too little or too much round the bare block."""
    from squeeze.mold import section_of, wrap_mm
    from squeeze.mold.forces.bands import band_notes

    bare = section_of(mold.model_copy(update={"cradle": ()}))
    return tuple(band_notes(mold, wrap_mm(bare)))


def _why_none(found: CradleComparison) -> str:
    if all(row.is_shut_in for row in found.rows):
        return "none would open the block"
    bare = found.simplest() is not None
    return "the bands alone close the cuts" if bare else "none of these closes the cuts"


def _chosen(
    mold: Mold, compared: CradleComparison, even: bool, inches: bool, report: Progress
) -> CradleReport:
    """Return the mold whose cradle is written: the file's own, else the simplest that closes."""
    from squeeze.mold import mold_of

    chosen = mold if mold.cradle else None
    best = compared.simplest()
    if chosen is None and best is not None and best.data.get("cradle"):
        title = {"title": f"{mold.title}, {best.name}"[:200]} if mold.title else {}
        chosen = mold_of(best.data | title)
    if chosen is None or not even:
        return CradleReport(compared, chosen)
    report("searching the seat that presses most evenly")
    return CradleReport(compared, chosen, *_even(chosen, compared.tensions_n_per_mm[0], inches))


def _even(mold: Mold, tension: float, inches: bool) -> tuple[Section, tuple[str, ...]]:
    """Search the seat that closes evenly: one crown, then a smooth profile of every seat."""
    import numpy as np

    from squeeze.mold import loads_of
    from squeeze.show.cradles import seat_words
    from squeeze.solve import Block
    from squeeze.study.cradles.even_seat import even_seat, saw_errors, saw_tolerance

    block = Block(mold)
    loads = replace(loads_of(mold, block.section), tension_n_per_mm=tension)
    names = [piece.name for piece in block.section.cradles]
    s = np.linspace(-1.0, 1.0, 65)
    groups: Sequence[Sequence[str]] = [*([name] for name in names), names]
    tried = [(group, even_seat(block, [dict.fromkeys(group, s**2)], loads)) for group in groups]
    group, one = max(tried, key=lambda pair: pair[1].evenness)
    shapes = [np.polynomial.legendre.Legendre.basis(k)(s) for k in (2, 3, 4, 5, 6)]
    many = even_seat(block, [{name: shape} for name in names for shape in shapes], loads)
    errors = saw_errors(block, one.gap_mm, loads)
    bears = saw_tolerance(block, one.gap_mm, loads, max(0.0, one.evenness_before))
    what = _crown_words(group, float(one.size_mm[0]))
    says = seat_words(one, what, errors, bears, inches)
    says += seat_words(many, "Every seat with a smooth profile of its own")
    gaps = one.gap_mm
    pieces = tuple(
        replace(piece, gap_mm=gaps.get(piece.name, piece.gap_mm)) for piece in block.section.cradles
    )
    return replace(block.section, cradles=pieces), tuple(says)


def _crown_words(group: Sequence[str], crown_mm: float) -> str:
    who = f"'{group[0]}'" if len(group) == 1 else "every piece"
    if abs(crown_mm) < 0.01:
        return "A crown gains nothing here"
    shape = "proud of its ends" if crown_mm > 0 else "hollow"
    return f"One crown: the seat of {who} {abs(crown_mm):.2f} mm {shape} in the middle"


def _writers(
    found: CradleReport, figure: Path | None, json: Path | None, take: Path | None, inches: bool
) -> Writers:
    """Return what writes each file that was asked for, templates apart."""
    from squeeze.mold import dump
    from squeeze.show.cradles import cradle_data

    writers: Writers = {}
    if figure:
        writers[figure] = lambda part: _draw(part, form_of(figure), found.compared, inches)
    if json:
        text = json_text.dumps(cradle_data(found.compared), indent=1) + "\n"
        writers[json] = partial(_put, text=text)
    if take and found.mold:
        writers[take] = partial(_put, text=dump(found.mold))
    return writers


def _draw(part: Path, form: str, compared: CradleComparison, inches: bool) -> None:
    from squeeze.show.figure.closing import save
    from squeeze.show.figure.cradles import cradle_figure

    save(cradle_figure(compared, inches=inches), part, form)


def _template_writers(
    mold: Mold, section: Section | None, folder: Path, voice: Voice
) -> dict[Path, Write]:
    from squeeze.show.template.drawing import templates
    from squeeze.show.template.dxf import NoDxf, as_dxf
    from squeeze.show.template.pdf import PAPERS, template_pdf
    from squeeze.show.template.svg import as_svg
    from squeeze.show.write import file_stems

    made = templates(mold, section)
    writers: dict[Path, Write] = {}
    for paper in PAPERS:
        data = template_pdf(made, paper)
        writers[folder / f"templates-{paper}.pdf"] = partial(_put_bytes, data=data)
    for stem, template in zip(file_stems([each.name for each in made]), made, strict=True):
        writers[folder / f"{stem}.svg"] = partial(_put, text=as_svg(template))
        try:
            writers[folder / f"{stem}.dxf"] = partial(_put, text=as_dxf(template))
        except NoDxf as error:
            voice.say(str(error))
    return writers


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _put_bytes(path: Path, data: bytes) -> None:
    path.write_bytes(data)
