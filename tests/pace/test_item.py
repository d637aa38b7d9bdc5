"""The item that is printed is read as evidence, and says what was measured."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from retime.errors import NotationError
from retime.evidence.model import Implied, Question
from retime.evidence.reading import read
from retime.pace.counting import Paced
from retime.pace.implied import frames_of, implied
from retime.pace.item import Item, default_id, item_text, parse_id
from retime.pace.motion import parse_motion
from retime.signal.marks import MarkedPeriod, fit_marks

HEAD = """\
format: retime-evidence/1
film: The Tidewatcher's Lamp
gauge: 35mm
length: 1000 ft
candidates: [16 fps, 20 fps, 24 fps]
evidence:
"""
SOURCE = 'retime pace a "reel".mkv, frames 130 to 195, box 10,20,300,400'
STEP = Paced(frames=11.024, uncertainty=0.0823, confidence=0.7, seen=6)


def read_back(text: str) -> Implied:
    evidence = read(f"{HEAD}{text}\n", Path("evidence.yaml"))
    (item,) = evidence.items
    (only,) = item.implied
    assert Question.TAKING is item.question
    assert SOURCE == item.source
    return only


def item(motion: str, *marks: str) -> Item:
    return Item(id="abel-walks", motion=parse_motion(motion), source=SOURCE, marks=marks)


@pytest.mark.parametrize(
    "motion", ["walk", "horse gallop", "pendulum 0.9936 m within 1 %", "fall 4.9 m within 2 %"]
)
def test_the_item_implies_the_speed_that_was_told(motion: str) -> None:
    only = read_back(item_text(item(motion), STEP))

    speed = implied(frames_of(STEP), parse_motion(motion).frequency)
    for one, other in zip(
        (only.speed.low, only.speed.value, only.speed.high),
        (speed.low, speed.value, speed.high),
        strict=True,
    ):
        assert float(one) == pytest.approx(float(other), rel=2e-3)  # two decimals of a frame
    assert only.speed.uncertainty == pytest.approx(speed.uncertainty, rel=0.05)


def test_an_items_lines_are_those_of_evidence_files() -> None:
    lines = [line.partition("#")[0].rstrip() for line in item_text(item("walk"), STEP).splitlines()]

    assert (
        [
            "  - id: abel-walks",
            "    kind: motion",
            "    frames: 11.02",
            "    within: 0.15",  # sqrt(3) x 0.0823 = 0.1425, rounded up: what is told holds
            "    natural: walk",
            "    trust: 0.8",
            "    about: taking",
        ]
        == lines[:-1]
    )


def test_a_pendulum_and_a_fall_stand_under_their_own_keys() -> None:
    assert "    pendulum: 0.99 m within 1 %" in item_text(item("pendulum 0.99 m within 1 %"), STEP)
    assert "    fall: 4.9 m" in item_text(item("fall 4.9 m"), STEP)


def test_marks_are_told_as_they_were_written() -> None:
    marks = ("12", "21.5", "30", "48.25")
    fitted = fit_marks([Fraction(one) for one in marks])
    assert isinstance(fitted, MarkedPeriod)
    paced = Paced(frames=fitted.period, uncertainty=fitted.standard_error, confidence=None, seen=4)
    text = item_text(item("walk", *marks), paced)

    assert "    marks: [12, 21.5, 30, 48.25]" in text
    assert "frames:" not in text
    assert "within" not in text
    speed = implied(frames_of(paced), parse_motion("walk").frequency)
    assert float(read_back(text).speed.low) == pytest.approx(float(speed.low))


def test_a_falls_two_marks_are_told_as_frames() -> None:
    """Evidence files take marks of what comes again."""
    paced = Paced(frames=20, uncertainty=0.408, confidence=None, seen=1)
    text = item_text(item("fall 4.9 m within 2 %", "289", "309"), paced)

    assert "    frames: 20.00" in text
    assert "    within: 0.71" in text
    assert float(read_back(text).speed.value) == pytest.approx(20, rel=1e-3)


def test_what_is_little_sure_is_told_with_little_trust() -> None:
    rough = Paced(frames=11, uncertainty=0.3, confidence=0.2, seen=3)

    assert "    trust: 0.5" in item_text(item("walk"), rough)


@pytest.mark.parametrize(
    ("stem", "rest", "expected"),
    [
        ("tidewatcher-reel-1", (130, 195), "tidewatcher-reel-1-130-195"),
        ("Reel 2 (neg.)%06d", ("12", "21.5"), "reel-2-neg-06d-12-21-5"),
        ("x" * 60, (1, 2), "x" * 36 + "-1-2"),
        ("снег", (1, 2), "scan-1-2"),
    ],
)
def test_an_item_is_named_by_its_scan_and_frames(
    stem: str, rest: tuple[object, ...], expected: str
) -> None:
    assert expected == default_id(stem, *rest)
    assert expected == parse_id(expected)


@pytest.mark.parametrize("text", ["", "Abel", "abel walks", "-a", "a--b", "a" * 41, "a\n"])
def test_a_name_that_evidence_files_refuse_is_refused(text: str) -> None:
    with pytest.raises(NotationError, match="is no id"):
        parse_id(text)
