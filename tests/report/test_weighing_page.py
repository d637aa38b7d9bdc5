"""The page of a weighing: whole, of one piece, and safe with whatever stands in the evidence."""

from __future__ import annotations

import re
from base64 import b64encode
from collections import Counter
from fractions import Fraction
from hashlib import sha256
from typing import TYPE_CHECKING

import matplotlib as mpl
import pytest
from msgspec import structs
from pages_read import Page
from weighings import (
    LINK,
    camera,
    everything,
    evidence,
    instruction,
    legibility,
    score,
    viewing,
    weighed,
)

from retime.evidence.score import fit_score
from retime.report.weighing_measures import plain
from retime.report.weighing_page import weighing_page

if TYPE_CHECKING:
    from retime.evidence.model import Evidence

POLICY = "Content-Security-Policy"
HOSTILE = '<script>alert(1)</script> "\'&amp; $x^2$ {{ 7*7 }} #1 id="a" 映画'


def paged(told: Evidence) -> str:
    return weighing_page(told, weighed(told))


def figures(page: Page) -> int:
    """Return how many figures there are: the bars in tables are none."""
    return sum(tag == "svg" and told.get("role") == "img" for tag, told in page.tags)


@pytest.fixture(scope="module")
def source() -> str:
    return paged(everything())


@pytest.fixture(scope="module")
def page(source: str) -> Page:
    return Page(source)


def test_every_item_stands_on_the_page_with_its_source_and_note(page: Page) -> None:
    for one in everything().items:
        assert one.id in page.text
        assert one.source in page.text
        assert one.note in page.text
        assert all(implied.said in page.text for implied in one.implied)


def test_every_question_is_answered_in_words_and_drawn(page: Page) -> None:
    text = page.text

    assert "Taken at about 18, shown at about 20, looks right at about 20: two answers." in text
    for asked in ("was taken: 18", "was shown: 20", "looks right: 20"):
        assert f"The speed at which it {asked} fps leads." in text
    assert 4 == figures(page)  # one at a glance, one a question


def test_the_cautions_and_the_limits_of_the_model_stand_on_the_page(page: Page) -> None:
    for said in ("no instruction for a projector", "Nitrate film burns", "flashes", "local rules"):
        assert said in page.text
    assert "independent" in page.text
    assert "Kass" in page.text


def test_the_page_needs_nothing_from_elsewhere(source: str, page: Page) -> None:
    # A page is one file: HTML Living Standard, elements and attributes that fetch or run something.
    fetching = {"script", "link", "img", "iframe", "object", "embed", "image", "foreignobject"}

    assert set() == fetching & {tag for tag, _ in page.tags}
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            if name in {"href", "xlink:href", "src"}:
                assert (value or "").startswith("#"), (tag, value)
    assert "http:" not in source
    assert "https:" not in source
    assert "@import" not in source
    assert re.findall(r"url\(([^)]*)\)", source)
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", source))


def test_every_id_stands_once_and_every_reference_leads_to_one(source: str, page: Page) -> None:
    ids = Counter(attributes["id"] for _, attributes in page.tags if "id" in attributes)
    asked = set(re.findall(r'(?:href="|url\()#([^")]*)', source))

    assert [] == [name for name, count in ids.items() if count > 1]
    assert asked <= set(ids)


def test_text_in_figures_is_text(page: Page) -> None:
    assert "by section" in page.text
    assert "film frames per second" in page.text
    assert "91 ± 9 m missing" in page.text


def test_the_same_evidence_gives_the_same_page_whatever_style_the_user_has_set(
    source: str,
) -> None:
    with mpl.rc_context({"font.size": 30, "svg.fonttype": "path", "text.usetex": True}):
        assert source == paged(everything())


def test_text_from_the_evidence_is_told_and_never_obeyed() -> None:
    parts = score()
    assert parts.score is not None
    sections = [structs.replace(one.section, name=HOSTILE) for one in parts.score.sections]
    told = evidence(
        structs.replace(parts, source=HOSTILE, note=HOSTILE, score=fit_score(sections)),
        structs.replace(
            instruction(source=HOSTILE),
            implied=tuple(structs.replace(one, said=HOSTILE) for one in instruction().implied),
        ),
        film=HOSTILE,
    )
    source = paged(told)
    page = Page(source)

    assert "script" not in {tag for tag, _ in page.tags}
    assert page.text.count(HOSTILE) >= 5
    assert page.text.count(HOSTILE[:20]) > page.text.count(HOSTILE)  # shortened in the figure


@pytest.mark.parametrize("name", ["$x^2$ & <b>", 'a id="b" url(#c)', "灯台 1"])
def test_a_name_in_a_figure_is_neither_a_formula_nor_markup(name: str) -> None:
    parts = score()
    assert parts.score is not None
    sections = [structs.replace(one.section, name=name) for one in parts.score.sections]
    told = evidence(structs.replace(parts, score=fit_score(sections)))
    words = [word.strip() for word in Page(paged(told)).words]

    assert 2 * len(sections) == words.count(name)  # in the figure and in the table


def test_limits_are_arrows_and_what_comes_over_a_link_is_told_so() -> None:
    one = Page(paged(evidence(legibility(), camera(), links=[LINK])))

    assert "over the link: taking" in one.text
    assert "over the link: showing" in one.text
    assert "over the link" not in Page(paged(evidence(legibility()))).text


def test_a_single_question_has_one_figure() -> None:
    one = Page(paged(evidence(viewing())))

    assert 1 == figures(one)
    assert "At a glance" not in one.text


def test_every_one_of_twelve_candidates_stands_in_the_tables() -> None:
    speeds = [Fraction(16) + Fraction(place, 2) for place in range(12)]
    text = Page(paged(evidence(instruction(), candidates=speeds))).text

    for fps in speeds:
        assert f"at {float(fps):g} fps" in text
        assert f"{plain(fps * 60 / 16, 1)} ft/min" in text  # 16 frames to the foot


def test_evidence_that_nobody_trusts_makes_a_page_that_says_so() -> None:
    text = Page(paged(evidence(instruction(trust=Fraction(0))))).text

    assert "Nothing that is to be trusted speaks to any question." in text


def test_the_policy_lets_in_the_pages_own_style_alone(source: str, page: Page) -> None:
    """A style is allowed by the digest of its text: W3C, Content Security Policy Level 3."""
    inside = source[source.index("<style>") + 7 : source.index("</style>")]
    digest = b64encode(sha256(inside.encode()).digest()).decode()
    policies = [told["content"] for _, told in page.tags if told.get("http-equiv") == POLICY]

    assert [
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    ] == policies
    assert all("style" not in told for _, told in page.tags)
