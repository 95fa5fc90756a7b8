"""The fewest bands that make every land hold over the block's whole length, and where they go.

Numbers of bands are tried upwards, evenly spread; where an even spread just misses, and once more
when a number is found, bands are moved as long as that pays. What is tried is a whole contact solve
each time; a block is factorised once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import cast

from squeeze.mold import Mold
from squeeze.mold.progress import Progress, silent
from squeeze.solve.along.loads import even_places, smeared_of
from squeeze.solve.along.pitch import PitchRule, pitch_rule
from squeeze.solve.along.record import AlongClosing, end_effects
from squeeze.solve.along.stations import StationBlock, station_blocks
from squeeze.solve.land import Land
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.bands.kinds import BandKind, band_kinds, kinds_in_stock
from squeeze.verdict.bands.layout import SLACK, BandLayout, as_slack
from squeeze.verdict.grade import GRADES
from squeeze.verdict.head import Head
from squeeze.verdict.seal.barrier import MARGIN, locked_of, unreached_of
from squeeze.verdict.seal.land_graph import parts_of
from squeeze.verdict.section_verdict import judge

MOST_BANDS = 60
MOST_WORK = 8e9
"""Multiplications after which no further layout is tried; about half a minute.

What counts is the matrices of all waves, applied as often as the contact on the parting plane asks
for; most molds need a hundredth of it. The count does not depend on how busy the machine is."""

NEAR = 0.6
"""An even spread that reaches this share of the margin is worth moving."""

PAYS = 1.05
"""Moving bands has to raise the margin by this factor to be advised."""

_STEPS = (0.2, 0.1)  # by which a band is moved, over the pitch


@dataclass(frozen=True, eq=False)
class KindResult:
    """The result for one kind of band.

    Attributes
    ----------
    kind : BandKind
    found : BandLayout or None
        The fewest that hold; None when no number does.
    most : int
        How many fit side by side, or were tried.
    limit : BandLayout
        As many as that, spread over the length: the best that this kind can do.
    stopped_at : int or None
        The last number of bands that was tried, where the work allowed was used up before all were.
    """

    kind: BandKind
    found: BandLayout | None
    most: int
    limit: BandLayout
    stopped_at: int | None = None


@dataclass(frozen=True, eq=False)
class BandPlan:
    """How many bands, where, and why.

    Attributes
    ----------
    mold : Mold
    stretches : tuple of StationBlock
    best : BandLayout or None
        The fewest bands that hold; None when nothing is cut, or no number does.
    even : BandLayout or None
        As many, evenly spread; the same as `best` where moving did not pay.
    less, more : BandLayout or None
        One band less and one more, evenly spread.
    given : BandLayout or None
        The mold's own bands as it puts them.
    tried : tuple of KindResult
        Every kind that was tried.
    rules : tuple of PitchRule
        Of each station.
    nothing_cut : bool
    shape_leaves_open : bool
        No number of bands is enough, and that is because of the shape and not of their pull.
    strain_pct : float
        Largest strain of the section under the mean pull of `best` [%].
    untried : tuple of BandKind
        Kinds that were left out because the work allowed was used up.
    head : Head or None
        Of the section that does worst, as `squeeze close` grades it: under the mean pull of `best`,
        or, where no number is enough, as the mold has it. None where nothing is cut.
    """

    mold: Mold
    stretches: tuple[StationBlock, ...]
    best: BandLayout | None
    even: BandLayout | None
    less: BandLayout | None
    more: BandLayout | None
    given: BandLayout | None
    tried: tuple[KindResult, ...]
    rules: tuple[PitchRule, ...]
    nothing_cut: bool
    shape_leaves_open: bool
    strain_pct: float
    head: Head | None = None
    untried: tuple[BandKind, ...] = ()

    @property
    def is_cut_short(self) -> bool:
        """Whether the work allowed was used up before everything was tried."""
        return bool(self.untried) or any(each.stopped_at is not None for each in self.tried)

    @property
    def unreached(self) -> tuple[str, ...]:
        """Names of the cavities that no cut opens in some section; such a mold cannot hold."""
        found = []
        for k, stretch in enumerate(self.stretches):
            lands = self.shown.closings[k].lands if self.shown else ()
            section = stretch.block.block.section
            parts = parts_of(cast("Sequence[Land]", lands), section)
            found += [*unreached_of(parts, section), *locked_of(parts, section)]
        return () if self.nothing_cut else tuple(dict.fromkeys(found))

    @property
    def holds(self) -> bool:
        """Whether some number of bands makes the block hold, or none is needed."""
        return self.nothing_cut or (self.best is not None and not self.unreached)

    @property
    def shown(self) -> BandLayout | None:
        """The layout to draw: the best, else the best that any kind can do, else the mold's own."""
        if self.best is not None:
            return self.best
        limits = [tried.limit for tried in self.tried]
        return max(limits, key=lambda each: each.margin) if limits else self.given


def plan_bands(
    mold: Mold,
    stock: bool = False,
    waves: int | None = None,
    fineness: float = 1.0,
    progress: Progress = silent,
) -> BandPlan:
    """Return the fewest bands that make a mold hold, and where they go.

    Parameters
    ----------
    mold : Mold
    stock : bool
        Try all trade sizes that stretch well, not the kinds that the mold names. They are tried as
        well when it names none.
    waves : int, optional
        Along the block; by its length unless given.
    fineness : float
        Of the section's mesh.
    progress : Progress
        Called with what is being done.

    Returns
    -------
    BandPlan

    Raises
    ------
    BadInput
        When a section cannot be computed as given.
    """
    progress("factorising the block for each wave")
    stretches = station_blocks(mold, waves, fineness)
    table = _LayoutTrials(mold, stretches)
    given = table.given()
    if not any(stretch.block.block.mesh.lands for stretch in stretches):
        return BandPlan(mold, stretches, None, None, None, None, given, (), (), True, False, 0.0)
    named = () if stock else band_kinds(mold, table.wrap_mm)
    kinds = named or kinds_in_stock(table.wrap_mm)
    tried = _try_all(table, kinds, progress)
    found = [each.found for each in tried if each.found is not None]
    even = min(found, key=lambda each: (len(each.at_mm), _pull(each)), default=None)
    best = None if even is None else table.moved(even, progress)
    width = (
        best.kind.width_mm
        if best and best.kind
        else min(t.kind.width_mm for t in tried)
        if tried
        else 6.0
    )
    return BandPlan(
        mold=mold,
        stretches=stretches,
        best=best,
        even=None if best is None else table.even(_kind(best), len(best.at_mm)),
        less=None if best is None else table.even(_kind(best), len(best.at_mm) - 1),
        more=None if best is None else table.placed(_kind(best), len(best.at_mm) + 1, progress),
        given=given,
        tried=tried,
        rules=tuple(pitch_rule(stretch.block, width) for stretch in stretches),
        nothing_cut=False,
        shape_leaves_open=best is None and _is_shape(table, tried),
        strain_pct=0.0 if best is None else table.strain_pct(best),
        untried=tuple(kinds[len(tried) :]),
        head=table.own_head() if best is None else table.head(best),
    )


def _pull(layout: BandLayout) -> float:
    return _kind(layout).pull_n


def _kind(layout: BandLayout) -> BandKind:
    assert layout.kind is not None  # only a mold's own layout has none
    return layout.kind


class _LayoutTrials:
    """The bench: the block's stations, and layouts of bands on them."""

    def __init__(self, mold: Mold, stretches: tuple[StationBlock, ...]):
        self.mold, self.stretches = mold, stretches
        self.length_mm = float(mold.length_mm)
        self.wrap_mm = max(stretch.block.wrap_mm for stretch in stretches)
        self.smeared = smeared_of(mold)
        self.work = 0.0

    @property
    def is_spent(self) -> bool:
        """Whether the work allowed is used up."""
        return self.work > MOST_WORK

    def given(self) -> BandLayout | None:
        """Return the mold's own bands; None when it names none."""
        if not any(band.strands for band in self.mold.band):
            return None
        closings = tuple(stretch.block.close(check=False) for stretch in self.stretches)
        places = tuple(band.at_mm for band in closings[0].bands)
        return self.slackened(self._judged(None, places, closings))

    def put(self, kind: BandKind, places: Sequence[float]) -> BandLayout:
        """Put bands of a kind at places."""
        closings = tuple(
            stretch.block.close(
                kind.layout(places, stretch.block.wrap_mm), smeared_n_per_mm=0.0, check=False
            )
            for stretch in self.stretches
        )
        return self._judged(kind, tuple(float(z) for z in places), closings)

    def even(self, kind: BandKind, count: int) -> BandLayout:
        """Spread as many bands evenly."""
        return self.slackened(self.put(kind, even_places(count, self.length_mm)))

    def slackened(self, layout: BandLayout) -> BandLayout:
        """Add what the bands of a layout hold when they are slack.

        The margin falls at least as fast as the pull, for the resin does not slacken; so nothing
        is solved where that alone is too much.
        """
        if layout.margin * SLACK < MARGIN:
            return layout
        closings = tuple(
            stretch.block.close(
                [replace(band, tension_n=SLACK * band.tension_n) for band in closing.bands],
                smeared_n_per_mm=SLACK * closing.smeared_n_per_mm,
                check=False,
            )
            for stretch, closing in zip(self.stretches, layout.closings, strict=True)
        )
        slack = self._judged(layout.kind, layout.at_mm, closings).holds
        return replace(layout, slack=as_slack(layout.holds, slack))

    def spread(self, kind: BandKind, count: int, resin_kpa: float | None = None) -> BandLayout:
        """Smear the pull of as many bands over the length."""
        closings = tuple(
            stretch.block.close(
                (),
                smeared_n_per_mm=count * _pull_at(kind, stretch) / self.length_mm,
                resin_kpa=resin_kpa,
                check=False,
            )
            for stretch in self.stretches
        )
        layout = self._judged(kind, (), closings)
        return layout if resin_kpa is not None else self.slackened(layout)

    def placed(self, kind: BandKind, count: int, progress: Progress) -> BandLayout:
        """Spread as many bands evenly, and move them where that just misses."""
        layout = self.even(kind, count)
        near = not layout.holds_well and layout.slack_margin > NEAR * MARGIN and count > 1
        return self.moved(layout, progress) if near else layout

    def own_head(self) -> Head:
        """Return the head of the worst section under what the mold puts on."""
        heads = []
        for stretch in self.stretches:
            closing = stretch.block.block.close(deformation="auto", check=False)
            heads.append(judge(closing, mold=self.mold).head)
        return max(heads, key=lambda each: GRADES.index(each.grade))

    def head(self, layout: BandLayout) -> Head:
        """Return the head of the worst section under the mean pull of a layout."""
        heads = []
        for stretch, closing in zip(self.stretches, layout.closings, strict=True):
            pull = sum(band.tension_n for band in closing.bands) / self.length_mm
            section = stretch.block.block.close(
                band_tension_n_per_mm=pull, deformation="auto", check=False
            )
            bare = self.mold.model_copy(update={"band": ()})
            heads.append(judge(section, mold=bare).head)
        return max(heads, key=lambda each: GRADES.index(each.grade))

    def _judged(
        self, kind: BandKind | None, places: tuple[float, ...], closings: tuple[AlongClosing, ...]
    ) -> BandLayout:
        self.work += sum(
            closing.products * stretch.block.responses.waves.S.size
            for closing, stretch in zip(closings, self.stretches, strict=True)
        )
        holds = tuple(
            seal_along(closing, stretch.from_mm, stretch.to_mm)
            for closing, stretch in zip(closings, self.stretches, strict=True)
        )
        return BandLayout(kind, places, closings, holds, as_slack(holds))

    def moved(self, start: BandLayout, progress: Progress) -> BandLayout:
        """Move bands one after the other while that pays; overhangs stay within half a pitch."""
        kind, best = _kind(start), start
        pitch = self.length_mm / max(len(start.at_mm), 1)
        for step in _STEPS:
            paid = True
            while paid:
                before = best.margin
                for k in range(len(best.at_mm)):
                    if self.is_spent:
                        break
                    progress(f"moving band {k + 1} of {len(best.at_mm)}, {kind.name}")
                    tries = [self._shifted(best, k, sign * step * pitch) for sign in (1, -1)]
                    best = max([best, *(t for t in tries if t)], key=lambda each: each.margin)
                paid = best.margin > PAYS * before
        return self.slackened(best) if best.margin > PAYS * start.margin else start

    def _shifted(self, layout: BandLayout, k: int, by_mm: float) -> BandLayout | None:
        """Move band `k` and its mirror image to whole mm; None where they may not lie."""
        kind, places = _kind(layout), list(layout.at_mm)
        twin = len(places) - 1 - k
        places[k] = float(round(places[k] + by_mm))
        if twin != k and self.is_even:
            places[twin] = self.length_mm - places[k]
        gaps = [b - a for a, b in pairwise(places)]
        bands = kind.layout(places, self.wrap_mm)
        fits = all(gap >= kind.width_mm for gap in gaps)
        inside = places[0] >= kind.width_mm / 2 and places[-1] <= self.length_mm - kind.width_mm / 2
        if not (fits and inside) or end_effects(bands, self.length_mm, 1.0).doubtful_mm:
            return None
        return self.put(kind, places)

    @property
    def is_even(self) -> bool:
        """Whether both halves of the block are alike, so that bands are moved in pairs."""
        standing = self.mold.resin is not None and self.mold.resin.standing
        parts = any(cut.along_mm for cut in self.mold.cut)
        return len(self.stretches) == 1 and not standing and not parts

    def strain_pct(self, layout: BandLayout) -> float:
        """Return the largest strain of any station's section under the mean pull [%]."""
        return max(
            stretch.block.block.close(
                band_tension_n_per_mm=sum(band.tension_n for band in closing.bands)
                / self.length_mm,
                check=False,
            ).trust.largest_strain_pct
            for stretch, closing in zip(self.stretches, layout.closings, strict=True)
        )


def _pull_at(kind: BandKind, stretch: StationBlock) -> float:
    return kind.layout((0.0,), stretch.block.wrap_mm)[0].tension_n


def _try_all(
    table: _LayoutTrials, kinds: Sequence[BandKind], progress: Progress
) -> tuple[KindResult, ...]:
    """Try kinds in turn; none is tried with more bands than the best so far."""
    tried: list[KindResult] = []
    most = MOST_BANDS
    for kind in kinds:
        if tried and table.is_spent:
            break
        each = _try(table, kind, most, progress)
        tried.append(each)
        if each.found is not None:
            most = min(most, len(each.found.at_mm))
    return tuple(tried)


def _try(table: _LayoutTrials, kind: BandKind, most: int, progress: Progress) -> KindResult:
    """Scan numbers of bands upwards, for nothing says that the margin grows with each."""
    fit = max(1, min(most, int(table.length_mm / kind.width_mm)))
    progress(f"{kind.name}: {fit} side by side")
    limit = table.spread(kind, fit)
    if not limit.outcome.has_answer or not limit.holds_well:
        return KindResult(kind, None, fit, limit)
    for count in range(1, fit + 1):
        if table.is_spent:
            return KindResult(kind, None, fit, limit, stopped_at=count - 1)
        progress(f"{kind.name}: {count} bands")
        layout = table.placed(kind, count, progress)
        if layout.holds_well:
            return KindResult(kind, layout, fit, limit)
    return KindResult(kind, None, fit, limit)


def _is_shape(table: _LayoutTrials, tried: Sequence[KindResult]) -> bool:
    """Whether no pull would do: even without resin, nothing bars one of the paths."""
    if not tried or _has_gaps(table.mold) or table.mold.push:
        return False
    strongest = max(tried, key=lambda each: each.kind.pull_n)
    bare = table.spread(strongest.kind, strongest.most, resin_kpa=0.0)
    top = max(
        (float(land.pressure_kpa.max()) for c in bare.closings for land in c.lands), default=0.0
    )
    return bare.margin <= 1e-6 * top


def _has_gaps(mold: Mold) -> bool:
    return any(cut.misfits for cut in mold.cut)
