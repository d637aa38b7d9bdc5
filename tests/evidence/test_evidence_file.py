"""An evidence file comes to items: the demo's, and whatever speed a document tells."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest
import yaml
from evidence_files import HEAD, evidence_of, implied_by
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.evidence.conflicts import conflicts, suspect
from retime.evidence.curve import curve_of
from retime.evidence.model import Kind, Question, Sense
from retime.evidence.reading import load, read
from retime.evidence.verdict import Standing, verdict_on
from retime.film.speed import Speed

if TYPE_CHECKING:
    from retime.evidence.model import Evidence, Item

MEDIA = Path(__file__).resolve().parents[2] / "demo_media"


@pytest.fixture(scope="module")
def demo() -> Evidence:
    return load(MEDIA / "evidence.yaml")


def one_of(evidence: Evidence, name: str) -> Item:
    (item,) = (item for item in evidence.items if item.id == name)
    return item


# -------------------------------------------------------------------------------------- the demo's


def test_the_demos_evidence_has_every_kind_and_nothing_odd(demo: Evidence) -> None:
    assert set(Kind) == {item.kind for item in demo.items}
    assert set(Question) == {item.question for item in demo.items}
    assert () == demo.remarks


def test_the_demos_print_is_what_its_map_has_of_the_reels(demo: Evidence) -> None:
    truth = yaml.safe_load((MEDIA / "truth.yaml").read_text(encoding="utf-8"))
    frames = sum(reel["last"] - reel["first"] + 1 for reel in truth["reels"])

    assert frames == demo.length.value == demo.length.low
    assert [16, 18, 20, 22, 24] == [speed.fps for speed in demo.candidates]


# what the file's comments say that its papers come to, in frames per second
REMARKED = {
    "harbour-advertisement": Fraction(5840 * 16, 72 * 60),
    "lantern-weekly": Fraction(5840 * 16, 72 * 60),
    "harbour-bill": Fraction(5840 * 16, (135 - 62) * 60),
    "club-evening": Fraction(646 - 3, 29),
    "renter-card": Fraction(80 * 16, 60),
    "camera-diary": Fraction(5, 2) * 8,
    "assistant-remembers": 16,
    "day-sheet": Fraction(1450 * 16, 35 * 60) / Fraction(11, 20),
    "viewing-room": Fraction(18 + 6 * 20 + 4 * 22 + 24, 12),
    "long-title": Fraction(17 * 16, 14),
    "three-blades": 16,
}


@pytest.mark.parametrize("name", REMARKED)
def test_the_demos_papers_come_to_what_its_comments_say(name: str, demo: Evidence) -> None:
    (implied,) = one_of(demo, name).implied

    assert REMARKED[name] == implied.speed.value


def test_the_demos_movements_are_those_that_were_drawn(demo: Evidence) -> None:
    """Of its pendulum, its fall and its walkers truth.yaml says at which speed they were drawn."""
    truth = yaml.safe_load((MEDIA / "truth.yaml").read_text(encoding="utf-8"))["movements"]
    drawn = {
        "clock-pendulum": "pendulum",
        "oil-can": "oil_can_falls",
        "abel-walks": "abel_walks",
        "wenna-walks": "wenna_walks",
    }
    for name, movement in drawn.items():
        (implied,) = one_of(demo, name).implied
        assert implied.speed.low <= truth[movement]["taken_at"] <= implied.speed.high


def test_the_demos_evidence_finds_the_speed_at_which_it_was_drawn(demo: Evidence) -> None:
    curve = curve_of(demo.items, demo.links, Question.TAKING)

    assert curve is not None
    verdict = verdict_on(curve, demo.candidates)
    assert Standing.LEADING is verdict.standing
    assert [20] == [one.fps for one in verdict.presentable]


def test_two_of_the_demos_items_cannot_both_be_so(demo: Evidence) -> None:
    found = conflicts(demo.items, demo.links)

    assert ("assistant-remembers", "clock-pendulum") in {(one.slower, one.faster) for one in found}
    assert "assistant-remembers" == suspect(found, demo.items)
    assert {"assistant-remembers"} == {one.slower for one in found}


def test_the_demos_fourth_act_lost_footage(demo: Evidence) -> None:
    score = one_of(demo, "orchestra-parts").score

    assert score is not None
    assert ["act 4"] == [one.section.name for one in score.sections if one.frames is not None]
    assert score.one_speed


def test_an_item_stands_where_it_is_written(demo: Evidence) -> None:
    lines = (MEDIA / "evidence.yaml").read_text(encoding="utf-8").splitlines()

    for item in demo.items:
        assert f"- id: {item.id}" == lines[item.where.of().line - 1].strip()
        assert item.source
        assert 0 < item.trust <= 1


# ------------------------------------------------------------------------------------ whole files


def test_an_id_of_digits_a_note_and_a_group_are_kept() -> None:
    evidence = read(
        f"{HEAD}evidence:\n  - {{id: 1924, kind: flicker, trust: 0.25, source: a, note: b, "
        "group: c, blades: 3, within: 2 /s}\n",
        Path("said.yaml"),
    )
    (item,) = evidence.items

    assert ("1924", Fraction(1, 4), "a", "b", "c") == (
        item.id,
        item.trust,
        item.source,
        item.note,
        item.group,
    )


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("showing is 1.0 to 1.25 of taking", 1, Fraction(5, 4)),
        ("showing is 1.1 of taking", Fraction(11, 10), Fraction(11, 10)),
        ("showing is the same as taking", 1, 1),
        ("[showing is 24/20 of taking]", Fraction(6, 5), Fraction(6, 5)),
    ],
)
def test_a_link_says_by_what_speeds_may_differ(text: str, low: Fraction, high: Fraction) -> None:
    head = HEAD.replace("candidates", f"link: {text}\ncandidates")
    (link,) = evidence_of("kind: camera, speed: 16 fps within 1 fps", head=head).links

    assert (Question.SHOWING, low, high, Question.TAKING) == (
        link.question,
        link.low,
        link.high,
        link.of,
    )


def test_a_candidate_is_told_in_feet_as_anything_is() -> None:
    """80 ft/min are 64/3 (SMPE committee on standards, 1924)."""
    head = HEAD.replace("[16 fps", "[80 ft/min")
    evidence = evidence_of("kind: camera, speed: 16 fps within 1 fps", head=head)

    assert Fraction(64, 3) == evidence.candidates[0].fps


@pytest.mark.parametrize(
    ("named", "frames"), [("1/3", 36), ("1/3, 1/6", 39), ("1/1-1/3", 112), ("1/8-2/1, 1/6", 51)]
)
def test_shots_that_a_print_lacked_are_counted_in_the_map(named: str, frames: int) -> None:
    """By the demo's list of shots: 40, 36 and 36 frames, 3 in 1/6, 16 and 32 at the join."""
    head = HEAD.replace("length: 1000 ft", "map: tidewatcher.yaml")
    implied = implied_by(
        f'kind: runtime, time: 30 s within 1 s, absent: "{named}"', head=head, folder=MEDIA
    )

    assert 646 - frames == implied.yardstick.factor


# -------------------------------------------------------------------------------------- yardsticks


class Way(NamedTuple):
    """How an item says a figure, and what unit the figure is in, in that of its yardstick."""

    item: str
    unit: int = 1


WAYS = {
    "runtime": Way("kind: runtime, time: {} min within 1 %", 60),
    "runtime less": Way("kind: runtime, time: {} s within 1 %, absent: 3 min at 16 fps"),
    "programme": Way("kind: programme, apart: {} s within 1 %, less: {{interval: 5 s}}"),
    "score": Way("kind: score, within: 1 %, sections: [{{name: a, time: {} s}}]"),
    "cue sheet": Way("kind: music cue sheet, speed: {} ft/min within 1 ft/min"),
    "instruction": Way("kind: instruction, time: {} s within 1 %, per: 900 ft"),
    "instruction by speed": Way("kind: instruction, speed: {} fps within 1 %"),
    "instruction by time": Way("kind: instruction, speed: {} min /1000ft within 2 %", 60),
    "camera": Way("kind: camera, turns: {} /s within 1 %"),
    "camera by speed": Way("kind: camera, speed: {} ft/min within 1 %"),
    "stock": Way("kind: stock, exposed: 900 ft, time: {} min, running: 0.4..0.8", 60),
    "motion": Way("kind: motion, frames: {} within 1 %, frequency: 1.8 /s"),
    "motion by length": Way("kind: motion, frames: {} within 1 %, pendulum: 1 m within 1 %"),
    "fall": Way("kind: motion, frames: {} within 1 %, fall: 5 m within 1 %"),
    "viewing": Way("kind: viewing, votes: {{{} fps: 2}}, within: 1 %"),
    "viewing by shares": Way("kind: viewing, shares: {{{} fps: 100 %}}, within: 1 %"),
    "flicker": Way("kind: flicker, blades: 3, limit: {} /s within 1 %"),
}
"""Those whose figure is the yardstick's; a title's time is that of its rule, tested by hand."""


@settings(deadline=None)
@given(way=st.sampled_from(sorted(WAYS)), tenths=st.integers(60, 9000))
def test_at_the_speed_it_implies_a_document_says_what_it_said(way: str, tenths: int) -> None:
    item, unit = WAYS[way]
    figure = Fraction(tenths, 10)
    implied = implied_by(item.format(float(figure)))

    assert figure * unit == implied.yardstick.at(Speed(implied.speed.value))
    assert implied.lowest is None or implied.lowest < implied.speed.value
    assert implied.highest is None or implied.speed.value < implied.highest


def test_at_the_speed_it_implies_a_title_stands_as_long_as_its_rule_says() -> None:
    implied = implied_by("kind: legibility, words: 20, length: 15 ft, rule: 0.4..0.6 s/word")

    assert Sense.AT_MOST is implied.sense
    assert 10 == implied.yardstick.at(Speed(implied.speed.value))


def test_at_the_speed_they_have_in_common_sections_last_what_they_say() -> None:
    """Of several that differ it is their sum that comes near it, here within the 3 % of each."""
    implied = implied_by(
        "kind: score, within: 3 %, sections: [{name: a, time: 61 s, length: 75 ft}, "
        "{name: b, time: 79 s, length: 100 ft}, {name: c, time: 40 s, length: 50 ft}]"
    )

    assert 180 == pytest.approx(float(implied.yardstick.at(Speed(implied.speed.value))), rel=0.01)
