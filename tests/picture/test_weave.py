"""Two fields woven: each line is the one that its field has in the picture it comes from."""

from __future__ import annotations

import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import numpy as np
import pytest
from av.filter import Graph
from av.video.stream import VideoStream

from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.picture.fields import check_weavable
from retime.picture.weave import weave

if TYPE_CHECKING:
    from pathlib import Path

FORMATS = (
    "gray", "gray16le", "yuv420p", "yuv420p10le", "yuv422p", "yuv422p10le", "yuv444p12le",
    "yuva444p10le", "yuv410p", "nv12", "p010le", "yuyv422", "uyvy422", "rgb24", "rgb48le", "rgba",
    "gbrp10le", "gbrpf32le", "monow",
)  # fmt: skip
SIZES = ((64, 48), (1998, 16), (700, 8), (10, 8))  # the last three do not fill their lines


def noise(seed: int, width: int, height: int, pixel_format: str) -> av.VideoFrame:
    """Return a picture of noise, what pads its lines included; no sample has bits too many."""
    frame = av.VideoFrame(width, height, pixel_format)
    random = np.random.default_rng(seed)
    for plane in frame.planes:
        data = np.frombuffer(memoryview(plane), np.uint8)
        data[:] = random.integers(0, 256, data.shape)
        if "10le" in pixel_format:
            data[1::2] &= 0b11
    return frame


def lines(frame: av.VideoFrame) -> list[list[bytes]]:
    """Return what stands in each line of each plane, padding left out.

    The bits of a pixel in a plane are what FFmpeg's own descriptions add up to.
    """
    found = []
    for number, plane in enumerate(frame.planes):
        used = _used(frame, number, plane.width)
        data = bytes(plane)
        starts = range(0, plane.height * plane.line_size, plane.line_size)
        found.append([data[start : start + used] for start in starts])
    return found


def _used(frame: av.VideoFrame, plane: int, width: int) -> int:
    """Return how many bytes of a line are picture, by laying the picture out without padding."""
    name = frame.format.name
    if name == "monow":
        return (width + 7) // 8
    components = [part for part in frame.format.components if part.plane == plane]
    sample = {"gbrpf32le": 4}.get(name, 2 if max(part.bits for part in components) > 8 else 1)
    if name in {"yuyv422", "uyvy422"}:
        return width * 2
    return width * sample * len(components)


@pytest.mark.parametrize("top_first", [True, False])
@pytest.mark.parametrize("pixel_format", FORMATS)
def test_every_line_of_every_plane_is_that_of_its_field(
    pixel_format: str, *, top_first: bool
) -> None:
    """Against the rule written out line by line: even lines are the top field's."""
    for width, height in SIZES:
        first, second = (noise(seed, width, height, pixel_format) for seed in (1, 2))

        woven = weave(first, second, top_first=top_first)

        top, bottom = (first, second) if top_first else (second, first)
        expected = [
            [one if number % 2 == 0 else other for number, (one, other) in enumerate(pair)]
            for pair in (
                list(zip(*planes, strict=True))
                for planes in zip(lines(top), lines(bottom), strict=True)
            )
        ]
        assert (width, height, pixel_format) == (woven.width, woven.height, woven.format.name)
        assert expected == lines(woven)


def test_the_pictures_that_are_woven_stay_as_they_are() -> None:
    first, second = noise(1, 64, 48, "yuv420p"), noise(2, 64, 48, "yuv420p")
    before = lines(first), lines(second)

    weave(first, second, top_first=True)

    assert before == (lines(first), lines(second))


def test_two_fields_of_one_picture_are_that_picture() -> None:
    first, same = noise(1, 64, 48, "yuv422p10le"), noise(1, 64, 48, "yuv422p10le")

    assert first is weave(first, first, top_first=True)
    assert lines(first) == lines(weave(first, same, top_first=False))


def test_a_woven_picture_keeps_the_colour_tags_of_the_first() -> None:
    first, second = noise(1, 64, 48, "yuv420p"), noise(2, 64, 48, "yuv420p")
    first.color_primaries, first.color_trc = 9, 16
    first.colorspace, first.color_range = 9, 2

    woven = weave(first, second, top_first=True)

    tags = (woven.color_primaries, woven.color_trc, woven.colorspace, woven.color_range)
    assert (9, 16, 9, 2) == tags


def test_a_picture_stored_bottom_up_is_woven_by_the_lines_that_are_seen() -> None:
    """FFmpeg's ``vflip`` turns a picture over by naming its last line the first."""
    first, second = noise(1, 64, 48, "yuv420p"), noise(2, 64, 48, "yuv420p")
    turned = _filtered(first, "vflip")
    assert turned.planes[0].line_size < 0
    upright = _filtered(turned, "copy")  # the same picture, its lines in order

    assert lines(weave(upright, second, top_first=True)) == lines(
        weave(turned, second, top_first=True)
    )
    assert lines(weave(second, upright, top_first=True)) == lines(
        weave(second, turned, top_first=True)
    )


def _filtered(frame: av.VideoFrame, name: str) -> av.VideoFrame:
    graph = Graph()
    source = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format, time_base=Fraction(1)
    )
    step, sink = graph.add(name), graph.add("buffersink")
    source.link_to(step)
    step.link_to(sink)
    graph.configure()
    graph.vpush(frame)
    return graph.vpull()


def _written(path: Path, frames: list[av.VideoFrame]) -> Path:
    """Write pictures as FFV1, which keeps every bit."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        assert isinstance(stream, VideoStream)
        stream.width, stream.height = frames[0].width, frames[0].height
        stream.pix_fmt = frames[0].format.name
        for number, frame in enumerate(frames):
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def _hashes(path: Path, filters: str) -> list[str]:
    """Return a checksum of every picture that the ffmpeg program makes of a file's."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-vf", filters, "-fps_mode", "passthrough", "-f", "framehash", "-hash", "md5", "-"]
    told = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    return [line.split(",")[-1].strip() for line in told.splitlines() if line[0] != "#"]


@pytest.mark.parametrize("top_first", [True, False])
@pytest.mark.parametrize("pixel_format", ["yuv420p", "yuv420p10le", "yuv422p10le", "yuv444p"])
def test_the_ffmpeg_program_weaves_alike_and_finds_the_fields_again(
    pixel_format: str, tmp_path: Path, *, top_first: bool
) -> None:
    """Its filters: ``tinterlace`` weaves two pictures, ``separatefields`` takes them apart."""
    pictures = [noise(seed, 64, 48, pixel_format) for seed in range(4)]
    woven = [weave(*pictures[at : at + 2], top_first=top_first) for at in (0, 2)]
    ours = _written(tmp_path / "woven.mkv", woven)
    scan = _written(tmp_path / "scan.mkv", pictures)

    order, mode = ("tff", "interleave_top") if top_first else ("bff", "interleave_bottom")
    fields = _hashes(ours, f"setfield={order},separatefields")
    of_scan = _hashes(scan, f"setfield={order},separatefields")  # two a picture, in that order

    assert _hashes(scan, f"tinterlace=mode={mode}") == _hashes(ours, "null")
    assert [of_scan[0], of_scan[3], of_scan[4], of_scan[7]] == fields


@pytest.mark.parametrize(
    ("pixel_format", "height", "step"),
    [
        ("gray", 575, 2),
        ("yuv422p10le", 1079, 2),
        ("gbrp10le", 1, 2),
        ("yuv420p", 578, 4),
        ("nv12", 1082, 4),
        ("yuv410p", 580, 8),
    ],
)
def test_a_height_that_makes_no_two_equal_fields_is_refused(
    pixel_format: str, height: int, step: int
) -> None:
    """Two fields need an even height, and chroma lines of 4:2:0 an even half of it (H.262)."""
    with pytest.raises(NotationError, match=f"^{height} lines of {pixel_format} .* of {step}, "):
        check_weavable(PictureFormat(width=64, height=height, pixel_format=pixel_format))


@pytest.mark.parametrize(
    ("pixel_format", "height"),
    [("gray", 578), ("yuv422p10le", 1080), ("yuv420p", 576), ("yuv420p", 1080), ("rgb48le", 2)],
)
def test_a_height_of_two_equal_fields_is_taken(pixel_format: str, height: int) -> None:
    check_weavable(PictureFormat(width=64, height=height, pixel_format=pixel_format))


def test_pictures_that_each_have_a_palette_are_refused() -> None:
    with pytest.raises(NotationError, match="palettes"):
        check_weavable(PictureFormat(width=64, height=48, pixel_format="pal8"))
