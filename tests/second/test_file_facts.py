"""What the second reader finds files to be: files that the program itself made as it was told."""

from __future__ import annotations

import struct
import subprocess
from fractions import Fraction
from itertools import count
from math import floor
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sounds import RATE, write_wav

from retime.errors import ScanError
from retime.second.colours import Colours
from retime.second.facts import file_facts
from retime.second.numbered import dpx_rate, numbered_facts
from retime.second.pacing import nearest_rate
from retime.second.sound import sound_blocks, sound_digest, sound_form
from retime.second.words import read_words

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("the_systems_program")


def program(*arguments: object) -> None:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-y", "-v", "error"]
    done = subprocess.run([*command, *map(str, arguments)], capture_output=True, check=False)
    assert not done.returncode, done.stderr.decode()


def drawn(path: Path, rate: str, frames: int, *how: object) -> Path:
    """Have the program draw a few frames of a test picture."""
    picture = f"testsrc=size=128x96:rate={rate}"
    program("-f", "lavfi", "-i", picture, "-frames:v", frames, "-pix_fmt", "yuv420p", *how, path)
    return path


# FFmpeg's names: what of 5.1.9 and of 9.0.2 is said of two files.
OLD = """\
Input #0, mov,mp4,m4a,3gp,3g2,mj2, from 'a, from 'b.mov':
  Metadata:
    title           : Input #0, mxf, from 'x'
  Duration: 00:00:02.72, start: 0.000000, bitrate: 2848 kb/s
  Chapters:
    Chapter #0:0: start 0.000000, end 0.520000
      Metadata:
        title           : Stream #0:9: Video: no, none
  Stream #0:0[0x1]: Video: prores (HQ) (apch / 0x68637061), yuv422p10le(tv, bt470bg/smpte170m/\
bt709, top coded first (swapped)), 720x576 [SAR 12:11 DAR 15:11], SAR 16:15 DAR 4:3, 532 kb/s, 25 \
fps, 25 tbr, 12800 tbn (default)
    Metadata:
      handler_name    : VideoHandler
      timecode        : 00:59:59:12
  Stream #0:1[0x2](eng): Audio: ac3 (AC-3 / 0x332D4341), 48000 Hz, 5.1(side), fltp, 448 kb/s
  Stream #0:2[0x3](ger): Subtitle: mov_text (text / 0x74786574), 0 kb/s (default)
At least one output file must be specified
"""
NEW = (
    OLD.replace(
        "  Stream #0:0[0x1]:", "  Stream group #0:0[0x5]: Track Reference:\n    Stream #0:0[0x1]:"
    )
    .replace("    Metadata:\n      handler", "      Metadata:\n        handler")
    .replace("      timecode ", "        timecode ")
)


@pytest.mark.parametrize("text", [OLD, NEW], ids=["5.1", "9.0"])
def test_the_words_of_both_versions_say_the_same(text: str) -> None:
    words = read_words(text)

    assert words is not None
    assert "mov,mp4,m4a,3gp,3g2,mj2" == words.container
    assert ["Video", "Audio", "Subtitle"] == [stream.kind for stream in words.streams]
    video, sound, texts = words.streams
    assert ("prores", "HQ", "apch", "yuv422p10le") == (
        video.codec,
        video.profile,
        video.tag,
        video.pixel_format,
    )
    assert (720, 576) == (video.width, video.height)
    assert (Fraction(16, 15), Fraction(12, 11)) == (video.sample_aspect, video.coded_aspect)
    # QuickTime File Format Specification, fiel 9: the bottom field is displayed first.
    assert "bottom-first" == video.order
    assert Colours(range=1, primaries=6, transfer=1, matrix=5) == video.colours
    assert "00:59:59:12" == video.values["timecode"]
    assert (48000, "eng", "ger") == (sound.sample_rate, sound.language, texts.language)


KINDS = {
    "mov": ("-c:v", "prores_ks", "-pix_fmt", "yuv422p10le"),
    "mkv": ("-c:v", "ffv1"),
    "mp4": ("-c:v", "libx264", "-bf", "2"),
    "ts": ("-c:v", "libx264", "-bf", "2"),
    "264": ("-c:v", "libx264", "-f", "h264"),
    "mxf": ("-c:v", "mpeg2video"),
    "mpg": ("-c:v", "mpeg2video", "-bf", "2"),
    "m2v": ("-c:v", "mpeg2video", "-bf", "2"),
}


@pytest.mark.parametrize("rate", ["24000/1001", "24", "25", "30000/1001", "60000/1001"])
@pytest.mark.parametrize("ending", KINDS)
def test_the_rate_is_exact_whatever_the_container_keeps_of_it(
    ending: str, rate: str, tmp_path: Path
) -> None:
    video = file_facts(drawn(tmp_path / f"a.{ending}", rate, 50, *KINDS[ending])).video

    assert video is not None
    assert Fraction(rate) == video.rate
    assert 50 == video.shown
    assert video.uneven is None
    assert video.lasts is not None
    assert video.tick is not None
    assert abs(video.lasts - 50 / Fraction(rate)) <= 2 * video.tick
    coded = ending not in {"mov", "mkv"}
    assert (Fraction(rate) if coded else None) == video.coded_rate


@pytest.mark.parametrize("rate", ["18", "200/11", "48", "240/11"])
def test_rates_of_archives_are_exact_in_mov_and_matroska(rate: str, tmp_path: Path) -> None:
    for ending in ("mov", "mkv"):
        video = file_facts(drawn(tmp_path / f"a.{ending}", rate, 60, *KINDS[ending])).video
        assert video is not None
        assert abs(Fraction(rate) - (video.rate or 0)) < Fraction(rate) / 1_000_000


@pytest.mark.parametrize("ending", ["mov", "mkv", "ts"])
def test_a_rate_that_changes_is_none_and_told_at_its_first_frame(
    ending: str, tmp_path: Path
) -> None:
    path = drawn(
        tmp_path / f"a.{ending}",
        "25",
        40,
        *KINDS[ending],
        "-bsf:v",
        r"setts=pts=PTS+(N\/20)*DURATION",
    )
    video = file_facts(path).video

    assert video is not None
    assert video.rate is None
    assert video.uneven is not None


@given(st.fractions(1, 100, max_denominator=500), st.fractions(Fraction(1, 500), 1))
def test_the_nearest_rate_is_the_simplest_there_is(low: Fraction, more: Fraction) -> None:
    high = low + more
    found = nearest_rate(low, high)
    least = next(below for below in count(1) if floor(high * below) >= -floor(-low * below))

    assert low <= found <= high
    assert least == found.denominator


# Rec. ITU-T H.273: colour primaries, transfer characteristics, matrix coefficients.
CODES = [(1, 1, 1), (4, 4, 4), (5, 5, 5), (6, 6, 6), (7, 7, 7), (8, 8, 8), (9, 16, 9)]
CODES += [(10, 17, 10), (11, 9, 12), (12, 13, 0), (22, 18, 14), (9, 14, 9), (9, 15, 9), (1, 11, 1)]
CODES += [(2, 1, 2), (1, 2, 2), (2, 10, 2), (2, 12, 11), (2, 2, 13), (2, 2, 2)]


@pytest.mark.parametrize("codes", CODES)
def test_colours_come_back_as_the_codes_that_were_written(
    codes: tuple[int, int, int], tmp_path: Path
) -> None:
    primaries, transfer, matrix = codes
    said = f"colour_primaries={primaries}:transfer_characteristics={transfer}"
    said += f":matrix_coefficients={matrix}:video_full_range_flag=1"
    sampled = "yuv444p" if matrix == 0 else "yuv420p"  # H.273: RGB is of 4:4:4
    coded = ("-c:v", "libx264", "-pix_fmt", sampled, "-bsf:v", f"h264_metadata={said}")
    video = file_facts(drawn(tmp_path / "a.264", "25", 2, *coded, "-f", "h264")).video

    assert video is not None
    expected = Colours(range=2, primaries=primaries, transfer=transfer, matrix=matrix)
    assert expected == video.colours
    assert expected == video.frame_colours


@pytest.mark.parametrize(("flag", "order"), [("tff", "top-first"), ("bff", "bottom-first")])
@pytest.mark.parametrize("ending", ["ts", "mxf", "mpg"])
def test_the_order_of_fields_is_that_of_the_stream_and_of_its_pictures(
    ending: str, flag: str, order: str, tmp_path: Path
) -> None:
    told = ("-vf", f"setfield={flag}", "-flags", "+ildct+ilme", "-field_order", flag[0] * 2)
    coded = KINDS["mpg"]
    video = file_facts(drawn(tmp_path / f"a.{ending}", "25", 5, *coded, *told)).video

    assert video is not None
    assert (order, {order}) == (video.order, set(video.frame_orders))
    assert len(video.frame_orders) == 3
    assert order == video.coded_order


@pytest.mark.parametrize(
    ("detail", "order"),
    [(1, "top-first"), (6, "bottom-first"), (9, "bottom-first"), (14, "top-first")],
)
def test_the_order_in_a_mov_file_is_that_in_which_fields_are_shown(
    detail: int, order: str, tmp_path: Path
) -> None:
    """QuickTime File Format Specification, ``fiel``: which field is displayed earliest."""
    path = drawn(tmp_path / "a.mov", "25", 3, *KINDS["mov"])
    data = bytearray(path.read_bytes())
    at = data.index(b"fiel") + 4
    data[at : at + 2] = bytes([2, detail])
    path.write_bytes(data)
    video = file_facts(path).video

    assert video is not None
    assert (order, {"progressive"}) == (video.order, set(video.frame_orders))


def test_container_and_pictures_may_say_two_sample_aspects(tmp_path: Path) -> None:
    coded = drawn(tmp_path / "a.mp4", "25", 3, *KINDS["mp4"], "-vf", "setsar=12/11")
    program("-i", coded, "-c", "copy", "-aspect", "16:9", tmp_path / "b.mov")
    video = file_facts(tmp_path / "b.mov").video

    assert video is not None
    assert (Fraction(4, 3), Fraction(12, 11)) == (video.sample_aspect, video.coded_aspect)
    assert Fraction(16, 9) == video.display_aspect


def test_values_chapters_and_labels_come_as_they_were_written(tmp_path: Path) -> None:
    """FFmpeg formats documentation, Metadata: what is escaped in a value."""
    title = "A; B = C # D \\ E\nF"
    (tmp_path / "in.txt").write_text(
        ";FFMETADATA1\ntitle=A\\; B \\= C \\# D \\\\ E\\\nF\n"
        "[CHAPTER]\nTIMEBASE=1/3\nSTART=0\nEND=2\ntitle=[CHAPTER]\n"
        "[CHAPTER]\nTIMEBASE=1/1000\nSTART=667\nEND=1500\ntitle=Reel 2\n"
    )
    path = tmp_path / "a.mkv"
    picture = ("-f", "lavfi", "-i", "testsrc=size=64x48:rate=30000/1001")
    described = ("-f", "ffmetadata", "-i", tmp_path / "in.txt", "-map_metadata", 1)
    told = ("-metadata:s:v", "timecode=01:00:00;02")
    program(*picture, *described, *told, "-frames:v", 45, "-c:v", "ffv1", path)
    facts = file_facts(path)

    assert title == facts.values["title"]
    assert "encoder" not in facts.values
    assert "01:00:00;02" == facts.timecode
    told_chapters = [(one.begin, one.title) for one in facts.chapters]
    assert [(0, "[CHAPTER]"), (Fraction(667, 1000), "Reel 2")] == told_chapters


def test_samples_are_counted_and_a_digest_is_the_samples_alone(tmp_path: Path) -> None:
    chance = np.random.default_rng(5)
    samples = chance.integers(-30000, 30000, (12345, 2))
    wav = write_wav(tmp_path / "a.wav", samples)
    samples[12000, 1] += 1
    other = write_wav(tmp_path / "b.wav", samples)
    for name, codec in (("a.flac", "flac"), ("a.mov", "pcm_s24be"), ("a.mka", "alac")):
        program("-i", wav, "-c:a", codec, tmp_path / name)
        (stream,) = file_facts(tmp_path / name).sounds

        assert (codec, RATE, 2, 12345) == (
            stream.codec,
            stream.rate,
            stream.channels,
            stream.samples,
        )
        assert sound_digest(wav) == sound_digest(tmp_path / name) != sound_digest(other)
    heard = np.concatenate(list(sound_blocks(other)))
    assert np.array_equal(samples, np.rint(heard * 32768))
    assert (RATE, 2) == (sound_form(wav).rate, sound_form(wav).channels)


def test_sound_may_begin_after_the_pictures(tmp_path: Path) -> None:
    wav = write_wav(tmp_path / "a.wav", np.ones((RATE, 2), np.int64))
    path = tmp_path / "a.mkv"
    picture = ("-f", "lavfi", "-i", "testsrc=size=64x48:rate=25")
    late = ("-itsoffset", "0.25", "-i", wav)
    program(*picture, *late, "-frames:v", 30, "-c:v", "ffv1", "-c:a", "flac", path)
    facts = file_facts(path)

    assert Fraction(1, 4) == facts.sounds[0].start
    assert facts.video is not None
    assert 0 == facts.video.start


@pytest.mark.parametrize(("ending", "codec"), [("mkv", "subrip"), ("mp4", "mov_text")])
def test_cues_are_counted_without_what_stands_between_them(
    ending: str, codec: str, tmp_path: Path
) -> None:
    (tmp_path / "a.srt").write_text(
        "1\n00:00:00,200 --> 00:00:00,700\nOne\n\n2\n00:00:00,900 --> 00:00:01,100\nTwo\n"
    )
    path = tmp_path / f"a.{ending}"
    picture = ("-f", "lavfi", "-i", "testsrc=size=64x48:rate=25")
    told = ("-c:v", "libx264", "-c:s", codec, "-metadata:s:s", "language=eng")
    program(*picture, "-i", tmp_path / "a.srt", "-frames:v", 50, *told, path)
    (stream,) = file_facts(path).subtitles

    assert (codec, "eng") == (stream.codec, stream.language)
    milliseconds = [1000 * time for cue in stream.cues for time in cue]
    assert [200, 700, 900, 1100] == milliseconds


def test_numbered_files_are_listed_with_their_holes(tmp_path: Path) -> None:
    drawn(tmp_path / "a.%05d.tif", "25", 9, "-start_number", 86400)
    for number in (86402, 86405, 86406):
        (tmp_path / f"a.{number}.tif").unlink()
    (tmp_path / "a.86403.txt").write_text("not a picture")
    (tmp_path / "about.json").write_text('{"Rate": "24", "count": 9}')
    facts, listed = file_facts(tmp_path), numbered_facts(tmp_path)

    assert listed == facts.numbered
    assert ("a.", ".tif", 5, 86400, 6) == (
        listed.stem,
        listed.ending,
        listed.digits,
        listed.first_number,
        listed.count,
    )
    assert ((86402, 86402), (86405, 86406)) == listed.holes
    assert ("a.86403.txt",) == listed.others
    assert {"rate": "24"} == facts.values
    assert facts.video is not None
    assert ("tiff", 128, 96, None) == (
        facts.video.codec,
        facts.video.width,
        facts.video.height,
        facts.video.rate,
    )


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_dpx_file_tells_its_rate_in_either_order_of_bytes(order: str, tmp_path: Path) -> None:
    """SMPTE ST 268, from memory: single precision at 1724 and 1940."""
    data = bytearray(2048)
    data[:4] = b"SDPX" if order == ">" else b"XPDS"
    struct.pack_into(f"{order}f", data, 1724, 24000 / 1001)
    struct.pack_into(f"{order}I", data, 1940, 0xFFFFFFFF)
    path = tmp_path / "a.dpx"
    path.write_bytes(data)
    assert Fraction(24000, 1001) == dpx_rate(path)

    struct.pack_into(f"{order}f", data, 1940, 25)
    path.write_bytes(data)
    assert dpx_rate(path) is None


def test_what_is_no_movie_cannot_be_opened(tmp_path: Path) -> None:
    (tmp_path / "a.mkv").write_text("a list of shots")
    with pytest.raises(ScanError, match="nothing that the ffmpeg program opens"):
        file_facts(tmp_path / "a.mkv")
    (tmp_path / "empty").mkdir()
    with pytest.raises(ScanError, match="holds no numbered files"):
        file_facts(tmp_path / "empty")


def test_a_stream_of_sound_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    wav = write_wav(tmp_path / "a.wav", np.ones((RATE, 2), np.int64))
    with pytest.raises(ScanError, match="has no such sound"):
        sound_form(wav, 1)
