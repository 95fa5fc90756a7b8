"""The command `squeeze cradle`: compare, search the seat that closes evenly, write templates."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from squeeze.mold.section.records import Section
    from squeeze.mold.tables.mold import Mold
    from squeeze.study.cradles import Cradles

WIDTH = 100


@dataclass(frozen=True)
class Wish:
    """What was asked for on the command line."""

    mold: Path
    tensions: tuple[float, ...] = ()
    material: str = "plywood"
    thickness_mm: float = 18.0
    rise_mm: float | None = None
    friction: float = 0.3
    even: bool = False
    templates: Path | None = None
    figure: Path | None = None
    json: Path | None = None
    take: Path | None = None
    inches: bool = False


def tensions_of(text: str | None) -> tuple[float, ...]:
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
        said = f"{text!r} came; allowed are numbers over 0 and up to 100, with commas between"
        raise BadInput([Fault("--tension", said)])
    return tuple(dict.fromkeys(found))


def run_cradle(wish: Wish) -> int:
    """Do what was asked for; return the exit status."""
    from rich.console import Console

    from squeeze.mold import load
    from squeeze.show.cradles import cradle_data, cradle_figure, cradle_table, cradle_words
    from squeeze.show.figure.closing import save
    from squeeze.show.start import CAUTION
    from squeeze.show.write import check_places, write_all
    from squeeze.study.cradles import compare
    from squeeze.study.families import Wood

    _check_material(wish.material)
    mold = load(wish.mold)
    check_places([p for p in (wish.figure, wish.json, wish.take) if p], wish.mold)
    _check_folder(wish.templates)
    say = _voice()
    wood = Wood(wish.material, wish.thickness_mm, wish.rise_mm, wish.friction)
    with Console(stderr=True).status("Closing the cuts with each cradle ..."):
        found = compare(mold, wood, wish.tensions)
        chosen, section, seat = _chosen(mold, found, wish)
    words = cradle_words(found)
    say(words[0], style="bold")
    screen = Console(highlight=False, width=WIDTH)
    for tension in found.tensions:
        say(f"Bands: {tension:.3g} N per mm of length.")
        screen.print(cradle_table(found, tension, wish.inches))
    for line in (*words[1:], *seat, CAUTION):
        say(line)
    writers: dict[Path, Callable[[Path], None]] = {}
    if wish.figure:
        form = wish.figure.suffix[1:].lower()
        writers[wish.figure] = lambda part: save(cradle_figure(found), part, form)
    if wish.json:
        writers[wish.json] = partial(_put, text=json.dumps(cradle_data(found), indent=1) + "\n")
    if wish.take and chosen:
        writers[wish.take] = partial(_put, text=_dumped(chosen))
    if wish.templates and chosen and section is not None:
        say("The templates are drawn with that one crown; without --even they have none.")
    if wish.templates and chosen:
        writers |= _template_writers(chosen, section, wish.templates)
    write_all(writers)
    for path in writers:
        say(f"Wrote {path}.")
    if (wish.templates or wish.take) and not chosen:
        say(f"There is no cradle to write: the file names none, and {_why_none(found)}.")
    return 0


def _why_none(found: Cradles) -> str:
    bare = found.simplest() is not None
    return "the bands alone close the cuts" if bare else "none of these closes the cuts"


def _check_material(name: str) -> None:
    from squeeze.mold import BadInput, Fault
    from squeeze.mold.cradle.materials import MATERIALS

    if name not in MATERIALS:
        said = f"{name!r} is not known; allowed are {', '.join(MATERIALS)}"
        raise BadInput([Fault("--material", said)])


def _voice() -> Callable[..., None]:
    from rich.console import Console

    screen = Console(highlight=False)
    screen.width = min(screen.width, WIDTH) if screen.is_terminal else WIDTH
    return partial(screen.print, markup=False, soft_wrap=not screen.is_terminal)


def _check_folder(folder: Path | None) -> None:
    from squeeze.show.write import CannotWrite

    if folder is not None and folder.exists() and not folder.is_dir():
        raise CannotWrite(f"{folder}: cannot be written: is a file; templates need a folder")


def _chosen(
    mold: Mold, found: Cradles, wish: Wish
) -> tuple[Mold | None, Section | None, list[str]]:
    """Return the mold whose cradle is written, its section, and what the seat search says."""
    from squeeze.mold import mold_of

    chosen = mold if mold.cradle else None
    best = found.simplest()
    if chosen is None and best is not None and best.data.get("cradle"):
        title = {"title": f"{mold.title}, {best.name}"} if mold.title else {}
        chosen = mold_of(best.data | title)
    if chosen is None or not wish.even:
        return chosen, None, []
    return _even(chosen, found.tensions[0], wish.inches)


def _even(mold: Mold, tension: float, inches: bool) -> tuple[Mold, Section, list[str]]:
    """Search the seat that closes evenly: one crown, then a smooth profile of every seat."""
    import numpy as np

    from squeeze.mold import loads_of
    from squeeze.show.cradles import seat_words
    from squeeze.solve import Block
    from squeeze.solve.crown import even_seat, saw_slips, saw_tolerance

    block = Block(mold)
    loads = replace(loads_of(mold, block.section), tension_n_per_mm=tension)
    names = [piece.name for piece in block.section.cradles]
    s = np.linspace(-1.0, 1.0, 65)
    groups: Sequence[Sequence[str]] = [*([name] for name in names), names]
    tried = [(group, even_seat(block, [dict.fromkeys(group, s**2)], loads)) for group in groups]
    group, one = max(tried, key=lambda pair: pair[1].evenness)
    shapes = [np.polynomial.legendre.Legendre.basis(k)(s) for k in (2, 3, 4, 5, 6)]
    many = even_seat(block, [{name: shape} for name in names for shape in shapes], loads)
    slips = saw_slips(block, one.gap_mm, loads)
    bears = saw_tolerance(block, one.gap_mm, loads, max(0.0, one.evenness_before))
    what = _crown_words(group, float(one.size_mm[0]))
    says = seat_words(one, what, slips, bears, inches)
    says += seat_words(many, "Every seat with a smooth profile of its own")
    gaps = one.gap_mm
    pieces = tuple(
        replace(piece, gap_mm=gaps.get(piece.name, piece.gap_mm)) for piece in block.section.cradles
    )
    return mold, replace(block.section, cradles=pieces), says


def _crown_words(group: Sequence[str], crown_mm: float) -> str:
    who = f"'{group[0]}'" if len(group) == 1 else "every piece"
    if abs(crown_mm) < 0.01:
        return "A crown gains nothing here"
    way = "proud of its ends" if crown_mm > 0 else "hollow"
    return f"One crown: the seat of {who} {abs(crown_mm):.2f} mm {way} in the middle"


def _dumped(mold: Mold) -> str:
    from squeeze.mold import dump

    return dump(mold)


def _template_writers(
    mold: Mold, section: Section | None, folder: Path
) -> dict[Path, Callable[[Path], None]]:
    from squeeze.show.template.drawing import templates
    from squeeze.show.template.dxf import NoDxf, as_dxf
    from squeeze.show.template.pdf import PAPERS, as_pdf
    from squeeze.show.template.svg import as_svg

    folder.mkdir(parents=True, exist_ok=True)
    made = templates(mold, section)
    writers: dict[Path, Callable[[Path], None]] = {}
    for paper in PAPERS:
        writers[folder / f"templates-{paper}.pdf"] = partial(_put_bytes, data=as_pdf(made, paper))
    for template in made:
        stem = re.sub(r"[^A-Za-z0-9]+", "-", template.name).strip("-").lower() or "piece"
        writers[folder / f"{stem}.svg"] = partial(_put, text=as_svg(template))
        try:
            writers[folder / f"{stem}.dxf"] = partial(_put, text=as_dxf(template))
        except NoDxf as error:
            print(error)
    return writers


def _put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _put_bytes(path: Path, data: bytes) -> None:
    path.write_bytes(data)
