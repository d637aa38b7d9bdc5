"""Bad maps and bad scans: a clear located message, exit code 2, nothing left, nothing changed."""

from __future__ import annotations

import os
import re
import shutil
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import pytest
from numbered import draw, encode_files, write_scan
from running import LAMP, contents

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from running import Program

pytest_plugins = ["at_the_desk"]


def refused(retime: Program, work: Path, command: str, source: str | bytes = LAMP) -> list[str]:
    """Hold a command on a map against what every refusal keeps to; return the lines it said."""
    path = work / "lamp.yaml"
    path.write_bytes(source if isinstance(source, bytes) else source.encode())
    (work / "out" / "Lamp-kept.mp4").write_text("not to be touched")
    before = contents(work)
    arguments = {"render": [path, "-o", work / "out"], "frames": [path, "viewing"]}
    ran = retime(command, *arguments.get(command, [path]))

    assert 2 == ran.code, ran.said
    assert before == contents(work)
    assert "Traceback" not in ran.said
    assert "" == (ran.err if command == "lint" else ran.out)
    return ran.said.replace(f"{work}/", "").splitlines()


# what stands in the sound map, what is written instead, where the finding is, what it says
MAPS = {
    "unknown key": ("    first: 0\n", "    frist: 0\n", "7:5", 'unknown key "frist"; did you mean'),
    "unknown key at the top": ("film:", "flim:", "1:1", '"film" is missing'),
    "wrong unit of a speed": ("18 fps", "18 mph", "15:12", "'18 mph' is no speed"),
    "wrong unit of a length": ("18 fps", "18 ft", "15:12", "'18 ft' is no speed"),
    "negative speed": ("18 fps", "-18 fps", "15:12", "a speed is above 0"),
    "speed of zero": ("18 fps", "0 fps", "15:12", "'0 fps' is not above 0"),
    "speed over zero": ("18 fps", "18/0", "15:12", "'18/0' "),
    "speed that is no number": ("18 fps", "nan", "15:12", "'nan' is no speed"),
    "negative rate": ("rate: 24", "rate: -24", "20:11", "'-24' is no rate"),
    "unknown version of the format": ("retime-map/1", "retime-map/9", "1:9", '"retime-map/9" is'),
    "another format": ("retime-map/1", "retime-profile/1", "1:9", '"retime-profile/1" is not'),
    "repeated key": ("gauge: 35mm", "gauge: 35mm\ngauge: 16mm", "4:1", 'the key "gauge" is rep'),
    "unknown gauge": ("35mm", "36mm", "3:8", "the gauge '36mm' is not known"),
    "gauge without one pitch": ("35mm", "17.5mm", "3:8", "17.5mm has no single frame pitch"),
    "overlapping shots": ("first: 12", "first: 11", "12:22", "shot 1/2 begins at frame 11, insid"),
    "shot outside its reel": ("last: 23,", "last: 24,", "12:32", "frame 24 of shot 1/2 is outside"),
    "shot of no reel": ("- {reel: 1, first: 12", "- {reel: 3, first: 12", "12:12", 'no reel "3"'),
    "shot that runs backwards": ("last: 11", "last: -1", "11:31", '"-1" is no frame number'),
    "shot with last before first": ("first: 12, last: 23", "first: 23, last: 12", "12:32", "befo"),
    "reel with last before first": ("first: 0\n    l", "first: 24\n    l", "8:11", "comes before"),
    "reel outside its scan": ("last: 23\n", "last: 24\n", "8:11", "frame 24 is outside the scan"),
    "kind of shot": ("kind: title", "kind: card", "12:51", '"card" is not known here'),
    "unknown version": ("version: slow", "version: solw", "18:14", 'there is no version "solw"'),
    "unknown profile": ("h264-viewing", "h264-view", "19:14", "no profile is named 'h264-view'"),
    "no rate": ("    rate: 24\n", "", "17:3", "states no rate"),
    "unknown phase": ("rate: 24", "rate: 24\n    phase: odd", "21:12", '"odd" is not known here'),
    "a scan that is an address": ("lamp.mkv", "https://a.example/b.mkv", "6:11", "is an address"),
    "a scan that is a concat": ("lamp.mkv", "concat:a.mkv|b.mkv", "6:11", "is an address"),
    "a scan that is a pipe": ("lamp.mkv", "pipe:0", "6:11", "is an address"),
    "dots in the film's name": ("film: Lamp", "film: ../Lamp", "2:7", 'the name "../Lamp" holds'),
    "dots in a deliverable's name": ("  viewing:", "  ../v:", "17:3", 'the name "../v" holds a s'),
    "dots in a file's name": ("rate: 24", "rate: 24\n    file: ../a.mp4", "21:11", "holds a slash"),
    "a file that is a whole path": ("rate: 24", "rate: 24\n    file: /a.mp4", "21:11", "holds a s"),
    "a table of shots that is away": (LAMP[LAMP.index("shots:") : LAMP.index("versions")],
                                     "shots: shots.csv\n", "10:8", "shots.csv"),
    "a tab": ("    scan:", "\tscan:", "6:1", "this is not YAML"),
    "a quote left open": ("film: Lamp", 'film: "Lamp', "2:7", "this is not YAML"),
    "a list for a text": ("film: Lamp", "film: [Lamp]", "2:7", "this is a list where a text"),
    "a tag": ("film: Lamp", "film: !!python/name:os.system x", "2:7", "tag"),
    "two documents": ("versions:", "---\nversions:", "13:1", "document"),
}  # fmt: skip


@pytest.mark.parametrize("command", ["lint", "render"])
@pytest.mark.parametrize("case", MAPS)
def test_a_bad_map_is_refused_at_its_line(
    case: str, command: str, work: Path, retime: Program
) -> None:
    old, new, place, fragment = MAPS[case]
    assert 1 <= LAMP.count(old)
    said = refused(retime, work, command, LAMP.replace(old, new, 1))

    assert any(line.startswith(f"lamp.yaml:{place}: ") and fragment in line for line in said), (
        "\n".join(said)
    )


@pytest.mark.parametrize("command", ["lint", "report", "frames", "render"])
def test_all_mistakes_of_a_map_are_told_at_once_by_every_command(
    command: str, work: Path, retime: Program
) -> None:
    source = LAMP.replace("18 fps", "18 mph").replace("35mm", "36mm").replace("title", "card")
    said = refused(retime, work, command, source)

    assert ["3:8", "12:51", "15:12"] == [line.split(":", 1)[1].split(": ")[0] for line in said]


ALIASES = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]\n"
    for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    ("source", "place", "fragment"),
    [
        (ALIASES + LAMP, r"\d+:\d+", "alias"),
        ("film: " + "[" * 10_000_000, r"1:\d+", "nested more than"),
        ("film: " + "{a: " * 2_500_000, r"1:\d+", "nested more than"),
        (LAMP.replace("Lamp", "L\xe4mp").encode("latin-1"), "2:8", "0xe4 is not UTF-8"),
        (LAMP.encode("utf-16"), "1:1", "0xff is not UTF-8"),
        (LAMP.replace("Lamp", "La\0mp"), "2:9", "U\\+0000 may not stand"),
        (b"", r"1:1", "empty"),
        (b"\x00" * 17_000_000, None, "larger than 16 MB"),
        ("- a\n- b\n", "1:1", "the document has no keys"),
    ],
    ids=["aliases", "lists", "keys", "latin", "utf-16", "nul", "nothing", "large", "list"],
)
def test_a_hostile_document_is_refused_quickly(
    source: str | bytes, place: str | None, fragment: str, work: Path, retime: Program
) -> None:
    first, *_ = refused(retime, work, "lint", source)

    assert re.search(rf"^lamp\.yaml:{place + ':' if place else ''} .*{fragment}", first), first


def test_a_map_that_is_away_or_a_folder_is_told_by_its_path(work: Path, retime: Program) -> None:
    for path, reason in ((work / "no.yaml", "no such file"), (work, "is a directory")):
        ran = retime("report", path)

        assert 2 == ran.code
        assert ran.err.startswith(f"{path}: the file cannot be read: ")
        assert reason in ran.err


# Scans: each spoils or replaces the scan of a sound map.


def _write(work: Path, name: str, data: bytes | str) -> str:
    (work / name).parent.mkdir(exist_ok=True)
    (work / name).write_bytes(data if isinstance(data, bytes) else data.encode())
    return name


def _cut(work: Path, name: str, share: float) -> str:
    data = (work / name).read_bytes()
    return _write(work, name, data[: int(len(data) * share)])


def _sequence(work: Path, name: str, count: int = 24, codec: str = "dpx") -> str:
    write_scan(work / name, count, codec, "gbrp10be" if codec == "dpx" else "rgb24")
    return name


def _holed(work: Path) -> str:
    name = _sequence(work, "seq/%04d.dpx")
    (work / "seq" / "0007.dpx").unlink()
    return name


def _named_as_movie(work: Path, codec: str, pixel_format: str) -> str:
    (data,) = encode_files([draw(0, pixel_format=pixel_format)], codec)
    return _write(work, "lamp.mkv", data)


def _gone(work: Path) -> str:
    (work / "lamp.mkv").rename(work / "lamp-1.mkv")
    return "lamp.mkv"


def _folder(work: Path) -> str:
    (work / "reel").mkdir()
    return "reel"


HLS = "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nlamp.mov\n#EXT-X-ENDLIST\n"

SCANS: dict[str, tuple[Callable[[Path], str], str]] = {
    "missing": (_gone, "lamp.mkv: is not there; the nearest name there is lamp-1.mkv"),
    "in a missing folder": (lambda _: "no/lamp.mkv", "is not there; there is no folder"),
    "in a file": (lambda _: "lamp.mov/lamp.mkv", "cannot be looked at (Not a directory)"),
    "empty": (lambda work: _write(work, "lamp.mkv", b""), "lamp.mkv: is empty"),
    "a folder": (_folder, "reel: is a folder; numbered files are named by a pattern"),
    "a text": (lambda work: _write(work, "lamp.mkv", "no film\n" * 99), "is no movie that can be"),
    "a picture named as movie": (
        lambda work: _named_as_movie(work, "png", "rgb24"), "can be read, whatever its name",
    ),
    "a DPX file named as movie": (
        lambda work: _named_as_movie(work, "dpx", "gbrp10be"), "can be read, whatever its name",
    ),
    "a single picture": (lambda work: _write(work, "a.dpx", b"SDPX"), "is a single picture; write"),
    "a list of files named as movie": (
        lambda work: _write(work, "lamp.mkv", "ffconcat version 1.0\nfile lamp.mov\n"),
        "can be read, whatever its name",
    ),
    "a playlist named as movie": (
        lambda work: _write(work, "lamp.mkv", HLS), "is no movie that can be read",
    ),
    "sound only": (lambda work: _write(work, "a.wav", b"RIFF\0\0\0\0WAVE"), "is no movie"),
    "a part of a file": (lambda _: "'subfile,,start,0,end,9,,:lamp.mkv'", "is not there"),
    "no file of a sequence": (lambda _: "seq/%04d.dpx", "its folder cannot be listed"),
    "no such file in the folder": (lambda _: "no-%04d.dpx", "no file matches"),
    "a text in a sequence": (
        lambda work: _write(work, "seq/0000.dpx", "no picture") and "seq/%04d.dpx",
        "holds no picture that can be decoded",
    ),
    "an empty file in a sequence": (
        lambda work: _write(work, "seq/0000.dpx", b"") and "seq/%04d.dpx", "0000.dpx: is empty",
    ),
    "a hole in a sequence": (_holed, "a file is missing, 0007.dpx, being frame 7; find"),
    "a sequence of another length": (
        lambda work: _sequence(work, "seq/%04d.dpx", 20),
        "holds 20 frames, missing files counted, and the map states 24; correct",
    ),
    "a sequence of texts": (lambda work: _write(work, "a-%d.txt", b"") and "a-%d.txt", "no "),
    "a folder that cannot be listed": (lambda _: "lamp.mov/%04d.dpx", "cannot be listed (Not a"),
}  # fmt: skip


@pytest.mark.parametrize("command", ["lint", "render"])
@pytest.mark.parametrize("case", SCANS)
def test_a_bad_scan_is_refused_at_the_line_that_names_it(
    case: str, command: str, work: Path, retime: Program
) -> None:
    spoil, fragment = SCANS[case]
    name = spoil(work)
    source = (
        LAMP.replace("    frames: 24\n", "") if command == "lint" and "len" not in case else LAMP
    )
    said = refused(retime, work, command, source.replace("lamp.mkv", name))

    assert any(line.startswith("lamp.yaml:6:11: ") and fragment in line for line in said), said


# Scans whose fault shows only when their pictures are read, or when held against a profile.


def _scan(work: Path, size: tuple[int, int], name: str = "other.mkv") -> str:
    write_scan(work / name, 24, "ffv1", "gray", {"level": "3", "g": "1"}, size)
    return name


def _odd_one(work: Path, codec: str = "dpx") -> str:
    name = _sequence(work, f"seq/%04d.{codec[:3]}", codec=codec)
    write_scan(work / "odd" / name.rpartition("/")[2], 24, codec, "gbrp10be", size=(176, 96))
    shutil.copy(work / "odd" / "0009.dpx", work / "seq")
    return name


def _packet_middle(path: Path, frame: int) -> int:
    """Return the place in a movie file of the middle of a coded frame."""
    with av.open(str(path)) as container:
        packets = [bytes(packet) for packet in container.demux(video=0) if packet.size]
    return path.read_bytes().index(packets[frame]) + len(packets[frame]) // 2


def _cut_in_packet(work: Path, name: str, frame: int) -> str:
    return _write(work, name, (work / name).read_bytes()[: _packet_middle(work / name, frame)])


def _changed(work: Path, name: str, frame: int) -> str:
    data = bytearray((work / name).read_bytes())
    data[_packet_middle(work / name, frame)] ^= 0x5A
    return _write(work, name, bytes(data))


def _short_file(work: Path, share: float) -> str:
    name = _sequence(work, "seq/%04d.dpx")
    _cut(work, "seq/0009.dpx", share)
    return name


RENDERS: dict[str, tuple[Callable[[Path], str], str, str]] = {
    "MKV cut short": (lambda work: _cut(work, "lamp.mkv", 0.6), "ffv1-master", "lamp.mkv: "),
    "MKV cut in its last packet": (
        lambda work: _cut_in_packet(work, "lamp.mkv", 23), "h264-viewing", "ends after 23 fra",
    ),
    "MOV cut in a packet": (
        lambda work: _cut_in_packet(work, "lamp.mov", 12), "prores-mezzanine", "moov atom",
    ),
    "MOV cut short": (lambda work: _cut(work, "lamp.mov", 0.6), "prores-mezzanine", "moov atom"),
    "a damaged slice": (lambda work: _changed(work, "lamp.mkv", 12), "h264-viewing", "frame 12 is"),
    "an odd raster": (lambda work: _scan(work, (161, 97)), "h264-viewing", "161x97 does not div"),
    "an odd width": (lambda work: _scan(work, (161, 96)), "prores-mezzanine", "an even width"),
    "an odd file decoded": (_odd_one, "tiff-sequence", "0009.dpx: frame 9 is 176x96"),
    "an odd file copied": (_odd_one, "as-scanned", "0009.dpx: frame 9 is 176x96"),
    "a short file decoded": (
        lambda work: _short_file(work, 0.5), "tiff-sequence", "0009.dpx: frame 9 is damaged",
    ),
    "a short file copied": (
        lambda work: _short_file(work, 0.5), "as-scanned", "0009.dpx: frame 9 is damaged",
    ),
    "an empty file copied": (
        lambda work: _short_file(work, 0), "as-scanned", "0009.dpx: is empty",
    ),
    "text copied": (
        lambda work: _sequence(work, "seq/%04d.dpx") and _write(work, "seq/0009.dpx", "no" * 4000)
        and "seq/%04d.dpx", "as-scanned", "0009.dpx: frame 9 is damaged",
    ),
    "no matrix for RGB": (lambda _: "lamp.mov", "dpx-sequence", "does not say by which matrix"),
    "long-GOP copied": (
        lambda work: write_scan(work / "gop.mkv", 24, "libx264", "yuv420p").name, "as-scanned",
        "as-scanned cannot be made from these scans: no copy: ",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", RENDERS)
def test_a_fault_that_shows_in_a_scans_pictures_leaves_nothing_behind(
    case: str, work: Path, retime: Program
) -> None:
    spoil, profile, fragment = RENDERS[case]
    source = LAMP.replace("lamp.mkv", spoil(work)).replace("h264-viewing", profile)
    said = refused(retime, work, "render", source)

    assert any(fragment in line for line in said), said


@pytest.mark.parametrize("profile", ["as-scanned", "h264-viewing"])
@pytest.mark.parametrize(
    ("frames", "scan", "fragment"),
    [
        (25, "lamp.mkv", "lamp.mkv: ends after 24 frames, before frame 24"),
        (23, "lamp.mkv", "lamp.mkv: goes on after the 23 frames"),
        (25, "lamp.mov", "lamp.mov: ends after 24 frames, before frame 24"),
        (23, "lamp.mov", "lamp.mov: goes on after the 23 frames"),
    ],
)
def test_a_stated_count_that_the_scan_does_not_hold_is_found_while_rendering(  # noqa: PLR0913, PLR0917
    frames: int, scan: str, fragment: str, profile: str, work: Path, retime: Program
) -> None:
    head, tail = LAMP[: LAMP.index("shots:")], LAMP[LAMP.index("versions:") :]
    head = head.replace("frames: 24", f"frames: {frames}").replace(
        "last: 23", f"last: {frames - 1}"
    )
    source = (head + tail).replace("h264-viewing", profile).replace("lamp.mkv", scan)
    said = refused(retime, work, "render", source)

    assert any(fragment in line for line in said), said


@pytest.mark.parametrize(
    ("size", "attributes", "fragment"),
    [
        ((176, 96), {}, "the first scan is 160x96 and scan 2 is 176x96"),
        ((160, 96), {"sample_aspect_ratio": Fraction(4, 3)}, "the first scan's sample aspect is 1"),
    ],
)
def test_reels_of_different_rasters_are_refused_for_a_deliverable(
    size: tuple[int, int],
    attributes: dict[str, object],
    fragment: str,
    work: Path,
    retime: Program,
) -> None:
    two = work / "two.mov"
    write_scan(two, 24, "prores_ks", "yuv422p10le", {}, size, attributes=attributes)
    source = LAMP.replace("shots:", "  - {reel: 2, scan: two.mov}\nshots:")
    said = refused(retime, work, "render", source)

    assert any(line.startswith("lamp.yaml:20:14: ") and fragment in line for line in said), said


def test_mixed_sizes_within_a_movie_are_refused(work: Path, retime: Program) -> None:
    _resized(work / "lamp.mkv")
    said = refused(retime, work, "render", LAMP.replace("h264-viewing", "prores-mezzanine"))

    assert any("lamp.mkv: frame 12 is 176x96" in line for line in said), said


def _resized(path: Path) -> None:
    """Write a movie whose pictures change their size after the first dozen, as MJPEG can."""
    sizes = [(160, 96)] * 12 + [(176, 96)] * 12
    pictures = (draw(number, *size, "yuvj420p") for number, size in enumerate(sizes))
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mjpeg", rate=18)
        stream.width, stream.height, stream.pix_fmt = *sizes[0], "yuvj420p"
        for number, data in enumerate(encode_files(pictures, "mjpeg")):
            packet = av.Packet(data)
            packet.stream, packet.time_base = stream, Fraction(1, 18)
            packet.pts = packet.dts = number
            packet.is_keyframe = True
            container.mux(packet)


# Profiles of a user's own, and what may be asked of one.

OWN = """\
format: retime-profile/1
profile: own
promises: A viewing copy of our own
codec: h264
container: mp4
pixel-formats: [yuv420p]
rates: [24, 25]
"""


@pytest.mark.parametrize(
    ("old", "new", "place", "fragment"),
    [
        ("codec: h264", "codec: h265", "4:8", "the codec 'h265' is not known"),
        ("container: mp4", "container: avi", "5:12", '"avi" is not known here'),
        ("container: mp4", "container: sequence", "5:12", "h264 is not put into sequence"),
        ("codec: h264", "codec: prores", "4:8", "prores needs a variant; write one of proxy"),
        ("codec: h264", "codec: h264\nvariant: hq", "5:10", "h264 has no variants"),
        ("rates: [24, 25]", "rates: [24, fast]", "7:8", "'fast' is no rate"),
        ("rates: [24, 25]", "rates: [24, 25]\nlinks: yes", "8:8", "only a sequence of files"),
        ("rates: [24, 25]", "rates: [24, 25]\nthreads: many", "8:10", "'many' is no count"),
        ("profile: own", "profile: other", "2:10", "the file is named 'own'"),
        ("promises:", "promise:", "3:1", 'unknown key "promise"; did you mean "promises"?'),
        ("rates: [24, 25]", "rates: [24, 25", "8:1", "this is not YAML"),
    ],
)
def test_a_bad_profile_is_refused_at_its_own_line(  # noqa: PLR0913, PLR0917
    old: str, new: str, place: str, fragment: str, work: Path, own_home: Path, retime: Program
) -> None:
    path = own_home / "retime" / "profiles" / "own.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(OWN.replace(old, new))
    said = refused(retime, work, "render", LAMP.replace("h264-viewing", "own"))

    assert any(line.startswith(f"{path}:{place}: ") and fragment in line for line in said), said


@pytest.mark.parametrize("pixel_format", ["yuv421p", "gbrp16le"])
def test_a_pixel_format_that_a_profiles_codec_has_not_is_refused_where_the_profile_is_named(
    pixel_format: str, work: Path, own_home: Path, retime: Program
) -> None:
    path = own_home / "retime" / "profiles" / "own.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(OWN.replace("yuv420p", pixel_format))
    (line,) = refused(retime, work, "render", LAMP.replace("h264-viewing", "own"))

    assert line.startswith("lamp.yaml:19:14: h264 is not encoded in any pixel format of own")


def test_a_rate_that_the_profile_does_not_take_is_refused_at_the_rate(
    work: Path, own_home: Path, retime: Program
) -> None:
    path = own_home / "retime" / "profiles" / "own.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(OWN)
    source = LAMP.replace("h264-viewing", "own").replace("rate: 24", "rate: 30")
    (line,) = refused(retime, work, "render", source)

    assert "lamp.yaml:20:11: own does not take a rate of 30; it takes 24, 25" == line


# What the command line asks for.


@pytest.mark.parametrize(
    ("arguments", "fragment"),
    [
        (["render", "lamp.yaml", "veiwing", "-o", "out"], "no deliverable 'veiwing'; did you mean"),
        (["frames", "lamp.yaml", "nothing"], "no deliverable 'nothing'; known here: viewing"),
        (["render", "lamp.yaml"], "Missing option '-o'"),
        (["render", "lamp.yaml", "-o", "no/way"], "no: is not there; make that folder first"),
        (["render", "lamp.yaml", "-o", "away", "--shots", "1/9"], 'there is no shot "1/9"'),
        (["render", "lamp.yaml", "-o", "lamp.mov"], "lamp.mov: is a file, not a folder"),
        (["render", "lamp.yaml", "-o", "lamp.mov/x"], "lamp.mov: is a file, not a folder"),
        (["report", "lamp.yaml", "--format", "odt"], "--format"),
        (["profiles", "h264"], "no profile is named 'h264'"),
        (["schema", "film"], 'there is no format "film"'),
        (["lint"], "Missing argument 'MAP'"),
        (["remake", "lamp.yaml"], "No such command 'remake'"),
        (["lint", "--loud", "lamp.yaml"], "No such option: --loud"),
        ([], "Usage: "),
    ],
)
def test_a_command_line_that_cannot_be_met_ends_with_2(
    arguments: list[str],
    fragment: str,
    work: Path,
    retime: Program,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(work)
    before = contents(work)
    ran = retime(*arguments)

    assert (2, "") == (ran.code, ran.out)
    assert fragment in ran.err
    assert before == contents(work)


def test_a_map_without_deliverables_has_nothing_to_render(work: Path, retime: Program) -> None:
    (line,) = refused(retime, work, "render", LAMP[: LAMP.index("deliverables:")])

    assert "lamp.yaml names no deliverables; there is nothing to make" == line


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_folder_that_may_not_be_read_is_told(work: Path, retime: Program) -> None:
    name = _sequence(work, "seq/%04d.dpx")
    (work / "seq").chmod(0)
    try:
        ran = retime("lint", _map(work, name))
    finally:
        (work / "seq").chmod(0o755)

    assert 2 == ran.code
    assert "its folder cannot be listed (Permission denied)" in ran.out


def _map(work: Path, scan: str) -> Path:
    path = work / "lamp.yaml"
    path.write_text(LAMP.replace("lamp.mkv", scan))
    return path
