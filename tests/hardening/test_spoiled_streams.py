"""Our own readers of coded streams and containers, given spoiled ones: a value, or a clause."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from random import Random
from typing import TYPE_CHECKING

import av
import pytest
from fastcrc.crc32 import mpeg_2
from fuzz_limits import budget, held_to_limits
from hypothesis import given
from hypothesis import strategies as st
from spoiled_media import spoil, write_kind

from retime.errors import ScanError
from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.media.disc_check import disc_findings
from retime.media.disc_picture import Promised
from retime.media.dnxhd_header import dnxhd_variant
from retime.media.ffv1 import parse_config
from retime.media.ffv1slices import sound_slices
from retime.media.matroska import block_times, count_blocks
from retime.media.still import probe_still
from retime.profile.shelf import load_profile, shipped_folder
from retime.second.numbered import dpx_rate, values_beside

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from av.video.codeccontext import VideoCodecContext

    Reader = Callable[[bytes], object]

FILES = ("ffv1", "mpeg2-stream", "h264-ts", "dpx", "png", "tiff")
PROMISED = {
    "rate": Rate(Fraction(25)),
    "raster": (160, 96),
    "sample_aspect": Fraction(1),
    "display_aspect": Fraction(4, 3),
    "scanning": Scanning.PROGRESSIVE,
    "fields": 16,
    "starts": frozenset({0}),
}
ABOUT = b'{"film": "Lamp", "version": "slow", "deliverable": "master", "title": "The Lamp"}'


@pytest.fixture(scope="module")
def originals(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Return whole files, the coded pictures of some in one, and a configuration record."""
    found = {"about": ABOUT}
    for name in FILES:
        path = write_kind(tmp_path_factory.mktemp(name), name)
        path = path.with_name(path.name % 3) if "%" in path.name else path
        found[name] = path.read_bytes()
        with av.open(str(path)) as container:
            stream = container.streams.video[0]
            packets = [bytes(packet) for packet in container.demux(stream) if packet.size]
            context: VideoCodecContext = stream.codec_context
            found[f"{name} record"] = bytes(context.extradata or b"")
        found[f"{name} pictures"] = b"".join(packets)
        found[f"{name} picture"] = packets[0]
    return found


def _at(folder: Path, name: str, read: Callable[[Path], object]) -> Reader:
    """Return a reader of what is put into a file first."""

    def reader(data: bytes) -> object:
        path = folder / name
        path.write_bytes(data or b"\0")
        return read(path)

    return reader


def _disc(profile: str, codec: str, container: str) -> Callable[[Path], object]:
    disc = load_profile(shipped_folder() / f"{profile}.yaml").disc
    assert disc
    promised = Promised(container=container, **PROMISED)  # type: ignore[arg-type]
    return lambda path: disc_findings(path, codec, disc, promised)


def _record(data: bytes) -> object:
    """Read a record whose checksum is right, so that more than that is looked at."""
    body = data[:-4]
    return parse_config(body + mpeg_2(body, 0).to_bytes(4, "big"))


READERS: dict[str, tuple[str, Callable[[Path], Reader]]] = {
    # what is spoiled, and what reads it, given a folder to work in
    "Matroska's blocks": ("ffv1", lambda at: _at(at, "a.mkv", count_blocks)),
    "Matroska's times": ("ffv1", lambda at: _at(at, "a.mkv", lambda path: block_times(path, 5))),
    "FFV1's record": ("ffv1 record", lambda _: _record),
    "FFV1's slices": ("ffv1 picture", lambda _: sound_slices),
    "MPEG-2 by a disc's limits": (
        "mpeg2-stream",
        lambda at: _at(at, "a.m2v", _disc("disc-sd-625", "mpeg2", "m2v")),
    ),
    "H.264 by a disc's limits": (
        "h264-ts pictures",
        lambda at: _at(at, "a.264", _disc("disc-hd-24", "h264", "264")),
    ),
    "DNxHD's variant": ("dpx picture", lambda _: dnxhd_variant),
    "DPX's rate": ("dpx", lambda at: _at(at, "a.dpx", dpx_rate)),
    "a DPX still": ("dpx", lambda at: _at(at, "a.dpx", probe_still)),
    "a PNG still": ("png", lambda at: _at(at, "a.png", probe_still)),
    "a TIFF still": ("tiff", lambda at: _at(at, "a.tif", probe_still)),
    "what lies beside numbered files": (
        "about",
        lambda at: _at(at, "about.json", lambda path: values_beside(path.parent)),
    ),
}


@pytest.mark.parametrize("reader", READERS)
def test_a_spoiled_stream_is_read_or_refused(
    reader: str, originals: dict[str, bytes], tmp_path: Path
) -> None:
    original, made = READERS[reader]
    read = made(tmp_path)
    others = [*originals.values()]

    @budget(0.1 / len(READERS), 2)
    @given(st.integers(0, 1 << 32))
    def reads(seed: int) -> None:
        dice = Random(seed)  # noqa: S311 - the same every time
        data = spoil(originals[original], dice.choice(others), dice)
        with held_to_limits(), suppress(ScanError, ValueError):
            read(data)

    reads()


def test_a_note_of_nothing_but_brackets_is_no_note(tmp_path: Path) -> None:
    (tmp_path / "about.json").write_text("[" * 200_000)

    assert {} == values_beside(tmp_path)


def test_a_number_as_long_as_the_file_is_damage(
    originals: dict[str, bytes], tmp_path: Path
) -> None:
    """RFC 8794, section 7.2: an unsigned integer has at most eight bytes."""
    data = originals["ffv1"]
    cluster_time = data.index(b"\xe7", data.index(b"\x1f\x43\xb6\x75"))  # RFC 9559: Timestamp
    long = b"\xe7\x40\x20" + bytes(32)
    path = tmp_path / "a.mkv"
    path.write_bytes(data[:cluster_time] + long + data[cluster_time:])

    with pytest.raises(ScanError, match="a number of more than eight bytes"):
        count_blocks(path)
