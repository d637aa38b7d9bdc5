"""Sound of finished deliverables held against their recordings, right and spoilt on purpose."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from holding import Held, notes, program, rendered, speech
from numbered import write_scan
from sounds import RATE, decoded, write_wav

from retime.check.place import FilePlace
from retime.check.sound import SoundHeld, sound_findings
from retime.second.facts import file_facts

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

VERSIONS = """\
  even: {speed: 20 fps}
  uneven: {speed: 20 fps, reels: {2: 22 fps}, shots: {1/1: 18 fps, 1/3: 16 fps -> 24 fps}}
  assembled:
    speed: 20 fps
    reels: {2: 22 fps}
    omit: [1/2]
    insert: {after: 1/3, black: 1.3 s}"""
SHOTS = """\
  - {reel: 1, first: 0, last: 39, shot: 1}
  - {reel: 1, first: 40, last: 59, shot: 2}
  - {reel: 1, first: 60, last: 99, shot: 3}
  - {reel: 2, first: 0, last: 79, shot: 1}"""
DELIVERABLES = {
    # Sound inside as PCM, FLAC, AAC and AC-3, and beside as WAV and AC-3.
    "pcm": "version: uneven, profile: prores-mezzanine, rate: 24, head: {black: 1 s}, SPEECH",
    "flac": "version: uneven, profile: ffv1-master, rate: 23.976, SPEECH",
    "aac": "version: even, profile: h264-viewing, rate: 25, head: {black: 1 s}, SPEECH",
    "ac3": "version: uneven, profile: disc-sd-625-muxed, SPEECH",
    "ac3-beside": "version: even, profile: disc-sd-525, SPEECH",
    "beside": "version: uneven, profile: tiff-sequence, rate: 24, SPEECH",
    "assembled": "version: assembled, profile: tiff-sequence, rate: 25, head: {black: 1 s}, SPEECH",
    "kept": "version: uneven, profile: tiff-sequence, rate: 24, KEPT",
    "kept-notes": "version: uneven, profile: tiff-sequence, rate: 24, NOTES-KEPT",
    "notes": "version: uneven, profile: tiff-sequence, rate: 30, tail: {black: 1 s}, NOTES",
    "notes-24": "version: uneven, profile: tiff-sequence, rate: 24, NOTES",
    "made": "version: even, profile: tiff-sequence, rate: 25, head: {black: 1 s}, MADE",
    "labelled": (
        "version: even, profile: tiff-sequence, rate: 25, timecode: 01:00:00:00, "
        "head: {black: 1 s}, LABELLED"
    ),
    "softer": "version: even, profile: tiff-sequence, rate: 25, SOFTER",
    "two": "version: even, profile: tiff-sequence, rate: 25, TWO",
    "six": "version: even, profile: tiff-sequence, rate: 25, SIX",
}
SOUNDS = {
    "SPEECH": "{file: speech.wav, follows: 18 fps}",
    "NOTES-KEPT": "{file: notes.wav, follows: 18 fps, pitch: kept}",
    "NOTES": "{file: notes.wav, follows: 18 fps}",
    "KEPT": "{file: speech.wav, follows: 18 fps, pitch: kept}",
    "MADE": "{file: speech.wav}",
    "LABELLED": '{file: speech.wav, at: "01:00:02:00"}',
    "SOFTER": "{file: notes.wav, follows: 18 fps, gain: -6 dB, offset: 0.25 s}",
    "TWO": "[{file: speech.wav, follows: 18 fps}, {file: notes.wav, follows: even}]",
    "TONE": "{file: tone.wav, follows: 18 fps}",
    "SIX": "{file: six.wav, follows: 18 fps}",
}
STEADY = {"tone": "version: even, profile: tiff-sequence, rate: 25, TONE"}


def _with_sound(what: str) -> str:
    before, _, name = what.rpartition(", ")
    return f"{{{before}, sound: {SOUNDS[name]}}}"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Held:
    """Render a film of 180 frames, and sound made to a transfer at 18: ten seconds of it."""
    folder = tmp_path_factory.mktemp("sound")
    options = {"level": "3", "g": "1", "slicecrc": "1"}
    write_scan(folder / "one.mkv", 100, pix_fmt="gray", options=options, size=(32, 24))
    write_scan(folder / "two.mkv", range(200, 280), pix_fmt="gray", options=options, size=(32, 24))
    channels = {
        "speech": [speech(10, 1), speech(10, 2)],
        "notes": [notes(10, 3), 0.5 * notes(10, 3)],
        "six": [speech(10, seed) for seed in range(4, 10)],
        "tone": [0.3 * np.sin(2 * np.pi * 441 * np.arange(10 * RATE) / RATE)] * 2,
    }
    for name, sounds in channels.items():
        whole = np.rint(np.stack(sounds, axis=1) * 32767).clip(-32768, 32767)
        layout = "5.1" if name == "six" else "stereo"
        write_wav(folder / f"{name}.wav", whole.astype(np.int64), layout=layout)
    text = "format: retime-map/1\nfilm: Numbers\ngauge: 35mm\n"
    text += "reels:\n  - {reel: 1, scan: one.mkv}\n  - {reel: 2, scan: two.mkv}\n"
    text += f"shots:\n{SHOTS}\nversions:\n{VERSIONS}\ndeliverables:\n"
    text += "".join(
        f"  {name}: {_with_sound(what)}\n" for name, what in (DELIVERABLES | STEADY).items()
    )
    (folder / "map.yaml").write_text(text, encoding="utf-8")
    return rendered(folder / "map.yaml", folder / "out")


def held(made: Held, name: str, path: Path | None = None) -> SoundHeld:
    """Hold a deliverable's sound, or that of another file, against its plan."""
    where = path or made.paths[name]
    return sound_findings(made.makings[name], made.edition, where, file_facts(where))


@pytest.mark.parametrize("name", DELIVERABLES)
def test_correct_sound_has_no_finding_and_can_be_told(name: str, made: Held) -> None:
    """Speech and struck strings have something to tell everywhere, and all of it is told."""
    told = held(made, name)

    assert [] == [str(one) for one in told.findings]
    assert told.told is not None
    assert told.told > 0.9


def sound_of(made: Held, name: str) -> Path:
    """Return the file beside a sequence that its sound is in."""
    return made.paths[name].with_name(f"{made.paths[name].name}.wav")


def spoilt(
    made: Held, name: str, folder: Path, sound: NDArray[np.float64], layout: str = "stereo"
) -> SoundHeld:
    """Hold other sound, put beside a sequence, against its plan."""
    path = folder / made.paths[name].name
    whole = np.rint(sound * (1 << 23)).clip(-(1 << 23), (1 << 23) - 1).astype(np.int64) << 8
    write_wav(path.with_name(f"{path.name}.wav"), whole, layout=layout, codec="pcm_s24le")
    return sound_findings(made.makings[name], made.edition, path, file_facts(made.paths[name]))


def moved(sound: NDArray[np.float64], milliseconds: float) -> NDArray[np.float64]:
    """Return sound that comes later, or earlier, and is as long."""
    count = round(milliseconds * RATE / 1000)
    silence = np.zeros((abs(count), sound.shape[1]))
    if count > 0:
        return np.concatenate((silence, sound[:-count]))
    return np.concatenate((sound[-count:], silence))


class Shift(NamedTuple):
    """Sound that comes at another time: from and to, in seconds, and by how many milliseconds."""

    begin: float
    end: float
    late: float


_SHIFT = re.compile(
    r"from ([\d.]+) to ([\d.]+) s the sound of .* comes ([\d.]+) (ms|s) (late|early)"
)


def shifts(told: SoundHeld) -> list[Shift]:
    """Return what is told of sound that comes early or late; nothing else may be told."""
    found = []
    for finding in told.findings:
        said = _SHIFT.fullmatch(finding.text)
        assert finding.rule == "sound shifted", finding
        assert said is not None, finding
        amount = float(said[3]) * (1000 if said[4] == "s" else 1)
        found.append(
            Shift(float(said[1]), float(said[2]), amount if said[5] == "late" else -amount)
        )
        assert isinstance(finding.place, FilePlace)
        assert finding.place.seconds == pytest.approx(found[-1].begin, abs=0.06)
    return found


@pytest.mark.parametrize("name", ["beside", "assembled", "notes", "notes-24"])
@pytest.mark.parametrize("late", [10, -10, 40, -200])
def test_sound_that_slipped_is_found_with_its_amount_within_two_milliseconds(
    name: str, late: int, made: Held, tmp_path: Path
) -> None:
    sound = decoded(sound_of(made, name))
    found = shifts(spoilt(made, name, tmp_path, moved(sound, late)))
    length = len(sound) / RATE

    assert all(abs(one.late - late) <= 2 for one in found), found
    assert sum(one.end - one.begin for one in found) > 0.7 * length


@pytest.mark.parametrize("late", [12, -12, 60])
@pytest.mark.parametrize("name", ["kept", "kept-notes"])
def test_stretched_sound_that_slipped_is_found_within_four_milliseconds(
    name: str, late: int, made: Held, tmp_path: Path
) -> None:
    """What stretches sound smears its attacks by a few milliseconds."""
    sound = decoded(sound_of(made, name))
    found = shifts(spoilt(made, name, tmp_path, moved(sound, late)))

    assert found
    assert all(abs(one.late - late) <= 4 for one in found), found
    assert sum(one.end - one.begin for one in found) > 0.7 * len(sound) / RATE


@pytest.mark.parametrize("name", ["beside", "notes-24"])
def test_a_part_that_slipped_is_found_at_its_place(name: str, made: Held, tmp_path: Path) -> None:
    sound = decoded(sound_of(made, name)).copy()
    part = slice(3 * RATE, 6 * RATE)
    late = moved(sound, 10)
    sound[part] = late[part]
    (found,) = shifts(spoilt(made, name, tmp_path, sound))

    assert abs(found.late - 10) <= 2
    assert abs(found.begin - 3) <= 1
    assert abs(found.end - 6) <= 1


@pytest.mark.parametrize("late", [700, -1200])
def test_sound_that_is_far_from_its_place_is_looked_for_there(
    late: int, made: Held, tmp_path: Path
) -> None:
    sound = decoded(sound_of(made, "made"))
    told = spoilt(made, "made", tmp_path, moved(sound, late))
    far = [one for one in told.findings if one.rule == "sound shifted"]

    assert 1 == len(far), told.findings
    how = "late" if late > 0 else "early"
    said = f"{abs(late)} ms {how}" if abs(late) < 1000 else f"{abs(late) / 1000:.2f} s {how}"
    assert said in far[0].text


def test_sound_of_another_version_is_found(made: Held, tmp_path: Path) -> None:
    """At 20 fps throughout, film frames of shots at 18 and 22 come early and late."""
    other = made.paths["two"].with_name(f"{made.paths['two'].name}.1.wav")
    sound = decoded(other)
    found = spoilt(made, "beside", tmp_path, sound).findings

    assert {"sound", "sound shifted"} >= {one.rule for one in found}
    assert found


def test_another_recording_is_found(made: Held, tmp_path: Path) -> None:
    found = spoilt(made, "beside", tmp_path, decoded(sound_of(made, "notes-24"))).findings

    assert any("the sound is not what speech.wav has there" in one.text for one in found)


def test_silence_and_a_hole_are_found(made: Held, tmp_path: Path) -> None:
    sound = decoded(sound_of(made, "notes-24"))
    hole = sound.copy()
    hole[4 * RATE : 6 * RATE] = 0
    all_of_it = spoilt(made, "notes-24", tmp_path, 0 * sound).findings
    some = spoilt(made, "notes-24", tmp_path, hole).findings

    assert 1 == len(all_of_it)
    assert "from 0.0 to" in all_of_it[0].text
    assert "notes.wav is missing: there is silence" in all_of_it[0].text
    (missing,) = (one for one in some if "is missing" in one.text)
    assert isinstance(missing.place, FilePlace)
    assert missing.place.seconds == pytest.approx(4.25, abs=0.76)


def test_sound_where_none_belongs_is_found(made: Held, tmp_path: Path) -> None:
    """The recording begins with the film's third second, after a head of one."""
    sound = decoded(sound_of(made, "labelled")).copy()
    sound[RATE // 2 : 5 * RATE // 2] += 0.1 * speech(2, 20)[:, None]
    (found,) = spoilt(made, "labelled", tmp_path, sound).findings

    assert "there is sound, and none of speech.wav belongs there" in found.text


def test_channels_that_were_exchanged_are_found(made: Held, tmp_path: Path) -> None:
    sound = decoded(sound_of(made, "beside"))
    (found,) = spoilt(made, "beside", tmp_path, sound[:, ::-1]).findings

    assert "sound channels" == found.rule
    assert "channel 1 is heard in channel 2, its channel 2 is heard in channel 1" in found.text


def test_of_six_channels_those_that_were_exchanged_are_named(made: Held, tmp_path: Path) -> None:
    sound = decoded(sound_of(made, "six"), 6)
    order = [2, 1, 0, 3, 4, 5]
    found = spoilt(made, "six", tmp_path, sound[:, order], "5.1").findings

    assert {"sound channels"} == {one.rule for one in found}
    assert "channel 1 is heard in channel 3" in found[0].text
    assert "channel 2 is" not in found[0].text


def test_sound_that_is_too_soft_is_found_and_one_channel_that_is(
    made: Held, tmp_path: Path
) -> None:
    sound = decoded(sound_of(made, "softer"))
    (found,) = spoilt(made, "softer", tmp_path, sound * 2).findings
    (one,) = spoilt(made, "softer", tmp_path, sound * [1, 0.25]).findings

    assert "notes.wav: it is 6.0 dB too loud" == found.text
    assert "notes.wav: its channel 2 is 12.0 dB too soft" == one.text


def test_pitch_that_moved_where_it_should_stay_is_found_and_the_other_way_round(
    made: Held, tmp_path: Path
) -> None:
    for name, other, said in (
        ("notes-24", "kept-notes", "stays, and should move"),
        ("kept-notes", "notes-24", "moves, and should stay"),
    ):
        (found,) = spoilt(made, name, tmp_path, decoded(sound_of(made, other))).findings

        assert "sound pitch" == found.rule
        assert said in found.text


@pytest.mark.parametrize(
    ("name", "late"), [("pcm", 25.0), ("flac", 25.0), ("aac", 25.0), ("ac3", 25 + 256 / 48)]
)
def test_sound_that_the_container_begins_late_is_found(
    name: str, late: float, made: Held, tmp_path: Path
) -> None:
    """Not one sample is changed: the file's own clock has the sound come later.

    AC-3 begins 256 samples ahead, which copying it makes to nothing.
    """
    path = made.paths[name]
    copy = tmp_path / path.name
    copied = ("-map", "0:v", "-map", "1:a", "-c", "copy")
    program("-i", path, "-itsoffset", "0.025", "-i", path, *copied, copy)
    found = shifts(held(made, name, copy))

    assert found
    assert all(abs(one.late - late) <= 2 for one in found), found


def test_a_steady_tone_cannot_be_told_and_is_said_not_to_be(made: Held) -> None:
    told = held(made, "tone")

    assert () == told.findings
    assert told.told is not None
    assert told.told < 0.3
