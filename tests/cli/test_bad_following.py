"""Sound, subtitles, chapters and scores that cannot follow are refused at their line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from running import LAMP, assert_told, refused
from sounds import write_wav

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

FFV1 = LAMP.replace("profile: h264-viewing", "profile: ffv1-master")

# what the deliverable says below its rate: line and column of the finding, its words
FOLLOWING = {
    "sound that is away": ("sound: {file: scare.wav}", "21:19", "nearest name there is score.wav"),
    "sound that is none": ("sound: {file: lamp.yaml}", "21:19", "is no sound that can be read"),
    "a movie without sound": ("sound: {file: lamp.mkv}", "21:19", "holds no sound"),
    "sound of an unknown version": (
        "sound: {file: score.wav, follows: slwo}",
        "21:39",
        "is no deliverable, no version and no speed",
    ),
    "a label that does not exist": ("sound: {file: score.wav, at: 25:00}", "21:34", "no timecode"),
    "a label after the end": (
        "sound: {file: score.wav, at: 02:00:00:00}",
        "21:34",
        "is no label of viewing",
    ),
    "a place and a time to follow": (
        "sound: {file: score.wav, follows: slow, at: 00:00:00:00}",
        "21:45",
        "what follows another's time has its place from there",
    ),
    "a pitch of its own": ("sound: {file: score.wav, pitch: up}", "21:37", "is not known here"),
    "a gain without dB": ("sound: {file: score.wav, gain: 3}", "21:36", "is no gain"),
    "a language in words": (
        "sound: {file: score.wav, language: german}",
        "21:40",
        "is no code of a language",
    ),
    "subtitles that are away": ("subtitles: {file: en.srt}", "21:23", "en.srt"),
    "subtitles of another kind": ("subtitles: {file: score.wav}", "21:23", "names no kind"),
    "a chapter of no shot": ("chapters: [{at: 1/9, name: x}]", "21:21", 'no shot "1/9"'),
    "a chapter of no reel": ("chapters: [{at: 9, name: x}]", "21:21", 'no reel "9"'),
    "chapters of acts": ("chapters: acts", "21:15", "is not known here"),
}

# what the version says in place of its speed: the same
SCORES = {
    "a shot that is none": (
        "meet: {cues: [{at: 1/9, time: 1:00}], between: 16..26 fps}",
        "15:24",
        'no shot "1/9"',
    ),
    "no cue": ("meet: {cues: [], between: 16..26 fps}", "15:18", ""),
    "a range of one": (
        "meet: {cues: [{at: 1/2, time: 1:00}], between: 16 fps}",
        "15:52",
        "is no range of speeds",
    ),
    "a range backwards": (
        "meet: {cues: [{at: 1/2, time: 0:01}], between: 26..16 fps}",
        "15:52",
        "the slower one comes first",
    ),
    "nothing to meet": (
        "meet: {cues: [{at: 1/1, time: 0}], between: 16..26 fps}",
        "15:18",
        "fixes no speed",
    ),
    "cues out of order": (
        "meet: {cues: [{at: 1/2, time: 0:01}, {at: 1/1, time: 0:02}], between: 16..26 fps}",
        "15:47",
        "shot 1/1 does not come after 1/2",
    ),
}


@pytest.fixture
def desk(work: Path) -> Path:
    """Return the folder with a recording of two seconds."""
    noise = np.random.default_rng(0).integers(-9000, 9000, (96000, 2))
    write_wav(work / "score.wav", noise)
    return work


@pytest.mark.parametrize("case", FOLLOWING)
def test_what_cannot_follow_is_refused_at_its_line(case: str, desk: Path, retime: Program) -> None:
    written, place, words = FOLLOWING[case]
    said = refused(FFV1.replace("rate: 24", f"rate: 24\n    {written}"), desk, retime)

    assert_told(said, place, words)


@pytest.mark.parametrize("case", SCORES)
def test_a_score_that_cannot_be_met_is_refused_at_its_line(
    case: str, desk: Path, retime: Program
) -> None:
    written, place, words = SCORES[case]
    said = refused(FFV1.replace("speed: 18 fps", written), desk, retime)

    assert_told(said, place, words)


def test_a_copied_profile_takes_no_sound(desk: Path, retime: Program) -> None:
    source = FFV1.replace("ffv1-master", "as-scanned")
    said = refused(
        source.replace("rate: 24", "rate: 24\n    sound: {file: score.wav}"), desk, retime
    )

    assert any("as-scanned takes no sound" in line for line in said)


def test_sound_shorter_or_longer_than_the_film_is_told(desk: Path, retime: Program) -> None:
    """24 frames at 18 last 1.333 s, and the recording 2 s; at 6 they last 4 s."""
    path = desk / "lamp.yaml"
    sounded = FFV1.replace("rate: 24", "rate: 24\n    sound: {file: score.wav}")
    path.write_text(sounded)
    assert "0.667 s of its end are not heard" in retime("lint", path).out
    path.write_text(sounded.replace("18 fps", "8 fps"))
    assert "1.000 s at the end of the deliverable are silent" in retime("lint", path).out


def test_a_cue_out_of_reach_is_a_warning_that_says_why(desk: Path, retime: Program) -> None:
    """12 frames at 26 last 0.462 s, and the shot is wanted after 0.2 s."""
    path = desk / "lamp.yaml"
    score = "meet: {cues: [{at: 1/2, time: 0:00.2}], between: 16..26 fps}"
    path.write_text(FFV1.replace("speed: 18 fps", score))
    ran = retime("lint", path)

    assert 1 == ran.code
    assert "15:35: warning: shot 1/2 comes 0.262 s late; it is as fast as it may be" in ran.out


def test_a_broken_subtitle_is_told_at_its_own_line(desk: Path, retime: Program) -> None:
    (desk / "en.srt").write_text("1\n00:00:00,500 -> 00:00:01,000\nThe tide\n")
    said = refused(
        FFV1.replace("rate: 24", "rate: 24\n    subtitles: {file: en.srt, follows: slow}"),
        desk,
        retime,
    )

    assert any(line.startswith("en.srt:2:") for line in said), "\n".join(said)
