"""What the page hands out as a file: the bench sheet, the figure, templates for the saw."""

from __future__ import annotations

from base64 import b64encode
from datetime import date
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from squeeze.mold.progress import Progress
from squeeze.mold.vents import vents_of
from squeeze.page.answers.closed import Refused, closed, mold_in
from squeeze.show.figure.closing import figure, save
from squeeze.show.paper import PAPERS
from squeeze.show.sheet.contents import sheet_of
from squeeze.show.sheet.pdf import as_pdf
from squeeze.show.template.drawing import templates
from squeeze.show.template.dxf import NoDxf, as_dxf
from squeeze.show.template.pdf import template_pdf as templates_pdf
from squeeze.show.template.svg import as_svg
from squeeze.show.write import file_stems
from squeeze.verdict.air.pockets import filling_of

FORMS = ("pdf", "png", "svg")


def sheet(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the bench sheet as a PDF file, in base64.

    `asked` has the ``mold``, its ``name`` and ``folder``, the ``paper`` and ``inches``.
    """
    paper, inches = _paper(asked), asked.get("inches") is True
    found = closed(mold_in(asked), inches=inches, sure=True, progress=progress)
    name = asked.get("name")
    file = name if isinstance(name, str) and name else "drawn on the page"
    progress("Writing the sheet")
    folder = asked.get("folder")
    filling = filling_of(found.mold, Path(folder) if isinstance(folder, str) else None, inside=True)
    made = sheet_of(
        found.mold,
        found.closing,
        found.verdict,
        found.varied,
        file=file[:100],
        date=date.today().isoformat(),
        inches=inches,
        filling=filling,
    )
    return {"pdf": _base64(as_pdf(made, paper))}


def picture(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the figure of the closing as PDF, PNG or SVG, in base64.

    Raises
    ------
    Refused
        When it is asked for in another form.
    """
    form, inches = asked.get("form", "pdf"), asked.get("inches") is True
    if form not in FORMS:
        raise Refused(f"A figure is written as {', '.join(FORMS[:-1])} or {FORMS[-1]}.")
    found = closed(mold_in(asked), inches=inches, sure=True, progress=progress)
    progress("Drawing the figure")
    deformed = asked.get("deformed") is True
    drawn = figure(found.closing, found.verdict, deformed, inches, vents_of(found.mold))
    with TemporaryDirectory() as folder:
        path = Path(folder, f"figure.{form}")
        save(drawn, path)
        return {form: _base64(path.read_bytes())}


def sawing(asked: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Return the templates of the mold's cradle pieces in one ZIP file, in base64.

    `asked` has the ``mold`` and the ``paper``.

    Raises
    ------
    Refused
        When the mold has no cradle, or there is no such paper.
    """
    mold, paper = mold_in(asked), _paper(asked)
    if not mold.cradle:
        raise Refused("The mold has no cradle, so there is nothing to saw. Choose one first.")
    progress("Drawing the templates")
    made = templates(mold)
    files: dict[str, bytes] = {f"templates-{paper}.pdf": templates_pdf(made, paper)}
    left_out = ""
    for stem, template in zip(file_stems([each.name for each in made]), made, strict=True):
        files[f"{stem}.svg"] = as_svg(template).encode()
        try:
            files[f"{stem}.dxf"] = as_dxf(template).encode()
        except NoDxf as error:
            left_out = str(error)
    return {"zip": _base64(zipped(files)), "pieces": len(made), "say": left_out}


def zipped(files: dict[str, bytes]) -> bytes:
    """Return a ZIP file that holds some files; the same files give the same bytes."""
    made = BytesIO()
    with ZipFile(made, "w", ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(ZipInfo(name), data, ZIP_DEFLATED)
    return made.getvalue()


def _paper(asked: dict[str, Any]) -> str:
    paper = asked.get("paper", "a4")
    if paper not in PAPERS:
        raise Refused(f"There is no such paper; known are {' and '.join(PAPERS)}.")
    return paper


def _base64(data: bytes) -> str:
    return b64encode(data).decode()
