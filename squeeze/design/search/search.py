"""The search: look at every kind of block, then compute what the forecast front asks for.

Rubber, girth, work and the pull of the bands are known without a computation, and at small
deformation all that the bands press is linear in their pull. So one computation serves a block with
every number of bands, and the computed blocks of a kind forecast the others. Each round computes
the blocks that cover most of the forecast front. Kinds that are not on it get no more computations.
Nothing is drawn at random, so the same models give the same blocks.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from squeeze.design.blocks.family import Family
from squeeze.design.blocks.limits import Limits
from squeeze.design.blocks.work import weight_of
from squeeze.design.search.drafts import Draft, Found
from squeeze.design.search.forecast import SMOOTH, Forecast, Guesses, together
from squeeze.design.search.given_up import NOT_MADE, Unfit
from squeeze.design.search.next_blocks import Array, best_in_one_figure, logs_of, next_places
from squeeze.design.search.on_block import take
from squeeze.design.search.optimum import cost_g, optimum
from squeeze.design.search.places import Place, Places
from squeeze.design.search.screen import Screened, needed_margin
from squeeze.mold import Mold

MOST_TRIED, FOR_EACH = 200, 15
"""Blocks that a search computes at most, and for each kind of block where there are few."""

LOOKS = 3
"""Blocks of a kind that are computed first; fewer where there are many kinds."""

LOOK_SHARE = 0.25
"""Share of the blocks that the first looks may take."""

BATCH = 16
"""Blocks of a round. They are computed side by side, and the next round is planned with them."""

SPREAD, LEAST_SPREAD = 5000, 40
"""Places of all kinds together, and at least of each, that are forecast in the first round."""

CHEAPEST = 2
"""Kinds, those with the cheapest blocks, whose cheapest one the optimiser looks for in a round: by
turns the one with the least rubber, and the one with the least rubber and work together."""

CLOSE, ABOUT, REACHES = 64, 8, (0.2, 0.12, 0.06)
"""Places of the forecast front that are looked at closely; places about each of them; and how far
from it, round by round."""

ENDS_EACH = 3
"""Each so many rounds the blocks are computed that are forecast to be best in one figure."""

LEAST_ASKED = 2
"""Blocks of a kind in a round; once more are known, half as many as are known. Forecasts that rest
on few blocks err, and all of a round would err alike."""

ENOUGH = 0.002
"""Where no block covers more of the forecast front than this, the search ends."""

HOPELESS_ROUNDS = 3
"""Rounds that are spent on blocks which do not hold, while none does."""


@dataclass
class FamilySearch:
    """A family under search.

    Attributes
    ----------
    places : Places
    found : Found
    pool : dict
        Places that may be computed, by their key.
    done : set
        Keys of those that were computed or given up.
    known : list of (Place, Screened)
    """

    places: Places
    found: Found
    pool: dict[Any, Place] = field(default_factory=dict)
    done: set[Any] = field(default_factory=set)
    known: list[tuple[Place, Screened]] = field(default_factory=list)

    def add(self, places: Iterator[Place]) -> None:
        """Put places in the pool."""
        for place in places:
            if place.key not in self.done:
                self.pool.setdefault(place.key, place)

    def forecast(self, limits: Limits) -> Forecast | None:
        """Return what its computed blocks say about the others; None while there are none."""
        if not self.known:
            return None
        places, got = zip(*self.known, strict=True)
        return Forecast(places, got, limits)


Trial = tuple[int, Place, dict[str, Any]]
"""Number of the family, place in it, whole mold."""


class Search:
    """A search over families.

    Parameters
    ----------
    mold : Mold
        What all blocks share.
    limits : Limits
    families : sequence of Family
    """

    def __init__(self, mold: Mold, limits: Limits, families: Sequence[Family]) -> None:
        self.limits, self.price_per_kg = limits, mold.rubber.price_per_kg
        found = [Found(family.words) for family in families]
        self.kinds = [
            FamilySearch(Places(family, mold, limits, own), own)
            for family, own in zip(families, found, strict=True)
        ]
        self.most = min(MOST_TRIED, FOR_EACH * (1 + len(self.kinds)))
        self.drafts: list[Draft] = []
        self.round = 0

    @property
    def found(self) -> list[Found]:
        """What was found, family by family."""
        return [kind.found for kind in self.kinds]

    @property
    def tried(self) -> int:
        """Blocks that were computed."""
        return sum(each.tried for each in self.found)

    def run(self, compute: Callable[[list[dict[str, Any]]], list[Screened | Unfit]]) -> None:
        """Search; `compute` screens molds and returns what the coarse mesh says of each."""
        batch = self._looks()
        while batch:
            answers = compute([data for _, _, data in batch])
            for trial, got in zip(batch, answers, strict=True):
                self._take(trial, got)
            batch = self._next()

    def _looks(self) -> list[Trial]:
        """Return the first blocks of every family."""
        share = int(LOOK_SHARE * self.most / max(len(self.kinds), 1))
        count = min(LOOKS, max(share, 1))
        spread = max(LEAST_SPREAD, SPREAD // max(len(self.kinds), 1))
        batch: list[Trial] = []
        for number, kind in enumerate(self.kinds):
            looked: list[Trial] = []
            for place in kind.places.looks():
                if len(looked) < count and place.key not in kind.done:
                    looked += self._checked(number, place)
            kind.add(kind.places.spread(spread, 0))
            if not looked:  # nowhere there; perhaps somewhere else
                for place in list(kind.pool.values()):
                    if not looked:
                        looked += self._checked(number, place)
            batch += looked
        return batch

    def _second_looks(self) -> list[Trial]:
        """Return another block of each family whose first ones do not hold."""
        batch: list[Trial] = []
        for number, kind in enumerate(self.kinds):
            looked: list[Trial] = []
            if kind.known and not kind.found.drafts and len(kind.known) < LOOKS:
                for place in kind.places.looks():
                    if not looked and place.key not in kind.done:
                        looked += self._checked(number, place)
            batch += looked
        return batch[: int(LOOK_SHARE * self.most)]

    def _optima(self, step_g: float) -> list[Trial]:
        """Return the block of some kinds that costs least, as the optimiser finds it by forecast.

        Parameters
        ----------
        step_g : float
            What a step of work counts for [g]; 0 for the lightest block.
        """
        holds = needed_margin(self.limits)
        starts = []
        for number, kind in enumerate(self.kinds):
            held = [p for p, got in kind.known if got.worst_margin(got.most_pull) >= holds]
            forecast = kind.forecast(self.limits)
            if held and forecast is not None:
                costs = [cost_g(forecast, place, holds, step_g) for place in held]
                least = int(np.argmin(costs))
                starts.append((costs[least], number, held[least], forecast))
        batch: list[Trial] = []
        for _, number, start, forecast in sorted(starts, key=lambda each: each[:2])[:CHEAPEST]:
            kind = self.kinds[number]
            place = optimum(kind.places, forecast, start, holds, step_g)
            if place and place.key not in kind.done:
                batch += self._checked(number, place)
        return batch

    @property
    def _step_g(self) -> float:
        """What a step of work counts for, in the lightest block's rubber so far [g]."""
        lightest_g = min((draft.rubber_g for draft in self.drafts), default=0.0)
        return weight_of(self.limits.wishes, self.price_per_kg, lightest_g)

    def _checked(self, number: int, place: Place) -> list[Trial]:
        """Return the trial of a place; none where geometry alone gives it up."""
        kind = self.kinds[number]
        kind.done.add(place.key)
        kind.pool.pop(place.key, None)
        try:
            kind.places.check(place)
            return [(number, place, kind.places.data(place))]
        except Unfit as unfit:
            kind.found.give_up(unfit.reason, unfit.needs)
        except ValueError:  # a shape that these figures do not make
            kind.found.give_up(NOT_MADE)
        return []

    def _take(self, trial: Trial, got: Screened | Unfit) -> None:
        number, place, data = trial
        kind = self.kinds[number]
        if isinstance(got, Unfit):
            kind.found.tried += got.is_computed
            kind.found.give_up(got.reason, got.needs)
            return
        kind.found.tried += 1
        kind.known.append((place, got))
        self.drafts += take(kind.found, data, got, self.limits)

    def _next(self) -> list[Trial]:
        """Return the blocks of the next round; none when there is nothing more to gain."""
        left = min(BATCH, self.most - self.tried)
        self.round += 1
        if left <= 0:
            return []
        own, guesses = self._guesses()
        if not len(guesses.number) and not self.drafts:
            return self._nearest(left) if self.round <= HOPELESS_ROUNDS else []
        batch = self._second_looks() if self.round == 1 else []
        if self.round % 2 == 0:
            batch += self._optima(0.0 if self.round % 4 == 2 else self._step_g)
        if self.round % ENDS_EACH == 0:
            for k in best_in_one_figure(guesses, self._known()):
                batch += self._checked(own[k], guesses.places[k])
        asked: Counter[int] = Counter()
        ahead = next_places(guesses, self._known())
        self._look_closely([(own[k], guesses.places[k]) for k, _ in ahead[:CLOSE]])
        for k, gain in ahead:
            if len(batch) >= left or gain < ENOUGH:
                break
            number = own[k]
            if guesses.places[k].key in self.kinds[number].done:
                continue
            if asked[number] < max(LEAST_ASKED, len(self.kinds[number].known) // 2):
                got = self._checked(number, guesses.places[k])
                asked[number] += len(got)
                batch += got
        return batch[:left]

    def _known(self) -> Array:
        return logs_of([draft.costs() for draft in self.drafts])

    def _guesses(self) -> tuple[list[int], Guesses]:
        """Return what is forecast for the pools, and the family of each place."""
        own: list[int] = []
        parts: list[Guesses] = []
        for number, kind in enumerate(self.kinds):
            forecast = kind.forecast(self.limits)
            if forecast is not None:
                parts.append(forecast.guesses(list(kind.pool.values())))
                own += [number] * len(parts[-1].places)
        return own, together(parts)

    def _look_closely(self, ahead: Sequence[tuple[int, Place]]) -> None:
        """Put places about those of the forecast front in the pools, for the next round."""
        reach = REACHES[min(self.round - 1, len(REACHES) - 1)]
        for k, (number, place) in enumerate(ahead):
            places = self.kinds[number].places
            start = 97 * self.round + ABOUT * k
            self.kinds[number].add(places.about(place, ABOUT, reach, start))

    def _nearest(self, count: int) -> list[Trial]:
        """Return the blocks that come nearest to holding, while none does.

        Where all came apart, those are the ones whose bands pull most.
        """
        promised = []
        forecasts = [kind.forecast(self.limits) for kind in self.kinds]
        for number, (kind, forecast) in enumerate(zip(self.kinds, forecasts, strict=True)):
            pool = list(kind.pool.values())
            if forecast is not None:
                promises = forecast.margins(pool, SMOOTH)
            elif not any(forecasts):
                promises = [max((on.pull * on.most for on in p.bands), default=0.0) for p in pool]
            else:
                continue
            promised += [(p, number, place) for p, place in zip(promises, pool, strict=True)]
        promised.sort(key=lambda each: -each[0])
        batch: list[Trial] = []
        for promise, number, place in promised:
            if len(batch) < count and math.isfinite(promise):
                batch += self._checked(number, place)
        return batch
