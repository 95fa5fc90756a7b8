"""Tables of edges: what comes near a place, of a few pieces and of many."""

import math
from itertools import pairwise

import numpy as np
import pytest

from squeeze.mold.geometry.curve import Line
from squeeze.mold.geometry.edges import Edges


@pytest.mark.parametrize("count", [7, 48, 49, 200])
def test_pieces_near_a_place_are_the_same_one_by_one(count):
    corners = [(50 * math.cos(a), 30 * math.sin(a)) for a in np.linspace(0, 2 * np.pi, count + 1)]
    lines = [Line(p, q) for p, q in pairwise(corners)]
    edges = Edges(lines)
    random = np.random.default_rng(3)
    places = [*corners[:5], *random.uniform(-60, 60, (60, 2))]
    found = 0
    for reach in (1e-3, 2.0, 25.0):
        for place in places:
            alone = [
                k
                for k, line in enumerate(lines)
                if math.dist(line.place(line.nearest(place)), place) <= reach
            ]
            assert edges.within(place, reach) == alone
            found += len(alone)
    assert found > 2 * len(places)
