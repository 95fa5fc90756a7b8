"""A share of the tests: as large as asked for, drawn by seed, and free of what takes minutes."""

from __future__ import annotations

import pytest

from tests.conftest import in_share, pytest_collection_modifyitems

NAMES = [f"tests/test_{k % 7}.py::test[{k}]" for k in range(4000)]


def share(size: float, seed: int = 1) -> set[str]:
    return {name for name in NAMES if in_share(name, size, seed)}


def test_it_is_as_large_as_asked_for():
    assert len(share(0.1)) == pytest.approx(400, rel=0.2)
    assert share(0.0) == set()
    assert share(1.0) == {*NAMES}


def test_a_larger_share_holds_the_smaller_one_and_another_seed_draws_another():
    assert share(0.1) < share(0.3)
    assert len(share(0.3, 1) & share(0.3, 2)) == pytest.approx(0.09 * 4000, rel=0.25)


class Asked:
    """What pytest was asked for: a share of nearly all tests."""

    def __init__(self) -> None:
        self.hook, self.left_out = self, []

    def getoption(self, name: str) -> float:
        return {"--share": 1 - 1e-9, "--share-seed": 1}[name]

    def pytest_deselected(self, items: list) -> None:
        self.left_out += items


def test_no_share_holds_what_takes_minutes():
    class Item:
        def __init__(self, mark: pytest.Mark) -> None:
            self.nodeid, self.mark = str(mark), mark

        def get_closest_marker(self, _: str) -> pytest.Mark:
            return self.mark

    short, long = (Item(each.mark) for each in (pytest.mark.slow, pytest.mark.slow(minutes=True)))
    items, asked = [short, long], Asked()
    pytest_collection_modifyitems(asked, items)
    assert items == [short]
    assert asked.left_out == [long]
