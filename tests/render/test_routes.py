"""Which way a deliverable is made: the choice as a table, and what a refused copy looks like."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from msgspec.structs import replace
from numbered import write_scan
from rendering import ffmpeg, look, made, picture_hashes, reported, retime, shown, write_map
from scan_kinds import COPIED, KINDS

from retime.light.format import PictureFormat
from retime.media.facts import Form, ScanFacts
from retime.media.ffv1 import parse_config
from retime.media.probe import probe
from retime.profile.shelf import shelf
from retime.render.containers import INTO, RAW_INTO, copy_container, copy_tag
from retime.render.route import Route, choose_route

if TYPE_CHECKING:
    from collections.abc import Mapping

PRORES = ScanFacts(
    path=Path("reel.mov"),
    form=Form.MOVIE,
    container="mov,mp4,m4a,3gp,3g2,mj2",
    codec="prores",
    codec_profile="HQ",
    codec_tag="apch",
    extradata=b"",
    picture=PictureFormat(width=1828, height=1332, pixel_format="yuv422p10le"),
    intra=True,
    intra_reason="prores codes every picture by itself",
    header_frames=100,
    bytes=1,
)
FFV1 = replace(
    PRORES,
    path=Path("reel.mkv"),
    container="matroska,webm",
    codec="ffv1",
    codec_profile=None,
    codec_tag="",
    extradata=b"four slices",
)
H264 = replace(PRORES, codec="h264", codec_profile="High", intra=False, intra_reason="h264 leans")
DPX = replace(
    PRORES,
    path=Path("reel/%06d.dpx"),
    form=Form.SEQUENCE,
    container="sequence",
    codec="dpx",
    codec_profile=None,
    codec_tag="",
    picture=replace(PRORES.picture, pixel_format="gbrp10le"),
)


def _other(facts: ScanFacts, **changed: Any) -> ScanFacts:
    return replace(facts, picture=replace(facts.picture, **changed))


@pytest.mark.parametrize(
    ("profile", "scans"),
    [
        ("as-scanned", [PRORES]),
        ("as-scanned", [FFV1, FFV1]),
        ("as-scanned", [DPX]),
        ("as-scanned", [replace(PRORES, codec_profile="4444")]),
        ("prores-mezzanine", [PRORES, PRORES]),
        ("prores-mezzanine", [replace(PRORES, container="matroska,webm")]),
        ("ffv1-master", [FFV1]),
        ("dpx-sequence", [DPX]),
    ],
)
def test_what_the_profile_asks_for_is_copied(profile: str, scans: list[ScanFacts]) -> None:
    choice = choose_route(shelf().load(profile), scans)

    assert Route.COPY == choice.route
    assert f"{scans[0].codec} is intra-only and is what {profile} asks for" == choice.reason


@pytest.mark.parametrize(
    ("profile", "scans", "reason"),
    [
        ("ffv1-master", [PRORES], "the scan is prores and ffv1-master is ffv1"),
        (
            "prores-mezzanine",
            [replace(PRORES, codec_profile="LT")],
            "the scan is prores LT and prores-mezzanine is HQ",
        ),
        (
            "dpx-sequence",
            [_other(DPX, pixel_format="gray")],
            "gray is not among the pixel formats of dpx-sequence",
        ),
        (
            "dpx-sequence",
            [replace(DPX, form=Form.MOVIE, path=Path("reel.mov"))],
            "the scan is a movie",
        ),
        (
            "ffv1-master",
            [replace(FFV1, intra=False, intra_reason="the FFV1 header does not say intra-only")],
            "the FFV1 header does not say intra-only",
        ),
        (
            "ffv1-master",
            [FFV1, PRORES],
            "scan 2: the scan is prores and ffv1-master is ffv1",
        ),
        (
            "ffv1-master",
            [FFV1, replace(FFV1, extradata=b"sixteen slices")],
            "scan 2 differs from the first in its codec header",
        ),
        (
            "ffv1-master",
            [FFV1, FFV1, _other(FFV1, pixel_format="yuv422p")],
            "scan 3 differs from the first in its pixel format",
        ),
        (
            "prores-mezzanine",
            [PRORES, replace(PRORES, codec_tag="apcn")],
            "scan 2 differs from the first in its FourCC",
        ),
        (
            "prores-mezzanine",
            [PRORES, _other(PRORES, field_order="top-first")],
            "scan 2 differs from the first in its field order",
        ),
        (
            "prores-mezzanine",
            [PRORES, _other(PRORES, sample_aspect=Fraction(16, 15))],
            "scan 2 differs from the first in its sample aspect",
        ),
        (
            "prores-mezzanine",
            [PRORES, _other(PRORES, transfer=1)],
            "scan 2 differs from the first in its colour tags",
        ),
        (
            "prores-mezzanine",
            [PRORES, _other(PRORES, width=1920)],
            "scan 2 differs from the first in its raster",
        ),
    ],
)
def test_what_cannot_be_copied_is_encoded_once_with_the_reason(
    profile: str, scans: list[ScanFacts], reason: str
) -> None:
    choice = choose_route(shelf().load(profile), scans)

    assert Route.ENCODE_ONCE == choice.route
    assert f"no copy: {reason}" == choice.reason


def test_black_keeps_a_deliverable_from_being_copied() -> None:
    choice = choose_route(
        shelf().load("ffv1-master"), [FFV1], foreign="black has to be encoded beside it"
    )

    assert Route.ENCODE_ONCE == choice.route
    assert "no copy: black has to be encoded beside it" == choice.reason


@pytest.mark.parametrize("scan", [PRORES, FFV1, H264, DPX])
def test_a_long_gop_profile_is_streamed(scan: ScanFacts) -> None:
    choice = choose_route(shelf().load("h264-viewing"), [scan])

    assert Route.STREAM == choice.route
    assert "lean on each other" in choice.reason


@pytest.mark.parametrize(
    ("scans", "reason"),
    [
        ([H264], "no copy: h264 leans"),
        (
            [PRORES, _other(PRORES, pixel_format="yuv444p12le")],
            "no copy: scan 2 differs from the first in its pixel format",
        ),
        (
            [replace(PRORES, container="avi", codec="huffyuv", codec_tag="HFYU")],
            "no copy: neither MOV nor Matroska holds huffyuv so that readers know it",
        ),
        (
            [_other(replace(PRORES, container="nut", codec="rawvideo"), pixel_format="rgb48le")],
            "no copy: neither MOV nor Matroska holds rgb48le so that readers know it",
        ),
        (
            [
                _other(
                    replace(PRORES, container="avi", codec="rawvideo", extradata=b"BottomUp\0"),
                    pixel_format="bgr24",
                )
            ],
            "no copy: its pictures are stored bottom up, which only AVI can say",
        ),
    ],
)
def test_as_scanned_has_no_other_way_than_a_copy(scans: list[ScanFacts], reason: str) -> None:
    choice = choose_route(shelf().load("as-scanned"), scans)

    assert (None, reason) == (choice.route, choice.reason)


@pytest.mark.parametrize("name", COPIED)
def test_as_scanned_copies_every_intra_codec_into_its_own_kind_of_file(
    name: str, tmp_path: Path
) -> None:
    kind = KINDS[name]

    facts = probe(kind.write(tmp_path))

    choice = choose_route(shelf().load("as-scanned"), [facts])
    assert Route.COPY == choice.route
    is_file = facts.form is Form.MOVIE
    assert (kind.copied_as if is_file else "sequence") == copy_container(facts)


@pytest.mark.parametrize(
    ("container", "codec", "expected"),
    [("avi", "mjpeg", "mov"), ("mxf", "mjpeg", "mov"), ("nut", "ffv1", "mkv")],
)
def test_a_scan_in_another_container_is_copied_into_mov_or_else_matroska(
    container: str, codec: str, expected: str
) -> None:
    assert expected == copy_container(replace(PRORES, container=container, codec=codec))


@pytest.mark.parametrize(
    ("codec", "aspect", "expected"),
    [
        ("dnxhd", None, "mxf"),
        ("prores", Fraction(1), "mxf"),
        ("prores", Fraction(16, 15), "mov"),  # FFmpeg writes no sample aspect into MXF
        ("dvvideo", Fraction(16, 15), "mxf"),  # but DV says it in every picture
        ("v210", None, "mov"),
    ],
)
def test_a_scan_in_mxf_stays_in_mxf_where_nothing_of_it_is_lost(
    codec: str, aspect: Fraction | None, expected: str
) -> None:
    picture = replace(PRORES.picture, sample_aspect=aspect)

    assert expected == copy_container(
        replace(PRORES, container="mxf", codec=codec, picture=picture)
    )


def test_avis_fourccs_are_not_taken_into_mov() -> None:
    scan = replace(PRORES, container="avi", codec="mjpeg", codec_tag="MJPG")

    assert copy_tag(scan, "mov") is None
    assert "MJPG" == copy_tag(scan, "mkv")
    assert "apch" == copy_tag(PRORES, "mov")


@pytest.mark.parametrize(
    ("ending", "pixel_format"),
    [(ending, name) for ending, names in RAW_INTO.items() for name in sorted(names)],
)
def test_uncompressed_pictures_survive_a_copy_in_every_format_of_the_table(
    ending: str, pixel_format: str, tmp_path: Path
) -> None:
    write_scan(tmp_path / f"scan.{ending}", 3, "rawvideo", pixel_format)
    speed_map = write_map(
        tmp_path,
        f"  - {{reel: 1, scan: scan.{ending}, frames: 3}}",
        "  a: {version: v, profile: as-scanned, rate: 18}",
    )

    (copy,) = made(speed_map, tmp_path / "out").values()

    assert f".{ending}" == copy.suffix
    scan = picture_hashes(tmp_path / f"scan.{ending}", pixel_format)
    assert scan == picture_hashes(copy, pixel_format)
    assert "rawvideo" in INTO[ending]


def _refused(folder: Path, reels: str, line: int) -> str:
    """Render as-scanned, which must be refused at ``line``, and return the message."""
    speed_map = write_map(folder, reels, "  a: {version: v, profile: as-scanned, rate: 24}")
    output = folder / "refused"
    output.mkdir()

    done = retime("render", speed_map, "-o", output)

    assert 2 == done.code
    assert [] == list(output.iterdir())
    place = f"{speed_map}:{line}:28: as-scanned cannot be made from these scans: "
    assert done.messages.startswith(place), done.messages
    return done.messages.removeprefix(place).strip()


def test_as_scanned_of_a_long_gop_scan_is_refused_at_the_maps_line(tmp_path: Path) -> None:
    KINDS["h264"].write(tmp_path)

    message = _refused(tmp_path, "  - {reel: 1, scan: scan.mp4}", 9)

    assert (
        "no copy: h264 does not promise that every picture stands alone; "
        "ffv1-master keeps every bit of a scan that cannot be copied"
    ) == message


def test_as_scanned_with_black_is_refused_for_there_is_no_black_to_copy(tmp_path: Path) -> None:
    KINDS["dpx-10"].write(tmp_path)
    (tmp_path / "scan" / "000004.dpx").unlink()

    message = _refused(tmp_path, "  - {reel: 1, scan: scan/%06d.dpx, missing: black}", 9)

    assert message.startswith("no copy: black has to be encoded")


def _two_reels(folder: Path, *scans: Mapping[str, Any]) -> Path:
    """Write two FFV1 scans and the map of an as-scanned film and its master; return the map."""
    for number, options in enumerate(scans, 1):
        numbers = range(100 * number, 100 * number + 8)
        pixel_format = options.get("pixel_format", "yuv422p10le")
        coding = {"level": "3", "g": "1", "slices": "4", **options.get("options", {})}
        write_scan(folder / f"{number}.mkv", numbers, "ffv1", pixel_format, coding)
    reels = "\n".join(
        f"  - {{reel: {number}, scan: {number}.mkv}}" for number in range(1, len(scans) + 1)
    )
    return write_map(folder, reels, "  master: {version: v, profile: ffv1-master, rate: 24}")


def _route(speed_map: Path) -> tuple[str, str]:
    (told,) = reported(speed_map)["deliverables"]
    return told["route"], told["reason"]


def _shows_both_reels(speed_map: Path, folder: Path, pixel_format: str) -> None:
    """Hold the master's pictures against the two scans', sample by sample."""
    (master,) = made(speed_map, folder / "out").values()
    scans = [picture_hashes(folder / f"{number}.mkv", pixel_format) for number in (1, 2)]
    # Two reels of 8 frames at 18 in 24: 11 output frames to 1/3 of the twelfth, then the rest.
    told = [(number // 8, number % 8) for number in _continuous(16)]
    assert [scans[reel][frame] for reel, frame in told] == picture_hashes(master, pixel_format)


def _continuous(frames: int) -> list[int]:
    """Return 18 in 24 by the definition: the frame that holds the time (j + 1/2)/24."""
    outputs = (2 * frames * 24 + 18) // 36
    return [min((2 * j + 1) * 18 // 48, frames - 1) for j in range(outputs)]


def test_reels_of_one_header_are_copied(tmp_path: Path) -> None:
    speed_map = _two_reels(tmp_path, {}, {})

    assert "copy" == _route(speed_map)[0]
    _shows_both_reels(speed_map, tmp_path, "yuv422p10le")


def test_reels_of_4_and_16_slices_are_encoded_once_and_lose_no_picture(tmp_path: Path) -> None:
    speed_map = _two_reels(tmp_path, {}, {"options": {"slices": "16"}})
    slices = [probe(tmp_path / f"{number}.mkv").extradata for number in (1, 2)]

    assert parse_config(slices[0]) != parse_config(slices[1])
    assert (
        "encode-once",
        "no copy: scan 2 differs from the first in its codec header",
    ) == _route(speed_map)
    _shows_both_reels(speed_map, tmp_path, "yuv422p10le")


def test_reels_of_8_and_10_bits_are_encoded_once_at_10(tmp_path: Path) -> None:
    speed_map = _two_reels(tmp_path, {"pixel_format": "yuv422p"}, {})

    assert (
        "encode-once",
        "no copy: scan 2 differs from the first in its pixel format",
    ) == _route(speed_map)
    (master,) = made(speed_map, tmp_path / "out").values()
    seen = look(master)
    assert "yuv422p10le" == seen.pixel_format
    reels = [100 * (1 + number // 8) + number % 8 for number in _continuous(16)]
    assert reels == list(seen.numbers)


def test_ffv1_with_a_gop_above_1_is_encoded_once_with_its_reason(tmp_path: Path) -> None:
    leaning = {"options": {"g": "12"}}
    speed_map = _two_reels(tmp_path, leaning, leaning)

    route, reason = _route(speed_map)

    assert "encode-once" == route
    assert "the FFV1 header does not say intra-only" in reason
    _shows_both_reels(speed_map, tmp_path, "yuv422p10le")
    assert "does not say intra-only" in _refused(tmp_path, "  - {reel: 1, scan: 1.mkv}", 9)


def test_uncompressed_pictures_stored_bottom_up_come_out_upright(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "scan.avi", 4, "rawvideo", "bgr24")
    data = bytearray(path.read_bytes())
    # BITMAPINFOHEADER (Microsoft): biSize 40, biWidth, biHeight; rows from the top have it
    # negative, rows from the bottom positive.
    header = data.index((40).to_bytes(4, "little") + (160).to_bytes(4, "little"))
    assert -96 == int.from_bytes(data[header + 8 : header + 12], "little", signed=True)
    data[header + 8 : header + 12] = (96).to_bytes(4, "little")
    path.write_bytes(data)
    turned = tmp_path / "turned.avi"
    ffmpeg("-i", path, "-vf", "vflip", "-c:v", "ffv1", turned)

    message = _refused(tmp_path, "  - {reel: 1, scan: scan.avi}", 9)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan.avi}",
        "  master: {version: v, profile: ffv1-master, rate: 18}",
    )
    (master,) = made(speed_map, tmp_path / "out").values()

    assert message.startswith("no copy: its pictures are stored bottom up")
    assert picture_hashes(path, "bgr24") == picture_hashes(master, "bgr24")
    assert [0, 1, 2, 3] == list(look(turned).numbers)
    assert [0, 1, 2, 3] == shown(speed_map, "master")


def test_another_profiles_scan_is_not_copied(tmp_path: Path) -> None:
    KINDS["prores-4444"].write(tmp_path)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan.mov}",
        "  hq: {version: v, profile: prores-mezzanine, rate: 24}",
    )

    assert (
        "encode-once",
        "no copy: the scan is prores 4444 and prores-mezzanine is HQ",
    ) == _route(speed_map)
