"""What stands on a bench sheet: one record, made from the mold and what was found out about it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

from squeeze import __version__
from squeeze.mold import Mold, dump, section_of
from squeeze.show.sheet.parts import Row, Step, Unit
from squeeze.show.sheet.steps.close import close_parts
from squeeze.show.sheet.steps.cut import cut_parts
from squeeze.show.sheet.steps.expect import expect_parts
from squeeze.show.sheet.steps.fill import fill_parts
from squeeze.show.sheet.steps.pour import pour_parts
from squeeze.solve.closing import Closing
from squeeze.verdict import Verdict
from squeeze.verdict.air.pockets import Filling, air_in, filling_of
from squeeze.verdict.quantities import quantities_of
from squeeze.verdict.uncertainty import Uncertainty
from squeeze.verdict.words import in_inches

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
    filling: Filling | None = None,
) -> Sheet:
    """Return the contents of a mold's bench sheet.

    Parameters
    ----------
    mold : Mold
    closing : Closing
    verdict : Verdict
        Sentences in the same unit.
    varied : Uncertainty, optional
        For how sure it is.
    file, date : str
        As they stand on the sheet.
    inches : bool
        Give lengths in inches.
    filling : Filling, optional
        What air is looked for in; the mold's sections unless given.
    """
    quantities, section = quantities_of(mold), section_of(mold)
    air = air_in(mold, filling or filling_of(mold))
    unit = Unit(inches)
    head, *advice = verdict.head.lines
    sheet = Sheet(
        title=mold.title or file,
        head=head,
        advice=tuple(advice),
        steps=(
            Step("Pour", (*pour_parts(mold, section, quantities, air, unit),)),
            Step("Cut", (*cut_parts(mold, section, unit),)),
            Step("Close", (*close_parts(mold, section, closing, unit),)),
            Step("Fill", (*fill_parts(mold, quantities, air, unit),)),
            Step("Expect", (*expect_parts(closing, verdict, varied, unit),)),
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
