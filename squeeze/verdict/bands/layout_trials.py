"""Layouts of bands tried on a block: side by side, evenly spread, moved.

What is tried is a whole contact solve each time; a block is factorised once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from squeeze.mold import Mold
from squeeze.mold.progress import Progress
from squeeze.solve.allowance import Allowance
from squeeze.solve.along.loads import BandAt, even_places, smeared_of
from squeeze.solve.along.long_block import MOST_WORK as MOST_WORK_OF_A_CLOSING
from squeeze.solve.along.record import AlongClosing, end_effects
from squeeze.solve.along.stations import StationBlock
from squeeze.verdict.bands.barriers_along import seal_along
from squeeze.verdict.bands.kinds import BandKind
from squeeze.verdict.bands.layout import SLACK, BandLayout, as_slack
from squeeze.verdict.grade import GRADES
from squeeze.verdict.head import Head
from squeeze.verdict.seal.barrier import MARGIN
from squeeze.verdict.section_verdict import judge

MOST_WORK = MOST_WORK_OF_A_CLOSING
"""Multiplications after which no further layout is tried, all layouts together."""

MOST_HEAD_WORK = 300_000
"""Unknowns times tangents that the sections' heads may take together, some ten seconds."""

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
        self.head_work = Allowance(MOST_HEAD_WORK)
        self._even: dict[tuple[BandKind, int], BandLayout] = {}

    @property
    def is_spent(self) -> bool:
        """Whether the work allowed does not reach for one more product of the matrices."""
        return self.work + max(_product(stretch) for stretch in self.stretches) > MOST_WORK

    def _closed(
        self, stretch: StationBlock, bands: Sequence[BandAt] | None = None, **loads: Any
    ) -> AlongClosing:
        """Close a station's block with what is left of the work allowed."""
        left = max(MOST_WORK - self.work, 0.0)
        closing = stretch.block.close(bands, most_work=left, check=False, **loads)
        self.work += closing.products * _product(stretch)
        return closing

    def given(self) -> BandLayout | None:
        """Return the mold's own bands; None when it names none."""
        if not any(band.strands for band in self.mold.band):
            return None
        closings = tuple(self._closed(stretch) for stretch in self.stretches)
        places = tuple(band.at_mm for band in closings[0].bands)
        return self.slackened(self._judged(None, places, closings))

    def put(self, kind: BandKind, places: Sequence[float]) -> BandLayout:
        """Put bands of a kind at `places` along the block [mm]."""
        closings = tuple(
            self._closed(stretch, kind.layout(places, stretch.block.wrap_mm), smeared_n_per_mm=0.0)
            for stretch in self.stretches
        )
        return self._judged(kind, tuple(float(z) for z in places), closings)

    def even(self, kind: BandKind, count: int) -> BandLayout:
        """Spread `count` bands evenly; what was computed once is not computed again."""
        if (kind, count) not in self._even:
            layout = self.slackened(self.put(kind, even_places(count, self.length_mm)))
            self._even[kind, count] = layout
        return self._even[kind, count]

    def slackened(self, layout: BandLayout) -> BandLayout:
        """Add what the bands of a layout hold when they are slack.

        The margin falls at least as fast as the pull, for the resin does not slacken; so nothing
        is solved where that alone is too much.
        """
        if layout.margin * SLACK < MARGIN:
            return layout
        closings = tuple(
            self._closed(
                stretch,
                [replace(band, tension_n=SLACK * band.tension_n) for band in closing.bands],
                smeared_n_per_mm=SLACK * closing.smeared_n_per_mm,
            )
            for stretch, closing in zip(self.stretches, layout.closings, strict=True)
        )
        slack = self._judged(layout.kind, layout.at_mm, closings).holds
        return replace(layout, slack=as_slack(layout.holds, slack))

    def spread(self, kind: BandKind, count: int, resin_kpa: float | None = None) -> BandLayout:
        """Smear the pull of as many bands over the length.

        Parameters
        ----------
        kind : BandKind
        count : int
        resin_kpa : float, optional
            Instead of the mold's own.
        """
        closings = tuple(
            self._closed(
                stretch,
                (),
                smeared_n_per_mm=count * _pull_at(kind, stretch) / self.length_mm,
                resin_kpa=resin_kpa,
            )
            for stretch in self.stretches
        )
        layout = self._judged(kind, (), closings)
        return layout if resin_kpa is not None else self.slackened(layout)

    def placed(self, kind: BandKind, count: int, progress: Progress) -> BandLayout:
        """Spread as many bands evenly, and move them where that just misses.

        Parameters
        ----------
        kind : BandKind
        count : int
        progress : Progress
        """
        layout = self.even(kind, count)
        near = not layout.holds_well and layout.slack_margin > NEAR * MARGIN and count > 1
        return self.moved(layout, progress) if near else layout

    def own_head(self, is_shut: bool) -> Head:
        """Return the head of the worst section under what the mold puts on.

        Of a block that no cut opens (`is_shut`) it says that, and no more.
        """
        if is_shut:
            closings = [each.block.block.close(check=False) for each in self.stretches]
            return _worst([judge(closing, mold=self.mold).head for closing in closings])
        return self._worst_head(self.mold, [{} for _ in self.stretches])

    def head(self, layout: BandLayout) -> Head:
        """Return the head of the worst section under the mean pull of a layout."""
        pulls = [
            {
                "band_tension_n_per_mm": sum(band.tension_n for band in closing.bands)
                / self.length_mm
            }
            for closing in layout.closings
        ]
        return self._worst_head(self.mold.model_copy(update={"band": ()}), pulls)

    def _worst_head(self, mold: Mold, loads: Sequence[dict[str, Any]]) -> Head:
        heads = []
        for stretch, load in zip(self.stretches, loads, strict=True):
            closing = self.head_work.close(stretch.block.block, deformation="auto", **load)
            heads.append(judge(closing, mold=mold).head)
        return _worst(heads)

    def _judged(
        self, kind: BandKind | None, places: tuple[float, ...], closings: tuple[AlongClosing, ...]
    ) -> BandLayout:
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
        if best.margin <= PAYS * start.margin:
            return start
        best = self.slackened(best)
        return start if self.is_spent and start.slack_margin > best.slack_margin else best

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


def _worst(heads: list[Head]) -> Head:
    return max(heads, key=lambda each: GRADES.index(each.grade))


def _product(stretch: StationBlock) -> int:
    """Return the multiplications of one product with the matrices of all waves."""
    return stretch.block.responses.waves.S.size


def _pull_at(kind: BandKind, stretch: StationBlock) -> float:
    return kind.layout((0.0,), stretch.block.wrap_mm)[0].tension_n


def kind_of(layout: BandLayout) -> BandKind:
    """Return the kind of a layout's bands."""
    assert layout.kind is not None  # only a mold's own layout has none
    return layout.kind
