"""Why a casting flashed: which of the things that nobody knows closely would explain it.

One thing at a time is moved away from what the mold says, as far as it takes until the flash is as
thick as it was. What has to be off by little for what is usual explains it best.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from squeeze.mold import BadInput, Fault, Mold, mold_of, section_of
from squeeze.mold.faces import FACES
from squeeze.mold.file.mold_file import dict_of
from squeeze.mold.forces.band_sizes import SIZES
from squeeze.mold.progress import Progress, silent
from squeeze.mold.rubber import SPREAD, material
from squeeze.solve.block import Block
from squeeze.verdict.casting.flash import flash_of
from squeeze.verdict.place import TOUCH_MM
from squeeze.verdict.seal.land_graph import parts_of
from squeeze.verdict.words import length

WORDS = {"fine line": 0.03, "can feel it": 0.1, "thick as card": 0.3}
"""Thickness of flash by how it is told [mm]; a judgement."""

LIKELY, POSSIBLE = 1.0, 2.0
"""Off by less than so many times what is usual."""

STEPS = 6
"""Halvings in the search for how far a thing has to be off."""

FINENESS = 0.7
"""Of the mesh: coarse, for the question is which cause, not how many hundredths."""


@dataclass(frozen=True)
class Explanation:
    """One thing that may have been off.

    Attributes
    ----------
    kind : str
        ``slack bands``, ``soft rubber``, ``slippery faces``, ``gap``, ``bow``, ``head``, ``film``
        or ``shift``.
    off : float or None
        How far it has to be off, in units of its own; None when no amount that was tried does.
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
    flash_mm, told_mm : float
        As thick as it was, and as the model tells it for the mold as the file has it.
    at : str
        The casting, or empty for any.
    found : tuple of Explanation
        The most plausible first.
    """

    flash_mm: float
    told_mm: float
    at: str
    found: tuple[Explanation, ...]

    @property
    def say(self) -> str:
        """The answer in one sentence."""
        where = f" on '{self.at}'" if self.at else ""
        if self.told_mm >= self.flash_mm:
            return (
                f"Nothing had to be off: as the file has it, the mold leaves"
                f" {length(self.told_mm)}{where} already. See squeeze close."
            )
        best = self.found[0]
        if best.off is None:
            return f"None of these alone leaves {length(self.flash_mm)}{where}; look for two."
        unlikely = best.word == "unlikely"
        lead = "Nothing here is likely. The least unlikely" if unlikely else "Likeliest"
        return f"{lead}{where}: {best.say[0].lower()}{best.say[1:]}"


@dataclass(frozen=True)
class _Suspect:
    kind: str
    usual: float
    most: float
    change: Callable[[float], Mold]
    say: Callable[[float], str]
    test: str


def thickness_of(text: str) -> float:
    """Return the thickness of flash from a number in mm or from words [mm].

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
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 < value <= 10:
        words = ", ".join(f'"{word}"' for word in WORDS)
        raise BadInput(
            [Fault("--flash", f'"{text}" came; give mm over 0 and up to 10, or {words}')]
        )
    return value


def why(mold: Mold, flash_mm: float, at: str = "", progress: Progress = silent) -> Why:
    """Return what may have caused flash of a thickness.

    Parameters
    ----------
    mold : Mold
    flash_mm : float
    at : str
        Name of the casting that has it; any unless given.
    progress : Progress
        Told what is tried.

    Raises
    ------
    BadInput
        When no cavity has that name, or the mold cannot be computed.
    """
    names = [cavity.name for cavity in mold.cavity]
    if at and at not in names:
        raise BadInput([Fault("--at", f'no cavity is called "{at}"; there are {", ".join(names)}')])
    told = _flash(mold, at)
    found = []
    if told < flash_mm:
        for suspect in _suspects(mold, at):
            progress(suspect.kind)
            found.append(_explanation(suspect, flash_mm, at))
    found.sort(key=lambda each: (each.times_usual, -each.flash_mm))
    return Why(flash_mm, told, at, tuple(found))


def _flash(mold: Mold, at: str) -> float:
    """Return the flash on a casting [mm]; as thick as you like where the block comes apart."""
    closing = Block(mold, FINENESS).close(deformation="auto", check=False)
    if not closing.outcome.has_answer:
        return float("inf")
    castings = flash_of(closing, mold).castings
    return max((c.thickness_mm for c in castings if not at or c.cavity == at), default=0.0)


def _explanation(suspect: _Suspect, flash_mm: float, at: str) -> Explanation:
    most = _flash(suspect.change(suspect.most), at)
    if most < flash_mm:
        say = f"{suspect.say(suspect.most)} would leave {length(most)} only."
        return Explanation(suspect.kind, None, suspect.usual, say, suspect.test, most)
    low, high, value = 0.0, suspect.most, most
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        there = _flash(suspect.change(middle), at)
        if there >= flash_mm:
            high, value = middle, there
        else:
            low = middle
    say = f"{suspect.say(high)} would do it."
    return Explanation(suspect.kind, high, suspect.usual, say, suspect.test, value)


def _suspects(mold: Mold, at: str) -> Iterator[_Suspect]:
    """Yield what may be off, with how much is usual. Sources and judgements: docs/why.md."""
    data = dict_of(mold)
    if mold.band:
        yield _Suspect(
            "slack bands",
            0.2,
            0.8,
            lambda off: mold_of(data | {"band": [_weaker(band, 1 - off) for band in data["band"]]}),
            lambda off: f"Bands that pull {100 * off:.0f} % less than reckoned",
            "Hang a band on a scale, stretched as it is round the block, and read its pull.",
        )
    E = material(mold.rubber).youngs_modulus_mpa
    rubber = {k: v for k, v in data["rubber"].items() if k not in ("shore_a", "youngs_modulus_mpa")}
    yield _Suspect(
        "soft rubber",
        SPREAD,
        0.7,
        lambda off: mold_of(
            data | {"rubber": rubber | {"youngs_modulus_mpa": max(0.05, E * (1 - off))}}
        ),
        lambda off: f"Rubber {100 * off:.0f} % softer than its hardness says",
        "Press a Shore A gauge on the cured block, in three places.",
    )
    if any(cut.coefficient for cut in mold.cut):
        yield _Suspect(
            "slippery faces",
            0.5,
            1.0,
            lambda off: _cuts(mold, lambda cut: _slippery(cut, off)),
            lambda off: f"Faces that grip {100 * off:.0f} % less (release agent, talc)",
            "Put a drop of water on a face: it runs off release agent. Wipe it with alcohol.",
        )
    yield from _of_cuts(mold, at)
    if mold.resin is not None:
        key = "head_mm" if mold.resin.head_mm is not None else "pressure_kpa"
        resin = data["resin"]
        yield _Suspect(
            "head",
            0.3,
            4.0,
            lambda off: mold_of(data | {"resin": resin | {key: resin[key] * (1 + off)}}),
            lambda off: f"Resin that presses {100 * off:.0f} % harder, such as from a taller sprue",
            "Measure from the casting up to the top of the liquid resin.",
        )


def _of_cuts(mold: Mold, at: str) -> Iterator[_Suspect]:
    places = _mouths(mold, at)
    yield _Suspect(
        "gap",
        0.1,
        1.0,
        lambda off: _cuts(mold, lambda cut: _hollow(cut, places.get(cut["name"], ()), off)),
        lambda off: f"A cut {length(off)} out of true beside the casting, over {2 * WIDE_MM:g} mm",
        "Close the block without bands and hold it against a lamp: does light come through?",
    )
    yield _Suspect(
        "bow",
        0.2,
        2.0,
        lambda off: _cuts(mold, lambda cut: cut | {"bow_mm": cut.get("bow_mm", 0.0) + off}),
        lambda off: f"Lands hollow by {length(off)} in their middle (shrinkage, springy rubber)",
        "Lay a steel rule along a face of the cut: does it rock, or is there light under it?",
    )
    spans = _outer_halves(mold, at)
    if spans:
        yield _Suspect(
            "film",
            0.1,
            1.0,
            lambda off: _cuts(
                mold,
                lambda cut: (
                    cut | {"film_mm": off, "film_at_mm": spans[cut["name"]]}
                    if cut["name"] in spans
                    else cut
                ),
            ),
            lambda off: f"Glue, old flash or dirt, {length(off)} thick, on a land beside it",
            "Run a fingertip along both faces; peel off what feels hard or shines.",
        )
    if any(len(cut.path_mm) > 2 for cut in mold.cut):
        yield _Suspect(
            "shift",
            0.2,
            2.0,
            lambda off: _cuts(mold, lambda cut: _shifted(cut, off)),
            lambda off: (
                f"Pieces shifted by {length(off)} along the cut, so that its bends stand open"
            ),
            "Feel for a step across the parting line: a shift leaves one as large.",
        )


def _cuts(mold: Mold, change: Callable[[dict], dict]) -> Mold:
    data = dict_of(mold)
    return mold_of(data | {"cut": [change(cut) for cut in data["cut"]]})


def _weaker(band: dict, times: float) -> dict:
    """Return a band that pulls `times` as hard: a tension, or a count of bands of the same size."""
    for key in ("tension_n_per_mm", "tension_n"):
        if key in band:
            return band | {key: band[key] * times}
    if "stock" in band:
        size = SIZES[str(band["stock"])]
        own = {"width_mm": size.width_mm, "thickness_mm": size.thickness_mm}
        band = {k: v for k, v in band.items() if k != "stock"} | own
        band["flat_length_mm"] = size.flat_length_mm
    return band | {"width_mm": max(0.5, band["width_mm"] * times)}


def _slippery(cut: dict, off: float) -> dict:
    friction = FACES[cut["faces"]].friction if cut.get("faces") else cut.get("friction", 0.0)
    rest = {key: value for key, value in cut.items() if key != "faces"}
    return rest | {"friction": friction * (1 - off)}


WIDE_MM = 10.0
"""A cut out of true is hollow so far to both sides of its deepest place [mm]; a judgement."""

SAMPLES = 201
"""Places of a gap that is spread along a path."""


def _hollow(cut: dict, places: Sequence[float], off: float) -> dict:
    """Return a cut that is hollow round places of its path. An even gap would just close."""
    s, own = _gap_along(cut)
    away = np.abs(s[:, None] - np.array(places, float)).min(axis=1, initial=np.inf)
    return cut | {"gap_mm": [float(v) for v in own + off * np.clip(1 - away / WIDE_MM, 0, 1)]}


def _gap_along(cut: dict) -> tuple[np.ndarray, np.ndarray]:
    """Return places along a cut's path [mm] and the gap that it has there [mm]."""
    steps = np.diff(np.array(cut["path_mm"], float), axis=0)
    s = np.linspace(0.0, float(np.hypot(*steps.T).sum()), SAMPLES)
    given = np.resize(cut.get("gap_mm", 0.0), max(np.size(cut.get("gap_mm", 0.0)), 2))
    return s, np.interp(s / s[-1], np.linspace(0.0, 1.0, len(given)), given)


def _mouths(mold: Mold, at: str) -> dict[str, list[float]]:
    """Return, by cut, how far along its path it runs into the casting [mm]."""
    section = section_of(mold)
    loops = [c.loop for c in section.cavities if not at or c.name == at]
    found: dict[str, list[float]] = {}
    for cut in section.cuts:
        for stretch in cut.stretches:
            ends = np.array([stretch.points[0], stretch.points[-1]])
            length_mm = float(np.hypot(*np.diff(np.array(stretch.points), axis=0).T).sum())
            for k, s in enumerate((stretch.start_mm, stretch.start_mm + length_mm)):
                if any(float(loop.distances(ends[k : k + 1])[0]) < TOUCH_MM for loop in loops):
                    found.setdefault(cut.name, []).append(s)
    return found


def _shifted(cut: dict, off: float) -> dict:
    """Return a cut whose flanks stand open that a shift along it draws apart."""
    path = np.array(cut["path_mm"], float)
    steps = np.diff(path, axis=0)
    whole = path[-1] - path[0]
    along = whole / max(float(np.hypot(*whole)), 1e-9)
    lengths = np.hypot(*steps.T)
    leans = (along[0] * steps[:, 1] - along[1] * steps[:, 0]) / lengths
    s, own = _gap_along(cut)
    which = np.clip(np.searchsorted(np.cumsum(lengths), s), 0, len(lengths) - 1)
    opens = np.maximum(leans[which], 0.0) * off
    return cut | {"gap_mm": [float(v) for v in own + opens]}


def _outer_halves(mold: Mold, at: str) -> dict[str, list[float]]:
    """Return, by cut, the half of a land at the casting that lies away from it, along the path."""
    section = section_of(mold)
    closing = Block(mold, FINENESS).close(check=False)
    spans: dict[str, list[float]] = {}
    for part in parts_of(closing.lands, section):
        cavities = [n.name for n in (part.start, part.end) if n.kind == "cavity"]
        if not cavities or (at and at not in cavities):
            continue
        land = closing.lands[part.land]
        cut = next(c for c in section.cuts if c.name == land.cut)
        begin = cut.stretches[land.land].start_mm + float(part.s_mm[0])
        end, middle = begin + part.length_mm, begin + 0.5 * part.length_mm
        at_start = part.start.kind == "cavity"
        spans.setdefault(land.cut, [middle, end] if at_start else [max(begin, 0.0), middle])
    return spans
