"""Scanning, fields, blends and labels that do not go together are refused at their line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from running import LAMP, assert_told, refused

if TYPE_CHECKING:
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]

FFV1 = LAMP.replace("profile: h264-viewing", "profile: ffv1-master")
NO_SHOTS = FFV1[: FFV1.index("shots:")] + FFV1[FFV1.index("versions:") :]

# what the deliverable says instead of `rate: 24`: the line and column of the finding, its words
FIELDS = {
    "24 in fields": (
        "rate: 24\n    scanning: top-first",
        "20:11",
        "a rate of 24 is none of interlaced pictures",
    ),
    "50 for 25 interlaced": (
        "rate: 50\n    scanning: top-first",
        "20:11",
        "rates count whole frames, of two fields each: write 25",
    ),
    "59.94 for 29.97 interlaced": (
        "rate: 59.94\n    scanning: bottom-first",
        "20:11",
        "write 30000/1001",
    ),
    "a way of scanning": ("rate: 25\n    scanning: topfirst", "21:15", '"topfirst" is not known'),
    "2:3 at 25": (
        "rate: 25\n    scanning: top-first\n    pulldown: 2:3",
        "22:15",
        "2:3 carries 24 in 60 fields, and the rate is 25",
    ),
    "another pulldown": (
        "rate: 29.97\n    scanning: top-first\n    pulldown: 2:2",
        "22:15",
        '"2:2" is not known',
    ),
    "progressive pulldown": ("rate: 30\n    pulldown: 2:3", "21:15", "and this one is progressive"),
    "progressive cadence in fields": (
        "rate: 30\n    cadence-in: fields",
        "21:17",
        "and this one is progressive",
    ),
    "pulldown and a conform rate": (
        "rate: 29.97\n    scanning: top-first\n    pulldown: 2:3\n    conform-at: 30",
        "23:17",
        "film is laid out at 24",
    ),
    "a window of 0": ("rate: 24\n    method: blend\n    window: 0", "22:13", "is not above 0"),
    "a window above 1": ("rate: 24\n    method: blend\n    window: 1.5", "22:13", "is above 1"),
    "a negative window": ("rate: 24\n    method: blend\n    window: -1", "22:13", "is no window"),
    "a window without a blend": ("rate: 24\n    window: 1/2", "21:13", "nothing is blended"),
    "cuts without a blend": ("rate: 24\n    cuts: unknown", "21:11", "nothing is blended"),
    "cuts that are known": ("rate: 24\n    method: blend\n    cuts: known", "22:11", "not known"),
    "a blend in fields": (
        "rate: 25\n    method: blend\n    scanning: top-first\n    cadence-in: fields",
        "23:17",
        "a blend makes whole frames",
    ),
    "a blend of unknown light": ("rate: 24\n    method: blend", "21:13", "no scan says it"),
    "a label that is none": ("rate: 24\n    timecode: 1:0:0", "21:15", "is no timecode"),
    "a label that drop-frame skips": (
        "rate: 29.97\n    timecode: 00:01:00;00",
        "21:15",
        "drop-frame skips it",
    ),
    "drop-frame at 25": ("rate: 25\n    timecode: 01:00:00;00", "21:15", "drop-frame"),
    "a label against the key": (
        "rate: 29.97\n    timecode: 01:00:00:00\n    drop-frame: yes",
        "21:15",
        "is not drop-frame, and drop-frame differs",
    ),
}


@pytest.mark.parametrize("case", FIELDS)
def test_what_does_not_go_together_is_refused_at_its_line(
    case: str, work: Path, retime: Program
) -> None:
    written, place, words = FIELDS[case]
    said = refused(FFV1.replace("rate: 24", written), work, retime)

    assert_told(said, place, words)


def test_a_blend_without_shots_is_refused_unless_cuts_are_said_to_be_unknown(
    work: Path, retime: Program
) -> None:
    blend = NO_SHOTS.replace("rate: 24", "rate: 24\n    method: blend")
    (line,) = refused(blend, work, retime)

    assert "a blend would run through the cuts of reel 1" in line
    assert "write cuts: unknown" in line
    path = work / "lamp.yaml"
    sound = blend.replace("film: Lamp", "film: Lamp\ntransfer: bt1886")
    path.write_text(sound.replace("method: blend", "method: blend\n    cuts: unknown"))
    assert 0 == retime("lint", path).code


def test_an_unknown_transfer_is_refused(work: Path, retime: Program) -> None:
    (line,) = refused(FFV1.replace("film: Lamp", "film: Lamp\ntransfer: gamma"), work, retime)

    assert line.startswith("lamp.yaml:3:11: ")
    assert '"gamma" is not known here' in line
