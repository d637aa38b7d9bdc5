"""A weighing as tables: nothing is cut off, and the verdicts come first."""

from __future__ import annotations

import re
from fractions import Fraction
from io import StringIO
from math import exp, log

import pytest
from rich.console import Console
from weighings import everything, evidence, instruction, item, score, speed_item, weighed

from retime.evidence.model import Evidence, Kind
from retime.evidence.quantity import exactly, within
from retime.evidence.score import Section, fit_score
from retime.report.weighing_measures import plain
from retime.report.weighing_sections import fit_said, section_rows
from retime.report.weighing_table import weighing_tables


def printed(told: Evidence, width: int = 100) -> str:
    """Return the tables as a terminal of that width shows them."""
    out = StringIO()
    console = Console(file=out, width=width, color_system=None, highlight=False, markup=False)
    console.print(weighing_tables(told, weighed(told)))
    return out.getvalue()


def words(text: str) -> str:
    """Return the letters alone, wherever lines were folded."""
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("width", [100, 120, 160])
def test_nothing_is_cut_off_at_the_widths_that_people_use(width: int) -> None:
    told = everything()
    text = printed(told, width)

    assert max(map(len, text.splitlines())) <= width
    assert "..." not in text.replace("23..25", "")
    assert "\u2026" not in text
    for one in told.items:
        assert one.id in text
        assert all(word in text for word in one.source.split())
        for implied in one.implied:
            assert f"{float(implied.speed.value):.2f}" in text


def test_every_one_of_twelve_candidates_is_told_at_every_item() -> None:
    speeds = [Fraction(16) + Fraction(place, 2) for place in range(12)]
    text = printed(evidence(instruction(), candidates=speeds))

    for fps in speeds:
        # 16 frames to the foot: 60 times the fps over 16.
        assert f"{plain(fps * 60 / 16, 1)} ft/min" in text
        assert f"at {float(fps):g} fps" in text


def test_the_verdict_comes_before_what_it_comes_from() -> None:
    text = printed(everything())
    places = [
        text.index(part)
        for part in (
            "Taken at about 18, shown at about 20, looks right at about 20: two answers.",
            "The speed at which it was taken: 18 fps leads.",
            "The speed at which it was shown: 20 fps leads.",
            "what is at odds",
            "the items",
            "what each says",
            "what each should have said",
            "3. part sticks out",
            "Kass",
        )
    ]

    assert sorted(places) == places


def test_sentence_table_and_pairs_tell_one_factor_for_the_same_two_candidates() -> None:
    told = evidence(instruction())  # 80 ft/min, 21.33 fps: no candidate
    (answer,) = weighed(told).answers
    text = printed(told, 160)
    rows = [
        re.split(r" {2,}", line.strip())
        for line in text.splitlines()
        if re.match(r" +\d+ fps  ", line)
    ]
    pairs = dict(re.findall(r"22 over (\d+) \(([^)]+)\)", text))

    # Two bells of one width, 1/20 over the root of 3 (JCGM 100:2008, 4.3.7): the factor follows.
    u = 1 / 20 / 3**0.5
    factor = exp((log(20 / (64 / 3)) ** 2 - log(22 / (64 / 3)) ** 2) / (2 * u**2))
    assert 22 == answer.ranked[0].speed.fps
    assert f"{factor:.1f}" == pairs["20"]
    assert f"{factor:.1f} times as much as 20 fps" in text.replace("\n", " ")
    assert "22 fps" == rows[0][0]
    assert "times" not in "".join(rows[0])
    assert pairs == {
        cells[0].removesuffix(" fps"): cells[2].removesuffix(" times as much") for cells in rows[1:]
    }
    assert "22 fps is supported" in text
    assert "support (1 at 21.33 fps)" in text


def test_a_candidate_that_stands_alone_is_compared_with_none() -> None:
    text = printed(evidence(instruction(), candidates=(20,)))

    assert "fps is supported" not in text
    assert "support (1 at 21.33 fps)" in text


def test_what_fits_is_marked_at_the_candidates_that_it_fits() -> None:
    text = printed(evidence(instruction(), candidates=(20, 21, 22, 24)))
    cells = dict(re.findall(r"([\d.]+) ft/min( fits|  )", text))

    # 80 ft/min within 4: from 76 to 84.
    assert {"75": False, "78.8": True, "82.5": True, "90": False} == {
        figure: bool(mark.strip())
        for figure, mark in cells.items()
        if figure in {"75", "78.8", "82.5", "90"}
    }


def test_a_section_that_sticks_out_is_told_with_what_is_missing_in_metres_and_feet() -> None:
    text = printed(evidence(score()))
    (line,) = [line for line in text.splitlines() if "missing" in line]

    # 4,800 frames were left out: 300 ft, 91.44 m.
    assert "3. part" in line
    assert re.search(r"about 91 ± \d+ m \(300 ± \d+ ft\) missing", line)


def test_footage_that_was_added_is_told_as_added() -> None:
    fit = fit_score([_section(place, 12_000 + (3_200 if place == 1 else 0)) for place in range(6)])
    told = evidence(item("parts", Kind.SCORE, score=fit))
    row = list(section_rows(told, fit))[1]

    # 3,200 frames are 200 ft.
    assert re.fullmatch(r"about 61 ± \d+ m \(200 ± \d+ ft\) added", row.told)


def test_a_score_of_two_speeds_is_told_as_two_runs() -> None:
    frames = [10_800] * 4 + [13_200] * 4  # 18 and 22 fps over ten minutes
    fit = fit_score([_section(place, count) for place, count in enumerate(frames)])
    said = fit_said(fit)

    assert said.startswith("Several speeds fit better than one: part 0 to part 3 at 18.00 ± ")
    assert "and part 4 to part 7 at 22.00 ± " in said


def _section(place: int, frames: int) -> Section:
    return Section(
        name=f"part {place}",
        frames=exactly(Fraction(frames)),
        seconds=within(Fraction(600), Fraction(18)),
    )


def test_evidence_that_nobody_trusts_is_told_to_answer_nothing() -> None:
    rumour = speed_item("rumour", within(Fraction(20), Fraction(1)), trust=Fraction(0))
    text = printed(evidence(rumour))

    assert "Nothing that is to be trusted speaks to any question." in text
    assert "rumour: trust 0, weighs nothing." in text
