"""The command `squeeze sheet`: the whole job on paper, or two molds side by side."""

from __future__ import annotations

import re
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from squeeze.cli.preamble import BAD_INPUT, DONE, Inches, MoldFile, Voice, progress, writable

if TYPE_CHECKING:
    from squeeze.show.sheet.contents import Sheet

PAPERS = ("a4", "letter")
DRAWINGS = (".svg", ".dxf")
OTHER = 1
"""Exit status where a file is not that of the sheet."""


def _known_paper(name: str) -> str:
    if name not in PAPERS:
        raise typer.BadParameter(f"{name}: allowed are {' and '.join(PAPERS)}")
    return name


def sheet(
    mold: MoldFile,
    other: Annotated[
        Path | None,
        typer.Argument(metavar="[OTHER.toml]", help="A second mold, to compare with."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Where to write it; by default NAME-sheet.pdf in this folder. FILE.svg or FILE.dxf"
            " holds the section alone, at true size.",
        ),
    ] = None,
    paper: Annotated[
        str, typer.Option(metavar="PAPER", callback=_known_paper, help="a4 or letter.")
    ] = "a4",
    html: Annotated[
        bool, typer.Option("--html", metavar="", help="Write HTML in place of PDF.")
    ] = False,
    inches: Inches = False,
    match: Annotated[
        str | None,
        typer.Option(
            metavar="SIGNS",
            help="Write nothing; say whether the file is the one of the sheet with these signs.",
        ),
    ] = None,
) -> int:
    """Write the bench sheet of a mold: pour, cut, close, fill, expect, on one side of paper."""
    if match is not None:
        return _match(mold, match)
    if out is not None and out.suffix.lower() in DRAWINGS:
        return _section(mold, other, out)
    html = html or (out is not None and out.suffix.lower() in (".html", ".htm"))
    path = out or Path(f"{_stem(mold, other)}-sheet.{'html' if html else 'pdf'}")
    if not writable([path], mold):
        return BAD_INPUT
    from squeeze.show.sheet.compare import compared
    from squeeze.show.sheet.html import as_html
    from squeeze.show.sheet.pdf import as_pdf
    from squeeze.show.start import CAUTION
    from squeeze.show.write import write_all

    made = _sheet_of(mold, inches)
    if other is not None:
        made = compared(made, _sheet_of(other, inches))
    data = as_html(made, paper).encode() if html else as_pdf(made, paper)
    write_all({path: partial(_put, data=data)})
    voice = Voice(path, inches=inches)
    voice.say(made.head, style="bold")
    voice.say_all(made.advice)
    voice.say(f"Wrote {path} on {paper.upper() if paper == 'a4' else 'Letter'}: {made.made_by}.")
    voice.say(CAUTION)
    return DONE


def _section(mold: Path, other: Path | None, out: Path) -> int:
    """Write the cross-section at true size; nothing is computed."""
    if other is not None:
        raise typer.BadParameter("a drawing holds one mold; give one file", param_hint="OTHER.toml")
    if not writable([out], mold):
        return BAD_INPUT
    from squeeze.mold import load, section_of
    from squeeze.mold.vents import vents_of
    from squeeze.show.start import CAUTION
    from squeeze.show.template.section import section_curves, section_dxf, section_svg
    from squeeze.show.write import write_all

    read = load(mold)
    section, title, vents = section_of(read), read.title or mold.name, vents_of(read)
    text = (section_svg if out.suffix.lower() == ".svg" else section_dxf)(section, title, vents)
    write_all({out: partial(_put, data=text.encode())})
    voice = Voice(out)
    voice.say(f"Wrote {out}: the section at true size, seen from the block's start.", style="bold")
    names = ", ".join(curve.name for curve in section_curves(section, vents))
    voice.say(f"{'Ids' if out.suffix.lower() == '.svg' else 'Layers'}: {names}.")
    voice.say(CAUTION)
    return DONE


def _match(path: Path, signs: str) -> int:
    """Say whether a file describes the mold of a sheet; status 1 when it does not."""
    from squeeze.mold import load
    from squeeze.show.sheet.contents import digest_of

    own = digest_of(load(path))
    same = re.sub(r"[^0-9a-z]", "", signs.lower()) == own.replace("-", "")
    said = "is the mold of that sheet" if same else f"is another mold: its sheet bears {own}"
    Voice().say(f"{path.name} {said}.", style="bold")
    return DONE if same else OTHER


def _stem(mold: Path, other: Path | None) -> str:
    return mold.stem if other is None else f"{mold.stem}-{other.stem}"


def _sheet_of(path: Path, inches: bool) -> Sheet:
    from datetime import date

    from squeeze.mold import load
    from squeeze.show.sheet.contents import sheet_of
    from squeeze.solve import refined
    from squeeze.verdict import judge
    from squeeze.verdict.air.pockets import filling_of
    from squeeze.verdict.uncertainty import uncertainty, varies

    read = load(path)
    with progress(f"Closing the cuts of {path.name}") as report:
        found = refined(read, progress=report)
        closing = found.closing
    varied = None
    if varies(closing):
        with progress("Varying rubber, friction and bands") as report:
            varied = uncertainty(found.block, closing, report, found.coarse)
    verdict = judge(closing, inches, read, varied)
    today = date.today().isoformat()
    filling = filling_of(read, path.parent)
    return sheet_of(
        read,
        closing,
        verdict,
        varied,
        file=path.name,
        date=today,
        inches=inches,
        filling=filling,
    )


def _put(path: Path, data: bytes) -> None:
    path.write_bytes(data)
