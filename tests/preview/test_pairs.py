"""Pairs of speeds: their order, what votes come to, and the item, all as Chromium reckons them."""

from __future__ import annotations

import random
from collections import Counter
from fractions import Fraction
from itertools import combinations, islice, pairwise
from math import asin, erf, inf, log, pi, sqrt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from browser import started
from pair_fits import (
    PRIOR,
    Vote,
    both_tails,
    circular,
    errors,
    split_mix,
    strengths,
    tossed,
    votes_of,
)

from retime.evidence.model import Kind, Question
from retime.evidence.reading import read
from retime.evidence.weighing import weigh

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playwright.sync_api import Page

    from retime.evidence.model import Evidence

FOLDER = Path(__file__).parents[2] / "retime" / "preview" / "page"
MODULES = ("yaml", "lists", "chance", "normal", "triads", "viewing", "pairs")
SPEEDS = ("16", "18", "20", "22", "24")
LIKED = {"16": -1.2, "18": 0.3, "20": 1.0, "22": 0.4, "24": -0.5}
"""Strengths by which votes are drawn."""


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """Open a page that holds nothing but the modules."""
    sources = [(FOLDER / f"{name}.js").read_text(encoding="utf-8") for name in MODULES]
    with started() as browser:
        opened = browser.new_page()
        opened.goto("about:blank")
        opened.add_script_tag(content='"use strict";\n' + "".join(sources))
        yield opened


def fit(page: Page, speeds: Sequence[str], votes: Sequence[Vote], prior: float = PRIOR) -> Any:
    """Return what pairs.fit returns; without a prior where that is infinite."""
    told = [one._asdict() for one in votes]
    variance = "Infinity" if prior == inf else "undefined"
    return page.evaluate(
        f"([speeds, votes]) => pairs.fit(speeds, votes, {variance})", [speeds, told]
    )


def scale(fitted: Any) -> list[float]:
    return [one["strength"] for one in fitted["scale"]]


def drawn(count: int, seed: int, *, neither: float = 0.0) -> list[Vote]:
    """Return rounds of votes as strengths of LIKED bring them about."""
    dice = random.Random(seed)  # noqa: S311 - for tests
    found = []
    for _ in range(count):
        for a, b in combinations(SPEEDS, 2):
            left, right = (a, b) if dice.random() < 0.5 else (b, a)
            wins = dice.random() < 1 / (1 + np.exp(LIKED[right] - LIKED[left]))
            said = "left" if wins else "right"
            found.append(Vote(left, right, "neither" if dice.random() < neither else said))
    return found


def below(x: float) -> float:
    """Return the share of a normal distribution below x."""
    return (1 + erf(x / sqrt(2))) / 2


# ---------------------------------------------------------------------------------------- the order


def test_chance_is_the_published_generator(page: Page) -> None:
    """The first five numbers of SplitMix64 for the seed 1234567: Rosetta Code, from memory."""
    published = [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]
    script = "() => { const next = chance.source(1234567); return Array.from({length: 5}, next); }"

    assert published == list(islice(split_mix(1234567), 5))
    assert [one >> 32 for one in published] == page.evaluate(script)


@pytest.mark.parametrize("seed", [0, 7, 2**32 - 1])
def test_the_order_is_a_shuffle_and_a_toss_by_that_generator(page: Page, seed: int) -> None:
    """With few numbers to choose from, none of 32 bits is ever sent back."""
    numbers = (one >> 32 for one in split_mix(seed))
    expected = []
    for _ in range(2):
        every = [list(pair) for pair in combinations(SPEEDS, 2)]
        for last in range(len(every) - 1, 0, -1):
            other = next(numbers) % (last + 1)
            every[last], every[other] = every[other], every[last]
        expected += [pair[::-1] if next(numbers) % 2 else pair for pair in every]

    assert expected == page.evaluate(
        "([speeds, seed]) => pairs.order(speeds, 2, seed)", [SPEEDS, seed]
    )


def test_what_is_past_the_last_whole_turn_is_drawn_again(page: Page) -> None:
    """2 to the 32 is 3 x 1,431,655,765 + 1: the highest number would make 0 more frequent."""
    script = """() => {
      const given = [2 ** 32 - 1, 2 ** 32 - 2, 4];
      return [0, 0].map(() => chance.below(3, () => given.shift()));
    }"""

    assert [(2**32 - 2) % 3, 1] == page.evaluate(script)


@pytest.mark.parametrize("rounds", [0, 1, 3])
def test_every_pair_comes_once_a_round(page: Page, rounds: int) -> None:
    for seed in range(5):
        found = page.evaluate(f"speeds => pairs.order(speeds, {rounds}, {seed})", SPEEDS)
        for first in range(0, len(found), 10):
            told = {frozenset(pair) for pair in found[first : first + 10]}
            assert {frozenset(pair) for pair in combinations(SPEEDS, 2)} == told
        assert 10 * rounds == len(found)


def test_all_orders_and_sides_are_as_frequent_as_each_other(page: Page) -> None:
    """Three speeds: 3! orders of their pairs and 2 to the third sides, 48 in all, 200 times each.

    Chi-squared of 47 degrees of freedom has the mean 47 and the deviation sqrt(94).
    """
    counts = page.evaluate(
        """() => {
          const found = {};
          for (let seed = 0; seed < 9600; seed++) {
            const told = pairs.order(["a", "b", "c"], 1, seed).join(" ");
            found[told] = (found[told] || 0) + 1;
          }
          return found;
        }"""
    )
    chi = sum((count - 200) ** 2 / 200 for count in counts.values())

    assert 48 == len(counts)
    assert 47 - 4 * sqrt(94) < chi < 47 + 4 * sqrt(94)


def test_what_was_on_the_left_says_nothing_of_what_will_be(page: Page) -> None:
    """Of five speeds over 2,000 seeds: each pair at each of ten places, on each side, 100 times."""
    counts = page.evaluate(
        """speeds => {
          const found = {};
          for (let seed = 0; seed < 2000; seed++) {
            pairs.order(speeds, 1, seed * 65536).forEach((pair, place) => {
              const told = `${pair} ${place}`;
              found[told] = (found[told] || 0) + 1;
            });
          }
          return found;
        }""",
        SPEEDS,
    )
    chi = sum((count - 100) ** 2 / 100 for count in counts.values())

    assert 200 == len(counts)
    assert chi < 200 + 4 * sqrt(400)


# ------------------------------------------------------------------------------------ the strengths

# American League, eastern division, 1987: how often the first team beat the second in 13 games.
# Alan Agresti, Categorical Data Analysis (2nd edition, 2002), chapter 10, with the fitted strengths
# relative to Baltimore's; table and strengths from memory
TEAMS = ("Milwaukee", "Detroit", "Toronto", "New York", "Boston", "Cleveland", "Baltimore")
GAMES = (
    (None, 7, 9, 7, 7, 9, 11),
    (6, None, 7, 5, 11, 9, 9),
    (4, 6, None, 7, 7, 8, 12),
    (6, 8, 6, None, 6, 7, 10),
    (6, 2, 6, 7, None, 7, 12),
    (4, 4, 5, 6, 6, None, 6),
    (2, 4, 1, 3, 1, 7, None),
)
PUBLISHED = (1.58, 1.44, 1.29, 1.25, 1.11, 0.68, 0)


def test_strengths_are_those_of_a_published_table(page: Page) -> None:
    wins = {
        (one, other): count
        for one, row in zip(TEAMS, GAMES, strict=True)
        for other, count in zip(TEAMS, row, strict=True)
        if count
    }
    found = scale(fit(page, TEAMS, votes_of(wins), inf))

    assert PUBLISHED == tuple(round(one - found[-1], 2) for one in found)


@pytest.mark.parametrize("prior", [PRIOR, inf])
@pytest.mark.parametrize(("rounds", "neither"), [(1, 0.2), (4, 0.0), (9, 0.4)])
def test_strengths_and_errors_are_those_of_another_fit(
    page: Page, rounds: int, neither: float, prior: float
) -> None:
    votes = drawn(rounds, 11 * rounds, neither=neither)
    if prior == inf and rounds == 1:
        votes += drawn(6, 5)  # one round alone need not have a likeliest fit
    found = fit(page, SPEEDS, votes, prior)
    expected = strengths(SPEEDS, votes, prior)
    covariance = errors(SPEEDS, votes, expected, prior)

    assert expected == pytest.approx(scale(found), abs=1e-8)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(
        [one["error"] for one in found["scale"]], rel=1e-4
    )


@pytest.mark.parametrize(("first", "second"), [(7, 3), (1, 1), (30, 5)])
def test_two_speeds_differ_by_the_logarithm_of_their_odds(
    page: Page, first: int, second: int
) -> None:
    """And that has the variance 1/a + 1/b; each strength has half of it, and half its error."""
    votes = votes_of({("18", "20"): first, ("20", "18"): second})
    found = fit(page, ("18", "20"), votes, inf)
    apart, doubt = log(first / second), sqrt(1 / first + 1 / second)

    assert [apart / 2, -apart / 2] == pytest.approx(scale(found), abs=1e-12)
    assert doubt / 2 == pytest.approx(found["scale"][0]["error"])
    assert [below(apart / doubt), below(-apart / doubt)] == pytest.approx(found["shares"])


def test_speeds_in_a_chain_differ_each_by_its_own_odds(page: Page) -> None:
    """Where 16 and 20 never met, their difference is the sum of both, and so is its variance."""
    wins = {("16", "18"): 2, ("18", "16"): 6, ("18", "20"): 9, ("20", "18"): 3}
    slow, middle, fast = scale(fit(page, ("16", "18", "20"), votes_of(wins), inf))

    assert log(2 / 6) == pytest.approx(slow - middle)
    assert log(9 / 3) == pytest.approx(middle - fast)


def test_three_speeds_that_each_beat_the_next_are_alike(page: Page) -> None:
    wins = {("16", "18"): 4, ("18", "20"): 4, ("20", "16"): 4}
    found = fit(page, ("16", "18", "20"), votes_of(wins))

    assert [0, 0, 0] == pytest.approx(scale(found), abs=1e-12)
    assert [1 / 3] * 3 == pytest.approx(found["shares"], abs=1e-4)


def test_a_speed_that_always_won_stays_finite_and_is_surer_with_every_vote(page: Page) -> None:
    """What ten votes say is held back by the prior alone: 10 (1 - p) is what it takes, d / 3.29."""
    leads = []
    for count in (1, 3, 10, 100):
        found = fit(page, ("18", "20"), [Vote("18", "20", "right")] * count)
        apart = scale(found)[1] - scale(found)[0]
        assert apart / (2 * PRIOR) == pytest.approx(count / (1 + np.exp(apart)))
        leads.append(found["shares"][1])
    assert all(before < after for before, after in pairwise(leads))
    assert leads[0] < 0.8
    assert leads[-1] > 0.999


def test_without_votes_all_speeds_are_alike(page: Page) -> None:
    """Their strengths' variance is the prior's, less that of the mean, which is held at 0."""
    found = fit(page, SPEEDS, ())

    assert [0.2] * 5 == pytest.approx(found["shares"], abs=1e-4)
    assert [sqrt(PRIOR * 4 / 5)] * 5 == pytest.approx([one["error"] for one in found["scale"]])
    assert None is found["consistency"]
    assert {"left": 0, "right": 0, "p": 1} == found["sides"]


@pytest.mark.parametrize("share", [0.1, 0.25, 0.5, 0.75, 0.9])
def test_before_any_vote_every_preference_of_a_pair_is_about_as_likely(
    page: Page, share: float
) -> None:
    """That is what the prior stands for: one below 10 % has a probability of about 10 %."""
    deviation = 2 * fit(page, ("18", "20"), ())["scale"][0]["error"]

    assert share == pytest.approx(below(log(share / (1 - share)) / deviation), abs=0.025)


def test_cannot_tell_is_half_a_vote_for_both(page: Page) -> None:
    tied = [Vote("18", "20", "neither"), Vote("20", "18", "neither"), Vote("18", "20", "right")]
    halved = [Vote("18", "20", "left"), Vote("18", "20", "right"), Vote("18", "20", "right")]
    one, other = fit(page, ("18", "20"), tied), fit(page, ("18", "20"), halved)

    assert one["scale"] == other["scale"]
    assert {"count": 2, "of": 3, "share": pytest.approx(2 / 3)} == one["undecided"]
    assert 0 == other["undecided"]["share"]


def test_a_vote_on_a_speed_that_was_not_offered_is_refused(page: Page) -> None:
    with pytest.raises(Exception, match="19 is none of the speeds that were compared"):
        fit(page, ("18", "20"), [Vote("18", "19", "left")])


# --------------------------------------------------------------------------------------- the shares


def test_shares_of_three_are_those_of_a_quadrant(page: Page) -> None:
    """16 and 18 tied 4 times and 18 and 20 10 times: differences of variance 1 and 0.4.

    The share of a quadrant of two normal figures of mean 0 is 1/4 + asin(r) / (2 pi) (Sheppard
    1899).
    """
    votes = [Vote("16", "18", "neither")] * 4 + [Vote("18", "20", "neither")] * 10
    found = fit(page, ("16", "18", "20"), votes, inf)["shares"]
    correlations = (1 / sqrt(1.4), 0, 0.4 / sqrt(0.4 * 1.4))

    assert [1 / 4 + asin(r) / (2 * pi) for r in correlations] == pytest.approx(found, abs=2e-4)


@pytest.mark.parametrize("seed", [1, 2])
def test_shares_of_five_are_those_of_many_draws(page: Page, seed: int) -> None:
    """A standard deviation of a share over 400,000 draws is 0.0008 at most."""
    votes = drawn(2, seed, neither=0.2)
    found = fit(page, SPEEDS, votes)
    expected = strengths(SPEEDS, votes, PRIOR)
    chance = np.random.default_rng(seed)
    covariance = errors(SPEEDS, votes, expected, PRIOR)
    draws = chance.multivariate_normal(expected, covariance, 400_000, method="eigh")
    counts = Counter(draws.argmax(axis=1).tolist())

    assert [counts[i] / 4e5 for i in range(5)] == pytest.approx(found["shares"], abs=0.003)
    assert 1 == pytest.approx(sum(found["shares"]))


def test_known_preferences_are_found_again(page: Page) -> None:
    """200 rounds, 2,000 votes: every strength within 3.5 of its errors, which are under 0.1."""
    found = fit(page, SPEEDS, drawn(200, 1), inf)
    centre = sum(LIKED.values()) / 5
    for one in found["scale"]:
        assert one["error"] < 0.1
        assert abs(one["strength"] - (LIKED[one["speed"]] - centre)) < 3.5 * one["error"]
    assert found["shares"][2] > 0.99


def test_viewers_are_as_often_right_as_their_shares_say(page: Page) -> None:
    """80 viewers of three rounds: the mean share of the speed that leads, and how often it is best.

    The deviation of that count over 80 is 0.05 or so. Errors are as large as they say: the mean
    square of misses over errors is 1, give or take 4 sqrt(2 / 320), and less by what the prior
    holds back.
    """
    told = [[one._asdict() for one in drawn(3, seed)] for seed in range(80)]
    script = "([speeds, all]) => all.map((votes) => pairs.fit(speeds, votes))"
    fits = page.evaluate(script, [SPEEDS, told])
    centre = sum(LIKED.values()) / 5
    leading = [max(one["shares"]) for one in fits]
    right = [one["shares"].index(max(one["shares"])) == 2 for one in fits]
    misses = [
        ((one["strength"] - LIKED[one["speed"]] + centre) / one["error"]) ** 2
        for found in fits
        for one in found["scale"]
    ]

    assert np.mean(leading) == pytest.approx(np.mean(right), abs=0.15)
    assert 0.6 < np.mean(misses) < 1.3


# ---------------------------------------------------------------------------- consistency and sides

# in how many outcomes of all pairs there are 0, 1, 2... circular triads: Kendall and Babington
# Smith, On the method of paired comparisons, 1940, from memory
CIRCULAR = {
    3: [6, 2],
    4: [24, 16, 24],
    5: [120, 120, 240, 240, 280, 24],
    6: [720, 960, 2240, 2880, 6240, 3648, 8640, 4800, 2640],
}


@pytest.mark.parametrize("count", CIRCULAR)
def test_tossing_for_pairs_makes_circular_triads_as_often_as_published(
    page: Page, count: int
) -> None:
    found = page.evaluate(f"() => triads.tossedTriads({count})")
    outcomes = 2 ** (count * (count - 1) // 2)

    assert count > 5 or CIRCULAR[count] == tossed(count)
    assert CIRCULAR[count] == [round(one * outcomes, 9) for one in found]


def test_circular_triads_are_those_that_are_found_one_by_one(page: Page) -> None:
    """What could not be told is the mean over both ways, here found by going through them."""
    dice = random.Random(4)  # noqa: S311 - for tests
    every = list(combinations(range(5), 2))
    for _ in range(12):
        said = {pair: dice.choice(["left", "right", "neither"]) for pair in every}
        votes = [Vote(SPEEDS[i], SPEEDS[j], said[i, j]) for i, j in every]
        dice.shuffle(votes)
        found = fit(page, SPEEDS, votes)["consistency"]
        ways: list[dict[tuple[int, int], bool]] = [{}]
        for pair in every:
            sides = {"left": [True], "right": [False], "neither": [True, False]}[said[pair]]
            ways = [way | {pair: side} for way in ways for side in sides]
        mean = sum(circular(way, 5) for way in ways) / len(ways)

        assert mean == pytest.approx(found["circular"])
        assert 1 - mean / 5 == pytest.approx(found["coefficient"])
        assert sum(CIRCULAR[5][: int(mean) + 1]) / 1024 == pytest.approx(found["p"])


def test_a_viewer_of_one_mind_has_the_coefficient_1_and_one_who_goes_round_has_0(
    page: Page,
) -> None:
    """Five, each of which beats the next two: 5 circular triads of 5 that there can be."""
    mind = [Vote(a, b, "right") for a, b in combinations(SPEEDS, 2)]
    around = [Vote(SPEEDS[i], SPEEDS[(i + k) % 5], "left") for i in range(5) for k in (1, 2)]
    one, other = (fit(page, SPEEDS, votes)["consistency"] for votes in (mind, around))

    assert (0, 5, 1) == (one["circular"], one["possible"], one["coefficient"])
    assert 120 / 1024 == pytest.approx(one["p"])
    assert (5, 0, 1) == (other["circular"], other["coefficient"], other["p"])


def test_two_rounds_are_two_tosses_and_what_is_left_of_a_third_is_left_out(page: Page) -> None:
    """Both of one mind: 120/1024, squared; with one circular triad, 2 x 120 x 120 more ways."""
    mind = [Vote(a, b, "right") for a, b in combinations(SPEEDS, 2)]
    turned = [Vote(a, b, "left" if (a, b) == ("16", "20") else "right") for a, b, _ in mind]
    both = fit(page, SPEEDS, [*mind, *mind, *mind[:9]])["consistency"]
    once = fit(page, SPEEDS, [*mind, *turned])["consistency"]

    assert (2, 0, 10) == (both["rounds"], both["circular"], both["possible"])
    assert (120 / 1024) ** 2 == pytest.approx(both["p"])
    assert 1 == once["circular"]
    assert 3 * (120 / 1024) ** 2 == pytest.approx(once["p"])


def test_two_speeds_make_no_triad_and_less_than_a_round_says_nothing(page: Page) -> None:
    assert None is fit(page, ("18", "20"), [Vote("18", "20", "left")])["consistency"]
    assert None is fit(page, SPEEDS, [Vote("18", "20", "left")] * 30)["consistency"]


@pytest.mark.parametrize(
    ("left", "right"), [(0, 0), (1, 0), (5, 5), (0, 10), (8, 3), (60, 40), (700, 800)]
)
def test_sides_are_tested_as_a_coin_is(page: Page, left: int, right: int) -> None:
    votes = [Vote("18", "20", "left")] * left + [Vote("18", "20", "right")] * right
    found = fit(page, ("18", "20"), [*votes, Vote("18", "20", "neither")])["sides"]

    assert (left, right) == (found["left"], found["right"])
    assert both_tails(left, right) == pytest.approx(found["p"], rel=1e-9)


# ----------------------------------------------------------------------------------------- the item

HEAD = """\
format: retime-evidence/1
film: The Tidewatcher's Lamp
gauge: 35mm
length: 646 frames
candidates: [16 fps, 18 fps, 20 fps, 22 fps, 24 fps]
evidence:
"""


def written(page: Page, speeds: Sequence[str], votes: Sequence[Vote], **more: Any) -> str:
    """Return the text of an item."""
    told = {
        "film": "The Tidewatcher's Lamp",
        "excerpt": "Reel 1, shot 4",
        "screen": 59.94,
        "date": "2024-05-01",
        "speeds": speeds,
        "votes": [one._asdict() for one in votes],
        **more,
    }
    script = "told => pairs.item({...told, fit: pairs.fit(told.speeds, told.votes)})"
    return str(page.evaluate(script, told))


def evidence(item: str) -> Evidence:
    return read(f"{HEAD}{item}", Path("saved.yaml"))


HOSTILE = [
    ('"Lamp" # : {x} \\ \'', '"Lamp" # : {x} \\ \''),
    ("Lamp:\nid: evil\r\n- x", "Lamp: id: evil"),
    ("\u202eLamp\u2066 \u2028 \x85 \x00\x1b end", "\u202eLamp\u2066"),
    ("- Lamp", "- Lamp"),
    ("%TAG & *x !y | >", "%TAG & *x !y | >"),
    ("<script>alert(1)</script>", "<script>alert(1)</script>"),
    ("half \ud83c of a pair \ufffe", "of a pair"),
    ("\U0001f3ac" * 2000, "\U0001f3ac" * 150),
    ("x" * 2000, "x" * 150),
]
"""Titles, and what of them is to be read again."""


def test_the_item_weighs_to_the_mean_by_its_shares(page: Page) -> None:
    votes = drawn(6, 3)
    shares = fit(page, SPEEDS, votes)["shares"]
    found = evidence(written(page, SPEEDS, votes))
    (item,) = found.items
    (implied,) = item.implied
    mean = sum(int(speed) * share for speed, share in zip(SPEEDS, shares, strict=True))
    spread = sum(
        share * (int(speed) - mean) ** 2 for speed, share in zip(SPEEDS, shares, strict=True)
    )

    assert (Kind.VIEWING, Question.LOOKING) == (item.kind, item.question)
    assert mean == pytest.approx(float(implied.speed.value), abs=0.01)
    assert 1 / 3 + spread == pytest.approx(float(implied.speed.variance), abs=0.03)
    assert "on a screen of 59.94 Hz" in implied.said
    (answer,) = weigh(found).answers
    assert mean == pytest.approx(answer.curve.best, abs=0.05)


def test_what_else_is_told_of_the_screen_goes_into_the_note(page: Page) -> None:
    said = "60.0 Hz: 16 fps 4:4:4:3 uneven, 20 fps 3:3 even"
    (item,) = evidence(written(page, SPEEDS, drawn(1, 1), screen=said)).items

    assert item.implied[0].said.endswith("on a screen of 60.0 Hz")
    assert "on the screen 16 fps 4:4:4:3 uneven, 20 fps 3:3 even." in item.note


def test_the_item_tells_its_votes_so_that_they_can_be_weighed_again(page: Page) -> None:
    votes = votes_of({("18", "20"): 2, ("20", "18"): 5, ("22", "18"): 1})
    (item,) = evidence(
        written(page, ("18", "20", "22"), [*votes, Vote("20", "18", "neither")])
    ).items

    assert "18 and 20 2-5-1; 18 and 22 0-1-0." in item.note
    assert "9 votes, of which 1 could not tell" in item.note
    assert "viewing-2024-05-01" == item.id


@pytest.mark.parametrize(("film", "shown"), HOSTILE)
def test_a_hostile_title_stays_a_text(page: Page, film: str, shown: str) -> None:
    (item,) = evidence(written(page, SPEEDS, drawn(2, 1), film=film, excerpt=film)).items

    assert item.source.startswith("Blind comparison of pairs: ")
    assert shown in item.source
    assert item.source.endswith("2024-05-01")
    assert "viewing-2024-05-01" == item.id


@pytest.mark.parametrize("film", [*(film for film, _ in HOSTILE), "../../etc/x", "..\\", "", "\n"])
def test_a_whole_file_is_read_whatever_the_film_is_called(page: Page, film: str) -> None:
    """A film's title may become part of a file's name: at most 100 bytes, and no way out."""
    items = [written(page, SPEEDS, drawn(1, 1), film=film, id=name) for name in ("a", "b")]
    speeds = ["8", *SPEEDS, "24000/1001", "36"]
    told = {"film": film, "gauge": "35mm", "frames": 646, "speeds": speeds, "items": items}
    found = read(page.evaluate("told => viewing.file(told)", told), Path("saved.yaml"))

    assert ["a", "b"] == [item.id for item in found.items]
    assert 646 == found.length.value
    assert [16, 18, 20, 22, 24, Fraction(24000, 1001)] == [one.fps for one in found.candidates]
    assert weigh(found).answers


@pytest.mark.parametrize(
    ("speeds", "within"),
    [
        (("16", "18", "20"), 1),
        (("16", "17", "20", "24"), 2),
        (("24000/1001", "24"), 0.5),
        (("12", "30"), 6),
        (("18",), 0.5),
    ],
)
def test_nothing_between_two_speeds_that_were_seen_was_seen(
    page: Page, speeds: Sequence[str], within: float
) -> None:
    """Half the widest step; finer than half a frame nobody is taken to tell speeds apart."""
    votes = [Vote(a, b, "left") for a, b in combinations(speeds, 2)] * 40
    text = written(page, speeds, votes, screen=None)
    (item,) = evidence(text).items

    assert f"    within: {within:g} fps " in text
    assert within**2 / 3 <= float(item.implied[0].speed.variance) + 1e-9
    assert "screen" not in text


@pytest.mark.parametrize("name", ["Reel 1 / shot 4", "ÄÖ", "", "-x-", "y" * 90, "9"])
def test_any_text_becomes_a_name_that_evidence_takes(page: Page, name: str) -> None:
    (item,) = evidence(written(page, SPEEDS, drawn(1, 1), id=name)).items

    assert item.id


def test_shares_are_written_so_that_they_make_a_hundred(page: Page) -> None:
    dice = np.random.default_rng(1)
    for count in (2, 3, 7, 12):
        shares = dice.dirichlet([0.3] * count).tolist()
        speeds = [str(12 + i) for i in range(count)]
        text = page.evaluate(
            """([speeds, shares]) => pairs.item({
                 speeds, votes: [], date: "2024",
                 fit: {...pairs.fit(speeds, []), shares},
               })""",
            [speeds, shares],
        )
        line = next(one for one in text.splitlines() if "shares: " in one)
        told = [float(one.split(": ")[1]) for one in line.split("{")[1].split(" %")[:-1]]

        assert 100 == pytest.approx(sum(told), abs=1e-9)
        assert all(abs(100 * share - one) < 0.1 for share, one in zip(shares, told, strict=True))
        assert evidence(text).items
