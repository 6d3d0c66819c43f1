"""Doubles: groups as another library finds them, the same in any order, quick where many points crowd."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from terrain.arrays import Floats, Longs
from terrain.doubles import AGREE, SAME_PLACE, disagreeing, remove_doubles
from terrain.same_place import groups_within, near_another


def other_groups(plan: Floats, reach: float) -> tuple[int, Longs]:
    """Return how many groups there are and each point's, from a tree of pairs and a graph library."""
    pairs = cKDTree(plan).query_pairs(reach, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(plan), len(plan)))
    count, group = connected_components(links, directed=False)
    return int(count), np.asarray(group, dtype=np.int64)


def sorted_rows(rows: Floats) -> Floats:
    return np.asarray(rows[np.lexsort(rows.T)], dtype=np.float64)


@given(st.integers(0, 10_000), st.integers(1, 300), st.sampled_from([0.0005, 0.002, 0.01]))
@settings(max_examples=60, deadline=None)
def test_groups_are_those_of_another_library(seed: int, count: int, side: float) -> None:
    rng = np.random.default_rng(seed)
    plan = rng.uniform(-side, side, (count, 2))
    plan = np.concatenate([plan, plan[rng.integers(0, count, 20)]])
    ours = groups_within(plan, SAME_PLACE)
    wanted, theirs = other_groups(plan, SAME_PLACE)
    assert len(np.unique(ours)) == wanted
    assert len(np.unique(np.column_stack([ours, theirs]), axis=0)) == wanted


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_no_pair_within_the_same_place_is_left_and_no_other_merged(seed: int) -> None:
    rng = np.random.default_rng(seed)
    first = rng.uniform(-100.0, 100.0, (200, 2))
    turn, reach = rng.uniform(0.0, 2.0 * np.pi, 200), rng.uniform(0.2e-4, 2.0e-4, 200)
    second = first + reach[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    left = remove_doubles(np.column_stack([np.concatenate([first, second]), np.zeros(400)]))
    merged = left.place[:200] == left.place[200:]
    sure = np.abs(reach - SAME_PLACE) > 1e-12
    np.testing.assert_array_equal(merged[sure], reach[sure] <= SAME_PLACE)


def test_a_chain_of_points_is_one_place_in_any_order() -> None:
    chain = np.column_stack([[0.0, 60e-6, 110e-6], np.zeros(3), [1.0, 1.01, 1.03]])
    answers = [remove_doubles(chain[list(order)]) for order in ((0, 1, 2), (0, 2, 1), (1, 0, 2), (2, 1, 0))]
    for one in answers:
        assert (one.removed, one.lowered) == (2, 0)
        np.testing.assert_array_equal(one.coordinates, answers[0].coordinates)
    np.testing.assert_allclose(answers[0].coordinates, [[0.0, 0.0, 3.04 / 3.0]], rtol=0.0, atol=1e-15)


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_the_order_of_the_points_changes_no_bit(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = np.column_stack([rng.uniform(0.0, 0.003, (150, 2)), rng.uniform(0.0, 2.0 * AGREE, 150)])
    rows = np.concatenate([rows, rows[:10]])
    one, other = remove_doubles(rows), remove_doubles(rng.permutation(rows))
    np.testing.assert_array_equal(sorted_rows(one.coordinates), sorted_rows(other.coordinates))
    assert (one.removed, one.lowered, one.worst) == (other.removed, other.lowered, other.worst)


def test_the_lowest_stands_where_doubles_disagree_and_all_are_named() -> None:
    rows = np.array([[0.0, 0.0, 3.0], [5.0, 0.0, 1.0], [0.0, 5e-5, 1.0], [5.0, 0.0, 2.0], [9.0, 9.0, 0.0]])
    left = remove_doubles(rows)
    assert left.kept.tolist() == [1, 2, 4]
    np.testing.assert_array_equal(left.coordinates, rows[[1, 2, 4]])
    assert (left.removed, left.lowered, left.worst) == (2, 2, 2.0)
    assert disagreeing(left, rows) == ((1, 3), (0, 2))
    assert disagreeing(remove_doubles(rows[[0, 1, 4]]), rows[[0, 1, 4]]) == ()


@pytest.mark.parametrize("side", [0.0, 0.0005, 0.01])
def test_crowded_points_are_told_quickly(side: float) -> None:
    plan = np.random.default_rng(4).uniform(0.0, side, (50_000, 2))
    assert near_another(plan, SAME_PLACE).mean() > 0.99
    assert remove_doubles(np.column_stack([plan, np.zeros(len(plan))])).removed > 49_000
