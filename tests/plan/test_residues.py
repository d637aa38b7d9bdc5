"""Sums and extremes of (a x + b) mod m, without visiting every x, equal plain loops."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from retime.plan.residues import Residues, floor_sums, residues, smallest_residue

small = st.integers(-500, 500)
modulus = st.integers(1, 400)


@settings(max_examples=400, deadline=None)
@given(st.integers(-5, 40), st.integers(-1, 90), small, small, modulus)
def test_residues_equal_a_plain_loop(first: int, more: int, a: int, b: int, m: int) -> None:
    numbers = [(a * x + b) % m for x in range(first, first + more + 1)]

    assert Residues.of(numbers) == residues(first, first + more, a, b, m)


@settings(max_examples=400, deadline=None)
@given(st.integers(-1, 80), st.integers(0, 500), st.integers(0, 500), modulus)
def test_floor_sums_equal_a_plain_loop(n: int, a: int, b: int, m: int) -> None:
    floors = [(a * x + b) // m for x in range(n + 1)]
    expected = (
        sum(floors),
        sum(x * floor for x, floor in enumerate(floors)),
        sum(floor * floor for floor in floors),
    )

    assert expected == floor_sums(n, a, b, m)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 80), small, small, modulus)
def test_the_least_residue_equals_a_plain_loop(n: int, a: int, b: int, m: int) -> None:
    assert min((a * x + b) % m for x in range(n + 1)) == smallest_residue(n, a, b, m)


def test_a_run_of_a_million_million_is_reckoned_at_once() -> None:
    # Over a whole number of periods the residues of a coprime step are 0..m-1, equally often.
    m, times = 20_123, 50_000_000
    found = residues(0, m * times - 1, 24_000, 7, m)

    assert found.size == m * times
    assert (found.smallest, found.largest) == (0, m - 1)
    assert found.total == times * (m * (m - 1) // 2)
    assert found.squares == times * ((m - 1) * m * (2 * m - 1) // 6)


@given(st.lists(small, max_size=20), small, small)
def test_shifting_and_adding_keep_what_numbers_amount_to(
    numbers: list[int], by: int, more: int
) -> None:
    moved = Residues.of([number + by for number in numbers])

    if numbers:
        assert moved == Residues.of(numbers).shifted(by)
    assert Residues.of([*numbers, more]) == Residues.of(numbers).with_number(more)
