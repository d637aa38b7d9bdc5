"""The page of figures: what it tells, what it lets in, and where its marks stand."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser

import pytest
from benching.curves import Curve, Point
from benching.page import page_of
from benching.plots import plots, strip
from benching.rows import Row
from measures import HOSTILE, measured


class Read(HTMLParser):
    """A page read again by the standard library: its tags, its tables' rows, its words."""

    def __init__(self, source: str) -> None:
        """Read the page, to its end."""
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.rows: list[list[str]] = []
        self.words: list[str] = []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag, and begin a row or a cell."""
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        elif tag in {"td", "th"}:
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        """Keep words, also as those of the newest cell."""
        self.words.append(data)
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] += data.strip("\n")

    @property
    def text(self) -> str:
        """All words, with a space between them."""
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def source() -> str:
    return page_of(measured())


@pytest.fixture(scope="module")
def page(source: str) -> Read:
    return Read(source)


def test_the_page_tells_every_row_the_machine_and_the_command(page: Read) -> None:
    rows = {row[0]: row[1:5] for row in page.rows if row}

    assert ["2 x", "1 to 3", "at most 1.5 x", "no"] == rows["the lamp lit"]
    assert ["1.75 x", "1.5 to 2.5", "at least 1.7 x", "yes"] == rows["the stair climbed"]
    assert ["1,234 MB", "one run", "", ""] == rows["steps counted, to be read"]
    assert HOSTILE.replace("`", "") in rows
    assert ["Lamp <7>, 2 cores"] == rows["CPU"]
    assert "scripts/bench --only 'a & b'" in page.text
    assert "2 of 4 bounds are kept. Missed:" in page.text
    assert "fog did not come to its end: the horn failed: <hoarse>" in page.text


def test_a_bound_that_is_missed_is_named_with_what_it_is_of() -> None:
    figures = measured()
    figures.parts[0].rows[1] = Row(name="the same: its wick", figures=[2.0], unit="s", most=1)
    items = re.findall("<li>(.*?)</li>", page_of(figures))

    assert "the lamp lit: 2 x, where at most 1.5 x is promised" == items[0]
    assert "the lamp lit; the same: its wick: 2 s, where at most 1 s is promised" == items[1]


def test_the_page_lets_in_its_own_style_and_nothing_else(source: str, page: Read) -> None:
    # W3C Content Security Policy Level 3: no script may run, and style only by its digest.
    policy = next(
        attributes["content"]
        for tag, attributes in page.tags
        if tag == "meta" and "http-equiv" in attributes
    )
    style = re.search(r"<style>(.*?)</style>", source, re.DOTALL)

    assert policy is not None
    assert style is not None
    digest = b64encode(sha256(style[1].encode()).digest()).decode()
    assert {"default-src 'none'", f"style-src 'sha256-{digest}'"} <= set(policy.split("; "))
    assert "prefers-color-scheme: dark" in style[1]
    for tag, attributes in page.tags:
        assert tag not in {"script", "link", "img", "iframe", "object", "base"}
        assert not {name for name in attributes if name in {"style", "src", "href"}}
        assert not {name for name in attributes if name.startswith("on")}


def test_the_same_figures_give_the_same_page(source: str) -> None:
    assert source == page_of(measured())


def part(place: str) -> float:
    """Return a percentage as a number."""
    return float(place.removesuffix("%"))


def test_a_cost_in_proportion_lies_on_the_even_line_from_corner_to_corner() -> None:
    points = [Point(at=at, figures=[at / 100]) for at in (100, 200, 400, 1600)]
    (drawn,) = plots([Curve(name="even", across="frames", unit="s", points=points)])

    assert drawn.dots[0][:2] == drawn.even[0][:2]
    assert drawn.dots[-1][:2] == drawn.even[-1][2:]
    # Both scales are logarithmic: four doublings, of which two lie between the first and third.
    first, _, third, last = (part(dot.x) for dot in drawn.dots)
    assert pytest.approx(0.5, abs=0.001) == (third - first) / (last - first)
    for dot in drawn.dots:
        assert pytest.approx(100, abs=0.02) == part(dot.x) + part(dot.y)


@pytest.mark.parametrize("figure", [0.003, 1, 2.4, 7_000])
def test_costs_that_hardly_differ_still_have_two_marks_to_be_read_by(figure: float) -> None:
    points = [Point(at=at, figures=[figure, figure * 1.01]) for at in (100, 200)]
    (drawn,) = plots([Curve(name="flat", across="frames", unit="s", points=points)])

    assert 2 <= len({mark.label for mark in drawn.down})
    assert {"100%", "0%"} <= {mark.at for mark in drawn.down}, "a scale ends at its marks"


def test_the_start_counts_once_in_the_even_line() -> None:
    points = [Point(at=at, figures=[3 + at / 100]) for at in (100, 1600)]
    (drawn,) = plots([Curve(name="even", across="frames", unit="s", points=points, start=3)])

    assert drawn.dots[-1][:2] == drawn.even[-1][2:]


def test_what_cannot_be_drawn_on_a_logarithmic_scale_is_left_out() -> None:
    one, nothing = Point(at=1, figures=[1]), Point(at=2, figures=[0, 1])
    curves = [
        Curve(name="short", across="frames", unit="s", points=[one]),
        Curve(name="nothing", across="frames", unit="s", points=[one, nothing]),
    ]

    assert [] == plots(curves)


@pytest.mark.parametrize(
    ("figures", "most", "least", "at", "low", "high"),
    [
        ([2], 2, None, 50, 50, 50),  # at the bound
        ([1, 2, 8], 2, None, 50, 100 / 3, 250 / 3),  # half, and four times, of 1/8 to 8
        ([4, 3.4, 2], None, 1.7, 100 / 3, 29.43, 46.09),  # twice what is promised is half
        ([0.001, 100, 9], 1, None, 100, 0, 100),  # beyond the ends
        ([-5], 1, None, 0, 0, 0),
        ([-5], None, 1, 100, 100, 100),
    ],
)
def test_what_keeps_its_bound_lies_left_of_the_middle(  # noqa: PLR0913, PLR0917 - a row each
    figures: list[float],
    most: float | None,
    least: float | None,
    at: float,
    low: float,
    high: float,
) -> None:
    drawn = strip(Row(name="a", figures=figures, unit="x", most=most, least=least))

    assert drawn is not None
    assert pytest.approx(at, abs=0.01) == part(drawn.at)
    assert pytest.approx(low, abs=0.01) == part(drawn.low)
    assert pytest.approx(high, abs=0.02) == part(drawn.low) + part(drawn.wide)


def test_a_row_without_a_bound_has_no_strip() -> None:
    assert strip(Row(name="a", figures=[1], unit="x")) is None
