"""The fewest bands that make every land hold over the block's whole length, and where they go.

Numbers of bands are tried upwards, evenly spread; where an even spread just misses, and once more
when a number is found, bands are moved as long as that pays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from squeeze.mold import Mold
from squeeze.mold.progress import Progress, silent
from squeeze.solve.along.loads import WIDTH_MM
from squeeze.solve.along.pitch import PitchRule, pitch_rule
from squeeze.solve.along.stations import StationBlock, station_blocks
from squeeze.solve.land import Land
from squeeze.verdict.bands.kinds import BandKind, band_kinds, kinds_in_stock
from squeeze.verdict.bands.layout import BandLayout
from squeeze.verdict.bands.layout_trials import LayoutTrials, kind_of
from squeeze.verdict.grade import GOOD
from squeeze.verdict.head import Head
from squeeze.verdict.seal.barrier import locked_of, unreached_of
from squeeze.verdict.seal.land_graph import parts_of

MOST_BANDS = 60


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
    own : Head or None
        With the mold's own bands, where those found hold but leave flash.
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
    own: Head | None = None
    untried: tuple[BandKind, ...] = ()

    def __repr__(self) -> str:
        if self.best is None:
            why = "nothing is cut" if self.nothing_cut else "no number of bands holds"
            return f"BandPlan: {why}"
        kind = "the mold's own" if self.best.kind is None else self.best.kind.name
        places = ", ".join(f"{z:.4g}" for z in self.best.at_mm)
        return f"BandPlan: {len(self.best.at_mm)} bands ({kind}) at {places} mm"

    @property
    def is_cut_short(self) -> bool:
        """Whether the work allowed was used up before everything was tried."""
        return bool(self.untried) or any(each.stopped_at is not None for each in self.tried)

    @property
    def unreached(self) -> tuple[str, ...]:
        """Names of the cavities that no cut opens in some section; such a mold cannot hold."""
        return () if self.nothing_cut else _unreached(self.stretches, self.shown)

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


def _unreached(stretches: tuple[StationBlock, ...], layout: BandLayout | None) -> tuple[str, ...]:
    """Return the names of the cavities that no cut opens in some section under a layout."""
    found = []
    for k, stretch in enumerate(stretches):
        lands = layout.closings[k].lands if layout else ()
        section = stretch.block.block.section
        parts = parts_of(cast("Sequence[Land]", lands), section)
        found += [*unreached_of(parts, section), *locked_of(parts, section)]
    return tuple(dict.fromkeys(found))


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
    progress("preparing the block for bands at places")
    stretches = station_blocks(mold, waves, fineness)
    table = LayoutTrials(mold, stretches)
    given = table.given()
    if not any(stretch.block.block.mesh.lands for stretch in stretches):
        return BandPlan(mold, stretches, None, None, None, None, given, (), (), True, False, 0.0)
    named = () if stock else band_kinds(mold, table.wrap_mm)
    kinds = named or kinds_in_stock(table.wrap_mm)
    bare = given or (table.put(kinds[0], ()) if kinds else None)
    is_shut = bare is not None and bool(_unreached(stretches, bare))
    # bands do not open a block that no cut opens, so none of their numbers is tried
    tried = _most_alone(table, kinds[:1]) if is_shut else _try_all(table, kinds, progress)
    found = [each.found for each in tried if each.found is not None]
    even = min(found, key=lambda each: (len(each.at_mm), _pull(each)), default=None)
    best = None if even is None else table.moved(even, progress)
    widths = [each.kind.width_mm for each in tried] or [WIDTH_MM]
    width = min(widths) if best is None else kind_of(best).width_mm
    head = table.own_head(is_shut) if best is None else table.head(best)
    flashes = best is not None and given is not None and head.grade not in GOOD
    return BandPlan(
        mold=mold,
        stretches=stretches,
        best=best,
        even=None if best is None else table.even(kind_of(best), len(best.at_mm)),
        less=None if best is None else table.even(kind_of(best), len(best.at_mm) - 1),
        more=None if best is None else _one_more(table, best, progress),
        given=given,
        tried=tried,
        rules=tuple(pitch_rule(stretch.block, width) for stretch in stretches),
        nothing_cut=False,
        shape_leaves_open=best is None and not is_shut and _is_shape(table, tried),
        strain_pct=0.0 if best is None else table.strain_pct(best),
        untried=() if is_shut else tuple(kinds[len(tried) :]),
        head=head,
        own=table.own_head(is_shut) if flashes else None,
    )


def _one_more(table: LayoutTrials, best: BandLayout, progress: Progress) -> BandLayout | None:
    """Return the layout with one band more; None where the work allowed does not reach for it."""
    layout = table.placed(kind_of(best), len(best.at_mm) + 1, progress)
    return None if table.is_spent else layout


def _pull(layout: BandLayout) -> float:
    return kind_of(layout).pull_n


def _try_all(
    table: LayoutTrials, kinds: Sequence[BandKind], progress: Progress
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


def _most_alone(table: LayoutTrials, kinds: Sequence[BandKind]) -> tuple[KindResult, ...]:
    """Return what as many bands as fit do, of each kind."""
    found = []
    for kind in kinds:
        fit = _fit(table, kind, MOST_BANDS)
        found.append(KindResult(kind, None, fit, table.spread(kind, fit)))
    return tuple(found)


def _fit(table: LayoutTrials, kind: BandKind, most: int) -> int:
    """Return how many bands of a kind fit side by side."""
    return max(1, min(most, int(table.length_mm / kind.width_mm)))


def _try(table: LayoutTrials, kind: BandKind, most: int, progress: Progress) -> KindResult:
    """Scan numbers of bands upwards, for nothing says that the margin grows with each."""
    fit = _fit(table, kind, most)
    progress(f"{kind.name}: {fit} side by side")
    limit = table.spread(kind, fit)
    if table.is_spent:
        return KindResult(kind, None, fit, limit, stopped_at=0)
    if not limit.outcome.has_answer or not limit.holds_well:
        return KindResult(kind, None, fit, limit)
    for count in range(1, fit + 1):
        progress(f"{kind.name}: {count} bands")
        layout = table.placed(kind, count, progress)
        if layout.holds_well:
            return KindResult(kind, layout, fit, limit)
        if table.is_spent:  # perhaps in the midst of this one
            return KindResult(kind, None, fit, limit, stopped_at=count - 1)
    return KindResult(kind, None, fit, limit)


def _is_shape(table: LayoutTrials, tried: Sequence[KindResult]) -> bool:
    """Whether no pull would do: even without resin, nothing bars one of the paths."""
    if not tried or table.is_spent or _has_gaps(table.mold) or table.mold.push:
        return False
    strongest = max(tried, key=lambda each: each.kind.pull_n)
    bare = table.spread(strongest.kind, strongest.most, resin_kpa=0.0)
    top = max(
        (float(land.pressure_kpa.max()) for c in bare.closings for land in c.lands), default=0.0
    )
    return not table.is_spent and bare.margin <= 1e-6 * top


def _has_gaps(mold: Mold) -> bool:
    return any(cut.misfits for cut in mold.cut)
