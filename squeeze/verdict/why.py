"""Why a casting flashed: which of the things that nobody knows closely would explain it.

One thing at a time is moved away from what the mold says, as far as it takes until the flash is as
thick as it was. What has to be off by little for what is usual explains it best.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from squeeze.mold import BadInput, Fault, Mold
from squeeze.mold.progress import Progress, silent
from squeeze.solve import refined
from squeeze.solve.block import Block
from squeeze.solve.closing import Closing
from squeeze.verdict.casting.flash import HAIRLINE_MM, flash_of
from squeeze.verdict.grade import APART, LEAKS, NO_ANSWER, SHUT_IN
from squeeze.verdict.section_verdict import judge
from squeeze.verdict.suspects import FINENESS, Suspect, suspects
from squeeze.verdict.words import length, read_length

WORDS = {"fine line": 0.03, "can feel it": 0.1, "thick as card": 0.3}
"""Thickness of flash behind each word [mm]; a judgement."""

LIKELY, POSSIBLE = 1.0, 2.0
"""Off by less than so many times what is usual."""

MOSTLY = 0.5
"""Where the mold as the file has it leaves so much of the flash, the answer begins with that."""

BROKEN = (APART, SHUT_IN, NO_ANSWER)
"""Grades of a mold about which it makes no sense to ask where flash came from."""

SHARES = ("slack bands", "soft rubber", "slippery faces", "head")
"""Kinds that are off by a share of what the file says; the others are off by a length."""

STEPS = 6
"""Halvings in the search for how far a thing has to be off."""


@dataclass(frozen=True)
class Explanation:
    """One thing that may have been off.

    Attributes
    ----------
    kind : str
        ``slack bands``, ``soft rubber``, ``slippery faces``, ``gap``, ``bow``, ``head``, ``film``
        or ``shift``.
    off : float or None
        How far it has to be off [mm], or as a share of what the file says for the kinds in
        `SHARES`; None when no amount that was tried does.
    usual : float
        By how much it usually is off, in the same units.
    say : str
        What had to be so, in one sentence.
    test : str
        The cheapest test at the bench.
    flash_mm : float
        The flash there with that, or with the most that was tried.
    """

    kind: str
    off: float | None
    usual: float
    say: str
    test: str
    flash_mm: float

    @property
    def times_usual(self) -> float:
        """How far it has to be off, over what is usual; infinite where no amount does."""
        return np.inf if self.off is None else self.off / self.usual

    @property
    def unit(self) -> str:
        """Of `off` and `usual`: ``share`` or ``mm``."""
        return "share" if self.kind in SHARES else "mm"

    def say_usual(self, inches: bool = False) -> str:
        """Return by how much it usually is off, in words.

        Examples
        --------
        >>> Explanation("head", 0.4, 0.3, "", "", 0.2).say_usual()
        '30 %'
        >>> Explanation("bow", 0.4, 0.2, "", "", 0.2).say_usual()
        '0.20 mm'
        """
        if self.unit == "share":
            return f"{100 * self.usual:.0f} %"
        return length(self.usual, inches)

    @property
    def word(self) -> str:
        """How plausible that is: likely, possible, unlikely, or no explanation."""
        if self.off is None:
            return "does not explain it"
        if self.times_usual < LIKELY:
            return "likely"
        return "possible" if self.times_usual < POSSIBLE else "unlikely"


@dataclass(frozen=True)
class Why:
    """What may have caused the flash.

    Attributes
    ----------
    flash_mm, computed_mm : float
        As thick as it was, and as computed for the mold as the file has it.
    at : str
        The casting, or empty for any.
    found : tuple of Explanation
        The most plausible first.
    own, do : str
        The grade of the mold as the file has it, and what to do about it first.
    inches : bool
        Whether lengths are said in inches.
    """

    flash_mm: float
    computed_mm: float
    at: str
    found: tuple[Explanation, ...]
    own: str = ""
    do: str = ""
    inches: bool = False

    @property
    def say(self) -> str:
        """The answer in one sentence or two."""
        where = f" on '{self.at}'" if self.at else ""
        if self.own.startswith(BROKEN):
            return f"Mend the mold first. {self.own} {self.do}"
        if self.computed_mm >= self.flash_mm:
            return (
                f"Nothing had to be off: with everything as in the file, the mold already leaves"
                f" {length(self.computed_mm, self.inches)}{where}. {self.own} {self.do}"
            )
        said = f"{self._own(where)}{self._best(where)}"
        return said[0].upper() + said[1:]

    def _own(self, where: str) -> str:
        """Say what of the flash is the mold's own, where that is most of it."""
        if self.own.startswith(LEAKS):
            return f"{self.own} {self.do} As for the flash, "
        if self.computed_mm < MOSTLY * self.flash_mm:
            return ""
        thick = length(self.computed_mm, self.inches)
        return (
            f"The mold itself leaves {thick} of that{where}, with everything as in the file."
            f" {self.do} For the rest, "
        )

    def _best(self, where: str) -> str:
        best = self.found[0]
        if best.off is None:
            thick = length(self.flash_mm, self.inches)
            return f"none of these alone leaves {thick}{where}; look for two together."
        unlikely = best.word == "unlikely"
        lead = "none of these is likely. The nearest" if unlikely else "likeliest"
        return f"{lead}{where}: {best.say[0].lower()}{best.say[1:]} {best.test}"


def thickness_of(text: str, inches: bool = False) -> float:
    """Return the thickness of flash that `text` gives: a number in mm or inches, or words [mm].

    Inches may be fractions: ``1/64``.

    Raises
    ------
    BadInput
        When it is neither.

    Examples
    --------
    >>> thickness_of("0.2"), thickness_of("thick as card")
    (0.2, 0.3)
    """
    if text in WORDS:
        return WORDS[text]
    value = read_length(text, inches)
    if not 0 < value <= 10:
        words = ", ".join(f'"{word}"' for word in WORDS)
        most = "inches over 0 and up to 0.39" if inches else "mm over 0 and up to 10"
        raise BadInput([Fault("--flash", f'"{text}" given; give {most}, or {words}')])
    return value


def why(
    mold: Mold,
    flash_mm: float,
    at: str = "",
    progress: Progress = silent,
    inches: bool = False,
) -> Why:
    """Return what may have caused flash of a thickness.

    Parameters
    ----------
    mold : Mold
    flash_mm : float
    at : str
        Name of the casting that has it; any unless given.
    progress : Progress
        Called with what is tried.

    Raises
    ------
    BadInput
        When no cavity has that name, or the mold cannot be computed.
    """
    names = [cavity.name for cavity in mold.cavity]
    if at and at not in names:
        raise BadInput([Fault("--at", f'no cavity is called "{at}"; there are {", ".join(names)}')])
    progress("the mold as the file has it")
    closing = refined(mold, deformation="auto", progress=progress).closing
    head = judge(closing, inches, mold).head
    computed = _thickest(closing, mold, at)
    found = []
    if computed < flash_mm and head.grade not in BROKEN:
        coarse = _flash(mold, at) - computed
        tried = list(suspects(mold, at, inches))
        for done, suspect in enumerate(tried):
            progress(suspect.kind, done / len(tried))
            found.append(_explanation(suspect, flash_mm, at, coarse, inches))
    found.sort(key=lambda each: (each.times_usual, -each.flash_mm))
    return Why(flash_mm, computed, at, tuple(found), head.say, head.do, inches)


def _flash(mold: Mold, at: str, coarse_mm: float = 0.0) -> float:
    """Return the flash on a casting [mm]; as thick as you like where the block comes apart.

    It is computed on a coarse mesh; by `coarse_mm` [mm] that has too much of it.
    """
    closing = Block(mold, FINENESS).close(deformation="auto", check=False)
    return max(_thickest(closing, mold, at) - coarse_mm, 0.0)


def _thickest(closing: Closing, mold: Mold, at: str) -> float:
    if not closing.outcome.has_answer:
        return float("inf")
    castings = flash_of(closing, mold).castings
    return max((c.thickness_mm for c in castings if not at or c.cavity == at), default=0.0)


def _explanation(
    suspect: Suspect, flash_mm: float, at: str, coarse_mm: float, inches: bool = False
) -> Explanation:
    most = _flash(suspect.change(suspect.most), at, coarse_mm)
    if most < flash_mm:
        leaves = f"only {length(most, inches)}" if most >= HAIRLINE_MM else "no flash"
        say = f"{suspect.say(suspect.most)} would leave {leaves}."
        return Explanation(suspect.kind, None, suspect.usual, say, suspect.test, most)
    low, high, value = 0.0, suspect.most, most
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        there = _flash(suspect.change(middle), at, coarse_mm)
        if there >= flash_mm:
            high, value = middle, there
        else:
            low = middle
    say = f"{suspect.say(high)} would do it."
    return Explanation(suspect.kind, high, suspect.usual, say, suspect.test, value)
