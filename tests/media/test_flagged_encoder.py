"""Film frames coded once, read back field by field by the ffmpeg program's repeatfields filter.

Run lengths are those of published cadences and of the floor rule that they equal: 24 in 60 fields
is 2:3, 20 is 3:3, 24 in 50 eleven 2s and a 3 (FFmpeg filters manual, telecine), up to rotation.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from discs import (
    MPEG2_OPTIONS,
    RATE_525,
    RATE_625,
    flagged,
    headers,
    moving,
    run_program,
    settings,
    shown_fields,
)

from retime.errors import OutputError
from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.media.flagged_encoder import FlaggedEncoder, Showing
from retime.media.mpeg2 import mpeg2_pictures
from retime.media.vbv import DecoderBuffer, decoded
from retime.plan.cadence import cadence_at, same_cadence
from retime.plan.repeat_flags import groups

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

SPEEDS = {  # film frames to fields, and the runs that sources give for them
    "20 in 60": (Fraction(20, 60), (3, 3)),
    "21 1/3 in 60": (Fraction(64, 180), None),
    "22 in 60": (Fraction(22, 60), None),
    "24 in 60": (Fraction(24, 60), (2, 3)),
    "26 2/3 in 60": (Fraction(80, 180), None),
    "18 in 50": (Fraction(18, 50), None),
    "20 in 50": (Fraction(20, 50), (2, 3)),
    "22 in 50": (Fraction(22, 50), None),
    "24 in 50": (Fraction(24, 50), (*(2,) * 11, 3)),
}


def runs_of(name: str) -> bytes:
    """Return the floor rule's runs for about 40 film frames, an even number of fields in all."""
    share, published = SPEEDS[name]
    cadence = cadence_at(share.numerator, share.denominator, 0)
    assert cadence is not None
    runs = cadence.runs
    times = 2 * -(-20 // len(runs))
    if published is not None:
        assert same_cadence(published, runs * (len(published) // len(runs)))
    return bytes(runs * times)


def planned(runs: Sequence[int]) -> list[tuple[int, int]]:
    """Return what the top and the bottom field of every output frame show, top first."""
    fields = [number for number, run in enumerate(runs) for _ in range(run)]
    return list(zip(fields[::2], fields[1::2], strict=True))


@pytest.mark.parametrize("name", SPEEDS)
def test_the_program_shows_the_planned_fields_and_has_nothing_to_warn_of(
    name: str, tmp_path: Path
) -> None:
    rate, most = (RATE_525, 36) if name.endswith("60") else (RATE_625, 30)
    runs, path = runs_of(name), tmp_path / "a.m2v"

    flagged(path, runs, rate, most_fields=most)

    shown, said = shown_fields(path)
    assert planned(runs) == shown
    assert not said
    assert (b"", "") == run_program("-i", path, "-f", "null", "-")


@pytest.mark.parametrize("container", ["m2v", "mpg", "ts", "mkv"])
@pytest.mark.parametrize("b_pictures", ["0", "1", "2"])
def test_files_show_the_planned_fields_whatever_wraps_them(
    container: str, b_pictures: str, tmp_path: Path
) -> None:
    runs, path = runs_of("22 in 60"), tmp_path / f"a.{container}"

    flagged(path, runs, options={**MPEG2_OPTIONS, "bf": b_pictures}, starts={5, 6, 20})

    shown, said = shown_fields(path)
    assert planned(runs) == shown
    assert not said


@pytest.mark.parametrize(
    ("container", "within"),
    [("ts", Fraction(1, 90_000)), ("mpg", Fraction(1, 90_000)), ("mkv", Fraction(1, 1_000))],
)
def test_files_tell_the_time_of_every_field(
    container: str, within: Fraction, tmp_path: Path
) -> None:
    """Rounded by the container's clock: 90 kHz of MPEG-2 systems, 1 ms of Matroska.

    A program stream tells the time of the first picture that begins in a pack of 2048 bytes, so
    that each has to fill more than one.
    """
    runs, path = runs_of("24 in 60"), tmp_path / f"a.{container}"

    flagged(path, runs, frames=moving(len(runs), (160, 96), 60.0))

    with av.open(str(path)) as movie:
        packets = [one for one in movie.demux(video=0) if one.size]
    pts = [one.pts * one.time_base for one in packets if one.pts is not None]
    dts = [one.dts for one in packets if one.dts is not None]
    firsts = [0, *accumulate(runs)][: len(runs)]
    field = 1 / (2 * RATE_525.fps)
    assert len(runs) == len(pts)
    for first, when in zip(firsts, sorted(pts), strict=True):
        assert abs(when - min(pts) - first * field) <= within
    assert all(one < other for one, other in pairwise(dts))


def test_packets_are_timed_in_fields_and_decoded_before_they_are_shown(tmp_path: Path) -> None:
    """I0 P3 B1 B2: a B picture is decoded as it is shown, others as their forerunner is shown."""
    times = flagged(tmp_path / "a.m2v", [2, 3, 3, 2, 3, 3])

    assert [(0, -2, 2), (8, 0, 2), (2, 2, 3), (5, 5, 3), (13, 8, 3), (10, 10, 3)] == times


@pytest.mark.parametrize("top_first", [True, False])
def test_flags_alternate_fields_from_the_first_one_on(top_first: bool, tmp_path: Path) -> None:  # noqa: FBT001
    """By the program's reading of the headers, put into order of display by their references.

    Its filter takes the first field of all for a top one, so bottom first is read in the headers.
    """
    runs, path = runs_of("24 in 60"), tmp_path / "a.m2v"

    flagged(path, runs, top_first=top_first)

    order: list[tuple[int, int]] = []
    group: dict[int, tuple[int, int]] = {}
    for _, head in headers(path):
        if "group_start_code" in head:
            order += [group[place] for place in sorted(group)]
            group = {}
        flags = head["top_field_first"], head["repeat_first_field"]
        group[head["temporal_reference"]] = flags
    order += [group[place] for place in sorted(group)]
    # The floor rule gives 24 in 60 as 3:2: T B T, B T, B T B, T B.
    cycle = [(1, 1), (0, 0), (0, 1), (1, 0)] if top_first else [(0, 1), (1, 0), (1, 1), (0, 0)]
    assert cycle * (len(runs) // 4) == order


def test_the_sequence_is_interlaced_and_every_picture_progressive_by_the_program_s_word(
    tmp_path: Path,
) -> None:
    path = tmp_path / "a.m2v"
    flagged(path, runs_of("24 in 60"))

    heads = [head for _, head in headers(path)]
    sequences = [head for head in heads if "sequence_header_code" in head]
    assert len(sequences) == sum("group_start_code" in head for head in heads)
    assert {0} == {head["progressive_sequence"] for head in sequences}
    assert {(1, 1)} == {(head["progressive_frame"], head["chroma_420_type"]) for head in heads}
    assert {(4, 2)} == {
        (head["frame_rate_code"], head["aspect_ratio_information"]) for head in sequences
    }
    # As asked for, whatever the encoder itself was told: 5 Mbit/s in units of 400, 112 x 16384.
    assert {(12_500, 112)} == {
        (head["bit_rate_value"], head["vbv_buffer_size_value"]) for head in sequences
    }


def test_flags_change_no_sample(tmp_path: Path) -> None:
    """Decoded as they are, and decoded as the encoder wrote them before flags were set."""
    runs, path = runs_of("24 in 60"), tmp_path / "a.m2v"
    frames = list(moving(len(runs), (160, 96), 20.0))
    flagged(path, runs, frames=frames)
    data = bytearray(path.read_bytes())
    at = data.find(b"\0\0\1\xb5\x14")
    while at >= 0:  # progressive_sequence, and in every picture repeat_first_field
        data[at + 5] |= 0x08
        at = data.find(b"\0\0\1\xb5\x14", at + 1)
    (tmp_path / "b.m2v").write_bytes(data)

    pictures = [
        run_program("-i", one, "-fps_mode", "passthrough", "-f", "framemd5", "-")[0]
        for one in (path, tmp_path / "b.m2v")
    ]

    hashes = [
        [line.rsplit(b",", 1)[1] for line in one.splitlines() if b"#" not in line]
        for one in pictures
    ]
    assert len(runs) == len(hashes[0])
    assert hashes[0] == hashes[1]


@pytest.mark.parametrize("drop", [False, True])
def test_groups_carry_the_timecode_of_the_output_frame_that_they_begin_with(
    drop: bool,  # noqa: FBT001
    tmp_path: Path,
) -> None:
    """From 00:00:59:20 on, ten frames before the numbers that drop-frame skips (SMPTE ST 12-1)."""
    path = tmp_path / "a.m2v"
    flagged(path, [2] * 40, starts={10, 20}, first_frame=59 * 30 + 20, drop_frame=drop)

    groups_read = [one.group for one in mpeg2_pictures([path.read_bytes()]) if one.group]

    told = [one.time_code for one in groups_read]
    later = ["00:01:00;02", "00:01:00;12"] if drop else ["00:01:00:00", "00:01:00:10"]
    assert ["00:00:59;20" if drop else "00:00:59:20", *later] == told[:3]
    assert all(one.closed for one in groups_read)


@pytest.mark.parametrize("runs", [[3] * 60, [2, 3] * 30, [3] * 30 + [2] * 30])
def test_seconds_of_screen_time_hold_the_bits_that_were_asked_for(
    runs: list[int], tmp_path: Path
) -> None:
    """Pictures hard to code: the buffer of a real decoder never runs dry, and is well used."""
    size = (352, 288)
    asked = {"b": "2000000", "maxrate": "2500000", "bufsize": "1000000", "bf": "2"}
    told = settings("mpeg2video", asked, RATE_525, size=size)
    frames = moving(len(runs), size, 30.0)

    flagged(tmp_path / "a.m2v", runs, frames=frames, told=told)

    pictures = list(mpeg2_pictures([(tmp_path / "a.m2v").read_bytes()]))
    buffer = DecoderBuffer(2_500_000 / (2 * RATE_525.fps), 1_000_000)
    for picture, fields in decoded(pictures):
        buffer.take(picture.bits, fields)
    seconds = sum(runs) / (2 * RATE_525.fps)
    average = sum(one.bits for one in pictures) / seconds
    assert 0 <= buffer.lowest < 700_000
    assert 1_700_000 < average < 2_500_000


def test_nothing_is_opened_that_mpeg_2_cannot_say(tmp_path: Path) -> None:
    path = tmp_path / "film.m2v"
    showing = Showing(runs=[2, 2], top_first=True, starts=groups([2, 2], 36))
    odd = settings("mpeg2video", MPEG2_OPTIONS, RATE_525, size=(160, 80))
    slow = settings("mpeg2video", MPEG2_OPTIONS, Rate(Fraction(18)))

    with pytest.raises(OutputError, match="80 lines cannot carry repeat flags"):
        FlaggedEncoder(odd, showing, path)
    with pytest.raises(OutputError, match="no rate of 18"):
        FlaggedEncoder(slow, showing, path)


def test_the_encoder_codes_frames_whole_whatever_the_deliverable_s_order(tmp_path: Path) -> None:
    told = settings("mpeg2video", MPEG2_OPTIONS, RATE_525, scanning=Scanning.TOP_FIRST)
    flagged(tmp_path / "a.m2v", [3, 3], told=told)

    pictures = list(mpeg2_pictures([(tmp_path / "a.m2v").read_bytes()]))

    assert all(one.progressive for one in pictures)
    assert np.array_equal([True, False], [one.top_first for one in pictures])
