"""A map drafted from a weighing reads without a mistake, and decides no more than was weighed."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import yaml
from weighings import camera, evidence, instruction, speed_item, viewing

from retime.errors import CommandError
from retime.evidence.quantity import around, within
from retime.evidence.weighing import weigh
from retime.report.draft_map import draft_map
from retime.speedmap import reading
from retime.speedmap.rules import findings

if TYPE_CHECKING:
    from retime.evidence.model import Evidence
    from retime.speedmap.model import SpeedMap

DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher.yaml"

ASSEMBLED = """\
format: retime-map/1
film: Lamp
gauge: 35mm
transfer: bt1886
reels:
  - {reel: "no", scan: "scans/a: b/%06d.dpx", first: 3, last: 90, frames: 100, area: "0, 0, 64, 48"}
shots:
  - {reel: "no", first: 3, last: 90, shot: "~", name: "it's \\"night\\": #1"}
omit: ["no/~"]
versions: {slow: {speed: 18}}
"""


def drafted(told: Evidence, path: Path) -> tuple[str, SpeedMap]:
    """Return the draft and what is read of it; nothing in it is wrong by the map's own rules."""
    text = draft_map(told, weigh(told), path)
    read = reading.read(text, path)
    assert () == tuple(findings(read, {}, whole=True))
    return text, read


def stated(fps: float, doubt: float) -> Evidence:
    item = speed_item("letter", around(Fraction(fps), Fraction(doubt)))
    return evidence(item, candidates=(18, 20, 22, 24))


def test_every_speed_worth_presenting_becomes_a_version_and_a_deliverable(tmp_path: Path) -> None:
    told = evidence(
        camera(), speed_item("letter", around(Fraction(21), Fraction(1))), candidates=(18, 20, 22)
    )
    text, read = drafted(told, tmp_path / "draft.yaml")

    assert {"taking-18": "18", "showing-20": "20", "showing-22": "22"} == {
        name: str(version.speed and version.speed.amount)  # type: ignore[union-attr]
        for name, version in read.versions.items()
    }
    assert {(version, "prores-mezzanine", "24") for version in read.versions} == {
        (one.version, one.profile, str(one.rate)) for one in read.deliverables.values()
    }
    assert "undecided" in text
    assert "crank" in text
    assert "letter" in text


def test_a_speed_that_answers_two_questions_is_one_version(tmp_path: Path) -> None:
    told = evidence(viewing(), speed_item("letter", within(Fraction(20), Fraction(1))))
    _, read = drafted(told, tmp_path / "draft.yaml")

    assert ["showing-and-looking-20"] == list(read.versions)


def test_without_a_map_the_reel_is_the_print_and_is_to_be_filled_in(tmp_path: Path) -> None:
    text, read = drafted(stated(20, 0.3), tmp_path / "draft.yaml")
    (reel,) = read.reels

    assert 96_000 == reel.frames
    assert "reel-1.mkv" == reel.scan
    assert "to be filled in" in text


@pytest.mark.parametrize("folder", [".", "a/b", "a b: c"])
def test_reels_and_shots_of_the_map_are_taken_over_from_any_folder(
    folder: str, tmp_path: Path
) -> None:
    named = reading.load(DEMO)
    told = evidence(camera(), speed_map=named)
    path = tmp_path / folder / "draft.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(draft_map(told, weigh(told), path))
    read = reading.load(path)

    assert [named.scan_path(reel).resolve() for reel in named.reels] == [
        read.scan_path(reel).resolve() for reel in read.reels
    ]
    assert [(reel.name, reel.first, reel.last, reel.frames) for reel in named.reels] == [
        (reel.name, reel.first, reel.last, reel.frames) for reel in read.reels
    ]
    assert named.shots == read.shots


def test_texts_that_yaml_could_misread_are_in_quotes(tmp_path: Path) -> None:
    named = reading.read(ASSEMBLED, tmp_path / "there" / "lamp.yaml")
    film = "Abel: \"the\" 'Lamp' {x} #1 - é"
    told = evidence(instruction(), speed_map=named, film=film)
    text, read = drafted(told, tmp_path / "draft.yaml")

    assert film == read.film
    assert named.transfer == read.transfer
    assert named.shots == read.shots
    assert "there/scans/a: b/%06d.dpx" == read.reels[0].scan
    assert named.reels[0].framing == read.reels[0].framing
    assert "Not taken over: omit of" in text
    # Another reader of YAML, which takes a bare "no" for a switch, sees the same.
    assert "no" == yaml.safe_load(text)["reels"][0]["reel"]


def test_speeds_are_exact_and_names_tell_them_apart(tmp_path: Path) -> None:
    near = [Fraction(64, 3), Fraction("21.333"), Fraction("21.5"), Fraction(21)]
    item = speed_item("letter", around(Fraction("21.3"), Fraction(2)))
    _, read = drafted(evidence(item, candidates=near), tmp_path / "draft.yaml")

    assert {
        "showing-21.3333": Fraction(64, 3),
        "showing-21.333": Fraction("21.333"),
        "showing-21.5": Fraction("21.5"),
        "showing-21": Fraction(21),
    } == {name: one.speed.amount for name, one in read.versions.items()}  # type: ignore[union-attr]


def test_a_speed_of_very_long_terms_is_written_as_near_as_a_map_can(tmp_path: Path) -> None:
    speed = Fraction(20) + Fraction(1, 10**12 + 39)
    item = speed_item("letter", within(Fraction(20), Fraction(1)))
    _, read = drafted(evidence(item, candidates=[speed]), tmp_path / "draft.yaml")
    (version,) = read.versions.values()

    assert Fraction(20) == version.speed.amount  # type: ignore[union-attr]


def test_where_no_candidate_is_worth_presenting_there_is_no_map(tmp_path: Path) -> None:
    told = stated(14, 0.2)

    with pytest.raises(CommandError, match="none of the candidates is worth presenting"):
        draft_map(told, weigh(told), tmp_path / "draft.yaml")
