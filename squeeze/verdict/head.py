"""The head of an answer: the grade and why, what to do first, and how sure that is.

Every answer on how a mold closes begins with it: in the terminal, on the page, the figure and the
sheet, in the JSON, in the plan of bands and the comparison of cradles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from squeeze.mold.forces.bands import band_notes
from squeeze.mold.forces.loads import wrap_mm
from squeeze.mold.tables.mold import Mold
from squeeze.solve.closing import Closing, Land
from squeeze.verdict.casting.flash import FINE_MM, HAIRLINE_MM, Flash
from squeeze.verdict.cause import Cause, causes_of, pot_cause, resin_lifts
from squeeze.verdict.figures import Figures, times
from squeeze.verdict.film import MOST_MM
from squeeze.verdict.grade import (
    APART,
    CLEAN,
    FINE_LINE,
    FLASH,
    GOOD,
    GRADES,
    LEAKS,
    NO_ANSWER,
    SHUT_IN,
    STEP_FELT_MM,
    STEP_SEEN_MM,
    grade_of,
)
from squeeze.verdict.place import land_ends, where_on, widest_place
from squeeze.verdict.remarks import several_states, states_apart
from squeeze.verdict.seal.barrier import Seal
from squeeze.verdict.short_cuts import ShortCut, short_cuts
from squeeze.verdict.uncertainty import Uncertainty, in_common
from squeeze.verdict.unheld import only_cradles, say_unheld
from squeeze.verdict.words import (
    MM_PER_INCH,
    in_inches,
    length,
    length_with_error,
    pressure,
    reached,
)

NOTHING_TO_MEND = "There is nothing to mend."


@dataclass(frozen=True)
class Head:
    """The answer in a few lines.

    Attributes
    ----------
    grade : str
        One of `GRADES`.
    say : str
        The grade, why, where and how much.
    brief : str
        The grade, where and how much, without why: for small pictures.
    do : str
        What to do first.
    sure : str
        How sure that is; empty where nothing was varied.
    causes : tuple of Cause
        The causes found, the likeliest first; `do` is about the first one.
    good : bool
        There is nothing to mend, in any of the variations.
    """

    grade: str
    say: str
    brief: str
    do: str
    sure: str
    causes: tuple[Cause, ...]
    good: bool

    @property
    def lines(self) -> tuple[str, ...]:
        """What to print, a line each: first the grade, then what to do, then how sure."""
        if self.good:
            rest = " ".join(part for part in (self.do, self.sure) if part)
            return tuple(part for part in (self.say, rest) if part)
        return tuple(part for part in (self.say, self.do, self.sure) if part)


def head_of(
    closing: Closing,
    seal: Seal,
    flash: Flash,
    mold: Mold | None = None,
    varied: Uncertainty | None = None,
    inches: bool = False,
) -> Head:
    """Return the head of an answer.

    Parameters
    ----------
    closing : Closing
    seal : Seal
        Its barriers and leaks.
    flash : Flash
        Of its castings.
    mold : Mold, optional
        For its bands, its pot and the paths of its cuts, which the advice names.
    varied : Uncertainty, optional
        How the figures vary; without it nothing is said on how sure the grade is.
    inches : bool
        Give lengths in inches.
    """
    grade = grade_of(closing, seal, flash)
    lands = _troubled(grade, closing, seal)
    looked = grade in (LEAKS, FLASH, APART)
    causes = causes_of(closing, seal, lands, mold, inches) if looked else ()
    pot, brief = pot_cause(closing, mold), ""
    if grade == SHUT_IN:
        say, do = _shut_in(closing, seal, mold, inches)
    elif grade == APART:
        say, do = _apart(closing, causes, inches)
    elif grade == NO_ANSWER:
        say, do = closing.outcome.cause, closing.outcome.remedy
    elif not closing.lands:
        say, do = "no cut has rubber on both sides, so there is nothing to close.", ""
    else:
        brief = _symptom(grade, closing, seal, flash, lands, inches)
        say = f"{_small(causes[0].why)} So {brief}" if causes else brief
        do = causes[0].do if causes else _mend(grade, closing, mold)
    whole = f"{grade}: {say}"
    brief = f"{grade}: {brief or say}"
    if pot:
        whole, do = f"{whole} {pot[0].why}", f"{pot[0].do}{'' if grade in GOOD else f' {do}'}"
    doubt = " ".join(filter(None, (_unconfirmed(closing), _other_states(closing))))
    good = grade in GOOD and not pot and not doubt
    if good and _step(closing) >= STEP_FELT_MM:
        good, do = False, "The faces slide on each other: give the cut a key, or faces that grip."
    head = Head(grade, whole, brief, do, doubt, (*causes, *pot), good)
    if varied is None or grade in (SHUT_IN, APART, NO_ANSWER):
        return head
    return _with_variations(head, varied, inches)


def said_in_inches(head: Head) -> Head:
    """Return a head whose sentences tell lengths in inches and pressures in psi."""
    causes = tuple(
        replace(cause, why=in_inches(cause.why), do=in_inches(cause.do)) for cause in head.causes
    )
    told = {name: in_inches(getattr(head, name)) for name in ("say", "brief", "do", "sure")}
    return replace(head, causes=causes, **told)


def _troubled(grade: str, closing: Closing, seal: Seal) -> list[Land]:
    """Return the lands that have the trouble that the grade names."""
    if grade == LEAKS:
        return [land for land, leaky in zip(closing.lands, seal.leaky, strict=True) if leaky]
    if grade in (FLASH, FINE_LINE):
        return [land for land in closing.lands if _flash_on(land, closing)[0] >= HAIRLINE_MM]
    return []


def _flash_on(land: Land, closing: Closing) -> tuple[float, int]:
    """Return how wide a land stands open at a cavity [mm], and at which place."""
    ends = land_ends(land, closing.section)
    found = [(float(land.gap_mm[k]), k) for end, k in zip(ends, (0, -1), strict=True) if at(end)]
    return max(found, default=(0.0, 0))


def at(end: object) -> bool:
    """Return whether an end of a land lies at a cavity."""
    return getattr(end, "kind", "") == "cavity"


def _symptom(
    grade: str, closing: Closing, seal: Seal, flash: Flash, lands: Sequence[Land], inches: bool
) -> str:
    if grade == LEAKS:
        return _leaks(closing, seal, lands, inches)
    if grade == FLASH:
        return _flash(flash, inches)
    worst = max(closing.cavities, key=lambda cavity: cavity.step_mm, default=None)
    step = worst.step_mm if worst else 0.0
    if grade == FINE_LINE:
        line = max(flash.castings, key=lambda each: each.thickness_mm)
        parts = []
        if line.thickness_mm >= HAIRLINE_MM:
            thick = length(line.thickness_mm, inches)
            parts.append(f"'{line.cavity}' carries a line {thick} thick at a parting line")
        if worst is not None and step >= STEP_SEEN_MM:
            parts.append(f"'{worst.name}' has a step of {length(step, inches)} at its parting line")
        return f"{', and '.join(parts)}. Every land seals."
    weakest = seal.weakest
    hard = (
        "" if weakest is None else f" at {times(weakest.margin)} times the resin's pressure or more"
    )
    if not closing.section.cavities:
        return f"{_every(closing)} holds{hard}."
    return f"{_every(closing)} seals{hard}, and none stands open at a cavity."


def _step(closing: Closing) -> float:
    """Return the largest step at any parting line [mm]."""
    return max((cavity.step_mm for cavity in closing.cavities), default=0.0)


def _every(closing: Closing) -> str:
    return "the land" if len(closing.lands) == 1 else "every land"


def _leaks(closing: Closing, seal: Seal, lands: Sequence[Land], inches: bool) -> str:
    count, whole = len(lands), len(closing.lands)
    which = "the land" if whole == 1 else f"{count} of {whole} lands"
    s = "s" if count == 1 else ""
    gaping = [land for land in lands if land.largest_gap_mm >= HAIRLINE_MM]
    if gaping:
        land, k = widest_place(gaping)
        gap = f"{_gap(land, closing, inches)} open {where_on(land, k, closing, inches)}"
        return f"{which} let{s} resin through, up to {gap}."
    best = max(leak.barrier_kpa for leak in seal.leaks)
    shut = "it is shut, but presses" if count == 1 else "they are shut, but press"
    return (
        f"{which} let{s} resin through: {shut} {pressure(best)} where"
        f" {pressure(seal.needed_kpa)} is needed."
    )


def _flash(flash: Flash, inches: bool) -> str:
    worst = max(flash.castings, key=lambda each: each.thickness_mm)
    thick, deep = length(worst.thickness_mm, inches), length(worst.reach_mm, inches)
    said = f"'{worst.cavity}' carries {worst.grade}, {thick} thick and {deep} deep"
    if flash.to_clean_mm is not None and flash.parting_line_mm is not None:
        clean, whole = (length(v, inches) for v in (flash.to_clean_mm, flash.parting_line_mm))
        said += f"; {clean} of {whole} of parting line need cleaning"
    return f"{said}. Every land seals."


def _mend(grade: str, closing: Closing, mold: Mold | None) -> str:
    """Say what to do where no cause stands out: of good grades, to mind bands of a poor stretch."""
    if grade in GOOD:
        notes = [] if mold is None else band_notes(mold, wrap_mm(closing.section))
        return " ".join(notes) or NOTHING_TO_MEND
    return "Change the outline, add a cradle, or move the cut; --advise tries each."


def _shut_in(closing: Closing, seal: Seal, mold: Mold | None, inches: bool) -> tuple[str, str]:
    """Say what no cut opens, and which cut would."""
    if seal.unreached:
        names = _listed(seal.unreached)
        it = "it" if len(seal.unreached) == 1 else "each of them"
        say = f"no cut reaches {names}, so nothing can be poured in through the cuts or taken out."
        return say, f"Lead a cut from the outside through {it}."
    ends = [end for end in short_cuts(closing.section)]
    names = _listed(seal.locked)
    if not ends:
        return f"the cuts of {names} do not lead to the outside.", "Lead a cut to the outside."
    short = min(ends, key=lambda end: end.short_mm)
    say = (
        f"the cut '{short.cut}' ends in rubber, {length(short.short_mm, inches)} short of the"
        f" outside, and no other cut leads out of {names}."
    )
    return say, _carry_on(ends, mold, inches)


def _carry_on(ends: Sequence[ShortCut], mold: Mold | None, inches: bool) -> str:
    """Say where the cut that stops short has to begin and end."""
    cut = min(ends, key=lambda end: end.short_mm).cut
    own = [end for end in ends if end.cut == cut]
    scale, unit = (1 / MM_PER_INCH, "in") if inches else (1.0, "mm")
    words = [
        f"{'begin' if e.at_start else 'end'} its path at"
        f" [{e.out_mm[0] * scale:.4g}, {e.out_mm[1] * scale:.4g}] {unit}"
        for e in own
    ]
    return f"Carry the cut '{cut}' on to the outside: {' and '.join(words)}."


def _listed(names: Sequence[str]) -> str:
    quoted = [f"'{name}'" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def _apart(closing: Closing, causes: Sequence[Cause], inches: bool) -> tuple[str, str]:
    if closing.outcome.has_answer:
        widest = max(closing.lands, key=lambda land: land.largest_gap_mm)
        what = f"The faces stand {_gap(widest, closing, inches)} apart."
    else:
        what = say_unheld(closing.trust.pieces, inches, closing.section.cradles)
    if causes:
        return f"{_small(causes[0].why)} {what}", causes[0].do
    if resin_lifts(closing) > 0:
        what += " The resin pushes them apart."
    if not closing.outcome.has_answer and only_cradles(closing):
        return _small(what), DRAGGED if closing.loads.grips else SLIDES
    return _small(
        what
    ), closing.outcome.remedy or "Press the pieces together with bands or a clamp."


DRAGGED = "Let the bands slide on the cradle's backs, or give its seats more friction."
SLIDES = "Give the cradle's seats friction, so that its pieces do not slide round the block."
"""What to do where nothing but pieces of a cradle is loose, with bands that rub and without."""


def _gap(land: Land, closing: Closing, inches: bool) -> str:
    """Return how wide a land stands open, with its error where that shows."""
    error = 0.0
    if closing.errors is not None:
        error = closing.errors.lands[closing.lands.index(land)].gap_mm
    return length_with_error(land.largest_gap_mm, error, inches)


def _small(text: str) -> str:
    """Return a sentence to stand after a colon."""
    return text[0].lower() + text[1:] if text else text


def _unconfirmed(closing: Closing) -> str:
    """Say that the answer at large deformation is missing; empty where it is not needed."""
    how = closing.deformation
    if how.outcome is None or how.is_large or not closing.outcome.has_answer:
        return ""
    return (
        f"Not sure: at large deformation the calculation {reached(how.share)}. {how.outcome.cause}"
    )


STATES_APART = 0.05
"""Share of the largest pressure by which other states of friction differ before the head says so; a
judgement. Gaps count from `HAIRLINE_MM` on."""


def _other_states(closing: Closing) -> str:
    """Say that the faces can rest otherwise, where that shows; else nothing."""
    gap_mm, kpa = states_apart(closing)
    top = max((float(land.pressure_kpa.max()) for land in closing.lands), default=0.0)
    return several_states(closing) if gap_mm >= HAIRLINE_MM or kpa > STATES_APART * top else ""


def _with_variations(head: Head, varied: Uncertainty, inches: bool) -> Head:
    """Add how sure the grade is; where variations have no answer a good one does not stand."""
    each = [one.figures for one in varied.variations]
    count, lost = len(each), varied.unsolved
    sure = _sure(head.grade, varied)
    if varied.film_limit_mm is not None:
        sure += f" {_film(varied.film_limit_mm, inches)}"
    sure = f"{head.sure} {sure}" if head.sure else sure
    if lost and head.grade in GOOD:
        which = in_common(varied, lambda figures: not figures.solved)
        with_it = f", those with {which}" if which else ""
        say = f"{APART} in {lost} of {count} variations{with_it}. As given: {head.say}"
        do = "Press on every piece with bands, a push or a cradle, or give the cut a key."
        return replace(head, grade=APART, say=say, do=do, sure=sure, good=False)
    bad = [figures for figures in each if figures.grade not in GOOD]
    do = head.do
    if bad and head.good:
        do = _margin(in_common(varied, lambda figures: figures.grade not in GOOD))
    return replace(head, do=do, sure=sure, good=head.good and not bad)


MARGINS = {
    "slack bands": "Pull a little harder: with slack bands it no longer holds.",
    "tight bands": "Do not pull harder: with tight bands it gets worse.",
    "low friction": "Do not count on grip: keep release agent and talc off, or press harder.",
    "high friction": "Let the faces slide: talc or a little release agent helps here.",
    "soft rubber": "Measure the rubber's hardness: with softer rubber it no longer holds.",
    "stiff rubber": "Measure the rubber's hardness: with stiffer rubber it no longer holds.",
}
"""What to do where some variations lose the good grade, by what these have in common."""


def _margin(common: str) -> str:
    """Return what to do where a good grade does not hold in all variations."""
    known = [text for word, text in MARGINS.items() if word in common]
    return known[0] if known else "Leave more margin: pull a little harder, or bevel more."


def _film(limit_mm: float, inches: bool) -> str:
    """Say how thick the film may be."""
    if limit_mm >= MOST_MM:
        return f"No film up to {length(MOST_MM, inches)} makes a land leak."
    return f"The film may be {length(limit_mm, inches)} thick before a land leaks."


def _sure(grade: str, varied: Uncertainty) -> str:
    each = [one.figures for one in varied.variations]
    count = len(each)
    if friction := _friction_decides(varied):
        return friction
    alike = sum(_kind(figures.grade) == _kind(grade) for figures in each)
    if alike == count:
        return f"The same in all {count} variations of rubber, friction and bands."
    other = [f.grade for f in each if _kind(f.grade) != _kind(grade)]
    worst = max(other, key=GRADES.index)
    which = in_common(varied, lambda figures: _kind(figures.grade) != _kind(grade))
    tips = f", with {which}" if which else ""
    return (
        f"How sure: the same in {alike} of {count} variations of rubber, friction and bands; it"
        f" {VERBS[worst]} in {_many(other, worst)}{tips}."
    )


def _many(grades: Sequence[str], worst: str) -> str:
    same = grades.count(worst)
    return f"{same}" if same == len(grades) else f"{same} of the {len(grades)} others"


def _kind(grade: str) -> str:
    """Return the grade; a fine line counts as clean."""
    return CLEAN if grade in GOOD else grade


VERBS = {
    CLEAN: "is clean",
    FINE_LINE: "leaves a fine line",
    FLASH: "flashes",
    LEAKS: "leaks",
    APART: "comes apart",
    SHUT_IN: "cannot be opened",
    NO_ANSWER: "has no answer",
}
"""What a mold of each grade does."""


def _friction_decides(varied: Uncertainty) -> str:
    """Say what slippery and what gripping faces give, where that is what differs; else nothing."""
    low, high = (
        [one.figures for one in varied.variations if one.friction == word]
        for word in ("low", "high")
    )
    ends = [max((f.grade for f in side), key=GRADES.index) for side in (low, high)]
    kinds = [{_kind(f.grade) for f in side} for side in (low, high)]
    if not low or not high or kinds[0] & kinds[1]:
        return ""
    slippery = f"{VERBS[ends[0]]} when the faces are slippery (release agent, talc)"
    if ends[1] == LEAKS:
        grips = "is shut, but not sealed," if _shut(high) else "leaks"
    else:
        grips = VERBS[ends[1]]
    return f"Friction decides: it {slippery}; it {grips} when they grip (clean, dry faces)."


def _shut(figures: Sequence[Figures]) -> bool:
    return all(each.largest_gap_mm < FINE_MM for each in figures)
