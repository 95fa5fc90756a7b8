"""Nodes and chains that a mesh follows: registers, divisions, slices and splits, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

import squeeze
from squeeze.mold import section_of
from squeeze.mold.geometry.curve import Arc, Line
from squeeze.mold.geometry.tolerance import ON_MM
from squeeze.solve.mesh.graph import Graph, NodeRegister, SeamChain, Side, divisions
from squeeze.solve.mesh.loops import _between, _parts, _steps
from squeeze.solve.mesh.seats import _broken_chains, _junctions, _seam
from squeeze.solve.mesh.section_graph import (
    _apart,
    _land_nodes,
    _lands_of_cut,
    _stops,
    _UndividedLand,
)
from squeeze.solve.mesh.splits import filled_fences, with_splits


class Even:
    """One wanted length everywhere, or one beyond x = 1 and another before."""

    def __init__(self, after: float, before: float | None = None):
        self.after, self.before = after, after if before is None else before
        self.asked = 0

    @property
    def least_mm(self) -> float:
        return min(self.after, self.before)

    def __call__(self, points):
        self.asked += len(points)
        return np.where(points[:, 0] > 1.0, self.after, self.before)


def along_x(t):
    return np.column_stack([t, 0 * t])


@pytest.mark.parametrize("away", [(0.9, 0.0), (0.0, -0.9), (0.6, 0.7), (0.6, -0.7)])
@pytest.mark.parametrize(
    "place",
    [
        (3.0, -4.0),
        (0.0, 0.0),
        (7.123456, 2.2),
        (-2e-6, 0.009998),
        (-2e-6, 0.010002),
        (2e-6, 0.009998),
        (2e-6, 0.010002),
    ],
)
def test_places_within_rounding_share_a_node_on_both_sides_of_every_cell(place, away):
    """Cells begin at whole hundredths of a millimetre: the last four places stand beside one."""
    nodes = NodeRegister()
    assert nodes.number(np.array([50.0, 50.0])) == 0
    assert nodes.known(np.array(place)) is None
    assert nodes.number(np.array(place)) == 1
    for sign in (1, -1):
        near = np.array(place) + sign * ON_MM * np.array(away)
        assert nodes.known(near) == nodes.number(near) == 1
        far = np.array(place) + sign * 1.4 * ON_MM * np.array(away)
        assert nodes.known(far) is None
    assert nodes.places == [(50.0, 50.0), place]


@pytest.mark.parametrize(
    ("length", "count"), [(10.0, 5), (0.1, 1), (2.5, 1), (2.7, 2), (6.5, 3), (6.7, 4)]
)
def test_a_line_takes_as_many_edges_as_fit_and_rounds_up_from_three_tenths(length, count):
    """Of edges of 2 mm: an edge is at most a fifth of one longer than asked for where many fit."""
    (found,) = divisions([(np.linspace(0.0, length, 9), along_x)], Even(2.0))
    assert found == pytest.approx(np.linspace(0.0, length, count + 1))


def test_edges_follow_the_wanted_length_along_each_line():
    """Edges of 0.5 up to x = 1, of 1 beyond: 2 + 3 edges over 4 mm; another line has its own."""
    first, second = divisions(
        [(np.linspace(0.0, 4.0, 9), along_x), (np.linspace(2.0, 4.0, 9), along_x)],
        Even(1.0, 0.5),
    )
    assert first == pytest.approx([0.0, 0.5, 1.0, 2.0, 3.0, 4.0])
    assert second == pytest.approx([2.0, 3.0, 4.0])


def test_tiny_edges_between_two_places_are_found():
    """Edges of 1 mm up to x = 1, of 0.01 mm over the last 0.2 mm, which no middle lies in."""
    size = Even(0.01, 1.0)
    (found,) = divisions([(np.array([0.0, 1.2]), along_x)], size)
    assert 21 <= len(found) - 1 <= 22
    assert size.asked < 2000
    coarse = Even(0.03, 1.0)  # only edges that people mean nothing by are looked for
    (found,) = divisions([(np.array([0.0, 1.2]), along_x)], coarse)
    assert (len(found), coarse.asked) == (2, 1)


def test_a_piece_is_parted_at_its_stops_and_not_beside_its_ends():
    piece = Line((0.0, 0.0), (10.0, 0.0))
    t = ON_MM / 10
    assert _parts(piece, []) == [(0.0, 1.0)]
    assert _parts(piece, [0.7, 0.2]) == [(0.0, 0.2), (0.2, 0.7), (0.7, 1.0)]
    assert _parts(piece, [1.5 * t, 0.5, 0.5 + 1.5 * t, 1 - 1.5 * t]) == [(0.0, 0.5), (0.5, 1.0)]
    apart = [2.5 * t, 0.5, 0.5 + 2.5 * t, 1 - 2.5 * t]
    assert _parts(piece, apart) == list(zip([0.0, *apart], [*apart, 1.0], strict=True))


def test_a_part_of_a_piece_is_divided_and_keeps_its_ends_to_the_last_digit():
    quarter = Arc((0.0, 0.0), (10.0, 10.0), 0.0, np.pi / 2)
    whole, part = _steps([(quarter, (0.0, 1.0)), (quarter, (0.2, 0.8))], Even(np.pi))
    assert whole == pytest.approx(np.linspace(0, 1, 6), abs=1e-3)
    assert part == pytest.approx([0.2, 0.4, 0.6, 0.8], abs=1e-3)
    assert (part[0], part[-1]) == (0.2, 0.8)
    (first,) = _steps([(quarter, (0.0, 0.6))], Even(np.pi))
    assert first == pytest.approx([0.0, 0.2, 0.4, 0.6], abs=1e-3)


def test_a_long_piece_is_looked_at_every_half_millimetre():
    """Edges of 0.5 mm over its first millimetre, of 1 mm over the other 99."""
    (found,) = _steps([(Line((0.0, 0.0), (100.0, 0.0)), (0.0, 1.0))], Even(1.0, 0.5))
    assert len(found) - 1 == 2 + 99
    assert found[:4] == pytest.approx([0.0, 0.005, 0.01, 0.02])


def test_a_slice_of_chains_runs_from_one_node_to_the_other_either_way():
    chains = [(1, 2, 3), (3, 4), (7, 8)]
    assert _between(chains, [2, 4]) == (2, 3, 4)
    assert _between(chains, [4, 1]) == (4, 3, 2, 1)
    assert _between(chains, [8, 7]) == (8, 7)
    assert _between(chains, [4, 7]) is None  # they do not hang together
    assert _between(chains, [None, 2]) is None
    assert _between([], [1, 2]) is None


def test_a_land_ends_where_something_meets_its_cut_and_not_within_rounding_of_an_end():
    line, away = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 5.0]]), np.array([0.0, 3.0, 8.0])
    assert _stops(line, away, np.zeros((0, 2))) == [0.0, 8.0]
    met = [[3.0, 2.0], [1.0, 0.0], [1.0, 2e-6], [2.0, 2e-5], [1.5e-5, 0.0], [3.0, 5.0]]
    assert _stops(line, away, np.array(met)) == pytest.approx([0.0, 1.0, 5.0, 8.0])
    assert _apart([0.0, 1.5e-5, 2.0, 2.0 + 1.5e-5, 4.0, 6.0 - 1.5e-5, 6.0]) == [0.0, 2.0, 4.0, 6.0]
    wide = [0.0, 2.5e-5, 2.0, 2.0 + 2.5e-5, 6.0 - 2.5e-5, 6.0]
    assert _apart(wide) == wide


def test_lands_count_along_their_cut_and_have_nodes_where_a_filler_passes():
    """Two stretches, the first with a bend and parted at 4 mm; a filler passes at 6 mm."""
    stretches = [
        SimpleNamespace(points=((0.0, 0.0), (14.0, 0.0), (14.0, 2.0)), start_mm=2.0),
        SimpleNamespace(points=((20.0, 0.0), (25.0, 0.0)), start_mm=22.0),
    ]
    cut = SimpleNamespace(stretches=stretches)
    lands = _lands_of_cut((3, cut), np.array([[4.0, 0.0]]), np.array([[6.0, 0.0]]))
    assert [(a.cut, a.land, a.start_mm) for a in lands] == [(3, 0, 2.0), (3, 1, 6.0), (3, 2, 22.0)]
    assert [land.knots for land in lands] == [[0.0, 4.0], [4.0, 6.0, 14.0, 16.0], [0.0, 5.0]]
    assert lands[1].place(np.array([4.0, 15.0])).tolist() == [[4.0, 0.0], [14.0, 1.0]]
    looked_at = [(t[0], t[-1], len(t)) for t in lands[1].looked_at()]
    assert looked_at == [(4.0, 6.0, 9), (6.0, 14.0, 32), (14.0, 16.0, 9)]


def test_a_land_has_a_node_at_each_knot_and_one_in_its_middle_at_least():
    line, away = np.array([[0.0, 0.0], [6.0, 0.0]]), np.array([0.0, 6.0])
    nodes = NodeRegister()
    land = _UndividedLand(0, 0, 0.0, line, away, [0.0, 2.0, 6.0])
    divided = iter([np.array([0.0, 1.0, 2.0]), np.array([2.0, 4.0, 6.0]), np.array([9.0, 9.5])])
    assert _land_nodes(nodes, land, divided) == (0, 1, 2, 3, 4)
    assert [x for x, _ in nodes.places] == [0.0, 1.0, 2.0, 4.0, 6.0]
    assert next(divided).tolist() == [9.0, 9.5]  # those of the next land are left
    short = _UndividedLand(0, 1, 0.0, line, away, [2.0, 4.0])
    assert _land_nodes(nodes, short, iter([np.array([2.0, 4.0])])) == (2, 5, 3)
    assert nodes.places[5] == (3.0, 0.0)


def test_seams_break_where_other_than_two_edges_of_them_meet():
    """A chain of four nodes, and one that ends on its third."""
    assert _junctions([(1, 2, 3, 4), (9, 3)]) == {1, 3, 4, 9}
    assert _junctions([(1, 2), (2, 1)]) == set()


def test_chains_of_a_seat_follow_the_outline_from_where_it_begins():
    """A square of 2 by 3 mm: the seat is all but its second edge, and is broken at node 0."""
    nodes = SimpleNamespace(places=[(0, 0), (2, 0), (2, 3), (0, 3)])
    ring = [(0, 1), (1, 2), (2, 3), (3, 0)]
    edges = {frozenset(pair) for pair in ring if pair != (1, 2)}
    (whole,) = _broken_chains(5, ring, edges, set(), nodes)
    assert (whole.cut, whole.land, whole.start_mm, whole.nodes) == (5, 0, 0.0, (2, 3, 0, 1))
    first, second = _broken_chains(5, ring, edges, {0}, nodes)
    assert (first.nodes, second.nodes) == ((2, 3, 0), (0, 1))
    assert (first.land, second.land, second.start_mm) == (0, 1, 5.0)
    apart = _broken_chains(5, ring, {frozenset((0, 1)), frozenset((2, 3))}, set(), nodes)
    assert [(chain.nodes, chain.start_mm) for chain in apart] == [((0, 1), 0.0), ((2, 3), 2.0)]
    assert _broken_chains(5, ring, set(), set(), nodes) == []


def test_seats_and_then_joints_are_numbered_after_the_cuts():
    section = SimpleNamespace(cuts=[0] * 3, cavities=[0], fillers=[0] * 2, cradles=[0] * 2)
    assert [_seam(section, number, 0) for number in (4, 5)] == [3, 4]
    assert [_seam(section, number, 4) for number in (4, 5)] == [5, 6]


def test_corners_that_split_edges_come_in_order_and_onto_the_curve():
    """A quarter of a circle split twice, and a land whose new corner was a little off."""
    mold = squeeze.mold_of({
        "length_mm": 100, "rubber": {"shore_a": 20}, "block": {"shape": "round", "diameter_mm": 20},
    })  # fmt: skip
    section = section_of(mold)
    piece = section.outline.pieces[0]
    a, b = piece.place(0.0), piece.place(1.0)
    old = np.array([a, b, (0.0, 0.0), (4.0, 0.0)])
    chord = np.subtract(b, a)
    new = [np.add(a, 0.75 * chord), np.add(a, 0.25 * chord), (1.0, 0.3)]
    graph = Graph(
        old, (Side(0, 0, (0, 1), (0.0, 1.0)),), (SeamChain(0, 0, 0.0, (3, 2)),),
        seats=(SeamChain(1, 0, 0.0, (0, 1)),), joints=(SeamChain(2, 0, 0.0, (1, 0)),),
    )  # fmt: skip
    within = {(0, 1): {4, 5}, (2, 3): {6}}
    found = with_splits(graph, np.vstack([old, new]), within, section)
    (side,) = found.sides
    assert side.nodes == (0, 5, 4, 1)
    assert side.at == pytest.approx([0.0, 0.25, 0.75, 1.0])
    assert found.nodes[[5, 4]] == pytest.approx(piece.at([0.25, 0.75]))
    assert found.lands[0].nodes == (3, 6, 2)
    assert found.nodes[6] == pytest.approx([1.0, 0.0])
    assert (found.seats[0].nodes, found.joints[0].nodes) == ((0, 5, 4, 1), (1, 4, 5, 0))
    none = with_splits(graph, old + 1.0, {}, section)
    assert none.sides == graph.sides
    assert (none.nodes == old + 1.0).all()
    fences = filled_fences(np.array([[1, 0], [2, 0]]), within, np.vstack([old, new]))
    assert fences.tolist() == [[1, 4], [4, 5], [5, 0], [2, 0]]
