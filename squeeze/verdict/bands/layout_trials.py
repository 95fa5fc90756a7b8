"""Layouts of bands tried on a block: side by side, evenly spread, moved.

What is tried is a whole contact solve each time; a block is factorised once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from squeeze.mold import Mold
from squeeze.mold.progress import Progress
from squeeze.solve.along.loads import even_places, smeared_of
from squeeze.solve.along.record import AlongClosing, end_effects
from squeeze.solve.along.stations import StationBlock
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.bands.kinds import BandKind
from squeeze.verdict.bands.layout import SLACK, BandLayout, as_slack
from squeeze.verdict.grade import GRADES
from squeeze.verdict.head import Head
from squeeze.verdict.seal.barrier import MARGIN
from squeeze.verdict.section_verdict import judge

MOST_WORK = 8e9
"""Multiplications after which no further layout is tried; about half a minute.

What counts is the matrices of all waves, applied as often as the contact on the parting plane asks
for; most molds need a hundredth of it. The count does not depend on how busy the machine is."""

NEAR = 0.6
"""An even spread that reaches this share of the margin is worth moving."""

PAYS = 1.05
"""Moving bands has to raise the margin by this factor to be advised."""

_STEPS = (0.2, 0.1)  # by which a band is moved, over the pitch


class LayoutTrials:
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
        kind, best = kind_of(start), start
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
        kind, places = kind_of(layout), list(layout.at_mm)
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


def kind_of(layout: BandLayout) -> BandKind:
    """Return the kind of a layout's bands."""
    assert layout.kind is not None  # only a mold's own layout has none
    return layout.kind
