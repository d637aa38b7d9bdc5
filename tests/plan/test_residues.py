"""Sums and extremes of (a x + b) mod m, without visiting every x, equal plain loops."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from retime.plan.residues import Listed, Residues, floor_sums, smallest_residue

small = st.integers(-500, 500)
modulus = st.integers(1, 400)


@settings(max_examples=400, deadline=None)
@given(st.integers(-1, 90), st.tuples(small, small, modulus), small, st.none() | small)
def test_residues_equal_a_plain_loop(
    n: int, rule: tuple[int, int, int], less: int, also: int | None
) -> None:
    a, b, m = rule
    numbers = [(a * x + b) % m - less for x in range(n + 1)]
    numbers += [] if also is None else [also]
    found = Residues(n=n, a=a, b=b, m=m, less=less, also=also)

    assert found.sums() == (len(numbers), sum(numbers), sum(x * x for x in numbers))
    assert found.sums() == Listed(numbers=numbers).sums()
    if numbers:
        low, high = found.bounds()
        assert (min(numbers), max(numbers)) == found.extremes()
        assert found.extremes() == Listed(numbers=numbers).extremes()
        assert low <= min(numbers) <= max(numbers) <= high


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
    found = Residues(n=m * times - 1, a=24_000, b=7, m=m, less=0)
    size, total, squares = found.sums()

    assert size == m * times
    assert found.extremes() == (0, m - 1)
    assert total == times * (m * (m - 1) // 2)
    assert squares == times * ((m - 1) * m * (2 * m - 1) // 6)
