"""Stills: their pictures and colours as the files tell them, and files that are none."""

from __future__ import annotations

import io
import re
import struct
import subprocess
import zlib
from fractions import Fraction
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
import pytest
from numbered import draw, encode_files, read_frame
from PIL import Image, TiffImagePlugin

from retime.errors import ScanError
from retime.media.still import STILL_ENDINGS, probe_still, read_still
from retime.media.tiff_checks import checksums_agree

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

PLAIN = (2, 2)  # Rec. ITU-T H.273: primaries and transfer unspecified
GREY, RGB, PALETTE, GREY_ALPHA, RGB_ALPHA = 0, 2, 3, 4, 6  # PNG's colour types


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(*extra: bytes, kind: int = RGB, depth: int = 8, size: tuple[int, int] = (8, 4)) -> bytes:
    """Return a PNG file of one level, as the W3C's Portable Network Graphics has it."""
    samples = {GREY: 1, RGB: 3, PALETTE: 1, GREY_ALPHA: 2, RGB_ALPHA: 4}[kind]
    rows = (b"\0" + bytes([100]) * (size[0] * samples * depth // 8)) * size[1]
    palette = [chunk(b"PLTE", bytes(range(256)) * 3)] if kind == PALETTE else []
    return b"".join(
        [
            b"\x89PNG\r\n\x1a\n",
            chunk(b"IHDR", struct.pack(">IIBBBBB", *size, depth, kind, 0, 0, 0)),
            *extra,
            *palette,
            chunk(b"IDAT", zlib.compress(rows)),
            chunk(b"IEND", b""),
        ]
    )


def gamma(value: float) -> bytes:
    return chunk(b"gAMA", struct.pack(">I", round(value * 100_000)))


def chromaticities(*figures: float) -> bytes:
    """Return a cHRM chunk: x and y of white, red, green, blue."""
    return chunk(b"cHRM", struct.pack(">8I", *(round(figure * 100_000) for figure in figures)))


def coded(*codes: int) -> bytes:
    """Return a cICP chunk: primaries, transfer, matrix, and 1 for full range."""
    return chunk(b"cICP", bytes(codes))


def written(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


SRGB = chunk(b"sRGB", b"\0")
BT709 = chromaticities(0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06)
BT2020 = chromaticities(0.3127, 0.3290, 0.708, 0.292, 0.170, 0.797, 0.131, 0.046)
P3 = chromaticities(0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060)
ODD = chromaticities(0.3127, 0.3290, 0.64, 0.33, 0.21, 0.71, 0.15, 0.06)


@pytest.mark.parametrize(
    ("extra", "codes", "colour_range"),
    [
        ([], PLAIN, 2),
        # W3C, Portable Network Graphics: sRGB comes before gAMA and cHRM, cICP before all three.
        # Rec. ITU-T H.273: 13 is sRGB's curve, 4 a display gamma of 2.2, 8 linear; primaries 1
        # are BT.709's, 9 BT.2020's, 12 P3's with the white of D65.
        ([SRGB], (1, 13), 2),
        ([gamma(1 / 2.2), BT709, SRGB], (1, 13), 2),
        ([gamma(1 / 2.2)], (2, 4), 2),
        ([gamma(1 / 2.8)], (2, 5), 2),
        ([gamma(1)], (2, 8), 2),
        ([BT709], (1, 2), 2),
        ([gamma(1 / 2.2), BT709], (1, 4), 2),
        ([BT2020], (9, 2), 2),
        ([P3], (12, 2), 2),
        ([ODD], PLAIN, 2),
        ([coded(1, 1, 0, 1)], (1, 1), 2),
        ([coded(1, 1, 0, 0)], (1, 1), 1),
        ([coded(9, 14, 0, 1), SRGB], (9, 14), 2),
    ],
)
def test_a_png_tells_its_colours_by_chunks(
    tmp_path: Path, extra: Sequence[bytes], codes: tuple[int, int], colour_range: int
) -> None:
    picture = probe_still(written(tmp_path, "slate.png", png(*extra))).picture

    assert codes == (picture.primaries, picture.transfer)
    assert (0, colour_range) == (picture.matrix, picture.range)


@pytest.mark.parametrize(
    ("kind", "depth", "name"),
    [
        (GREY, 8, "gray"),
        (GREY, 16, "gray16be"),
        (RGB, 8, "rgb24"),
        (RGB, 16, "rgb48be"),
        (PALETTE, 8, "pal8"),
        (GREY_ALPHA, 8, "ya8"),
        (RGB_ALPHA, 8, "rgba"),
        (RGB_ALPHA, 16, "rgba64be"),
    ],
)
def test_a_png_has_the_samples_of_its_colour_type(
    tmp_path: Path, kind: int, depth: int, name: str
) -> None:
    path = written(tmp_path, "slate.PNG", png(kind=kind, depth=depth))
    facts = probe_still(path)

    assert path == facts.path
    assert (8, 4, name) == (facts.picture.width, facts.picture.height, facts.picture.pixel_format)
    assert "progressive" == facts.picture.field_order


def density(across: int, down: int, unit: int) -> bytes:
    return png(chunk(b"pHYs", struct.pack(">IIB", across, down, unit)))


def dots(across: int, down: int, ending: str) -> bytes:
    """Return a file of so many dots per inch."""
    image = io.BytesIO()
    Image.new("L", (16, 16)).save(image, ending, dpi=(across, down))
    return image.getvalue()


def without_unit(data: bytes) -> bytes:
    """Return a JPEG without the unit of its densities: Rec. ITU-T T.871, the byte after version."""
    return data[:13] + b"\0" + data[14:]


@pytest.mark.parametrize(
    ("name", "data", "aspect"),
    [
        # W3C, Portable Network Graphics, pHYs: pixels per unit along x and y; Rec. ITU-T T.871:
        # the aspect is Vdensity : Hdensity. Few samples to the inch are wide ones.
        ("wide.png", density(1500, 1600, 1), Fraction(16, 15)),
        ("square.png", density(2835, 2835, 1), Fraction(1)),
        ("square.png", density(1, 1, 0), Fraction(1)),
        ("untold.png", png(), None),
        ("untold.png", density(0, 1, 1), None),
        ("wide.jpg", dots(72, 80, "JPEG"), Fraction(10, 9)),
        ("square.jpg", without_unit(dots(72, 72, "JPEG")), Fraction(1)),
        ("wide.tif", dots(72, 80, "TIFF"), Fraction(10, 9)),
    ],
)
def test_the_sample_aspect_follows_from_the_densities(
    tmp_path: Path, name: str, data: bytes, aspect: Fraction | None
) -> None:
    assert aspect == probe_still(written(tmp_path, name, data)).picture.sample_aspect


@pytest.mark.parametrize(
    ("name", "data"),
    [("slate.png", density(16, 15, 0)), ("slate.jpg", without_unit(dots(72, 80, "JPEG")))],
)
def test_unequal_densities_without_a_unit_are_refused(
    tmp_path: Path, name: str, data: bytes
) -> None:
    with pytest.raises(ScanError, match="without a unit, which some programs take for the sample"):
        probe_still(written(tmp_path, name, data))


@pytest.mark.parametrize(
    ("pixel_format", "codes"),
    [
        # Rec. ITU-T T.871 (JFIF): full range, and the matrix of BT.601, code 5 of H.273.
        ("yuvj420p", (5, 2)),
        ("yuvj444p", (5, 2)),
        # FFmpeg's own comment CS=ITU601 marks the narrow range.
        ("yuv420p", (5, 1)),
    ],
)
def test_a_jpeg_is_of_bt601_and_full_range(
    tmp_path: Path, pixel_format: str, codes: tuple[int, int]
) -> None:
    (data,) = encode_files([draw(5, 160, 96, pixel_format)], "mjpeg", {"strict": "-1"})
    picture = probe_still(written(tmp_path, "title.jpeg", data)).picture

    assert PLAIN == (picture.primaries, picture.transfer)
    assert codes == (picture.matrix, picture.range)


@pytest.mark.parametrize(
    ("byte", "codes"),
    [
        # SMPTE ST 268, transfer and colorimetric characteristics, bytes 801 and 802: 1 printing
        # density, 2 linear, 3 logarithmic, 5 SMPTE 274M, 6 BT.709, 7 BT.601 of 625 lines, 8 of 525.
        (0, PLAIN),
        (1, PLAIN),
        (2, (2, 8)),
        (3, PLAIN),
        (5, (1, 1)),
        (6, (1, 1)),
        (7, (5, 6)),
        (8, (6, 6)),
    ],
)
def test_a_dpx_tells_its_colours_in_its_header(
    tmp_path: Path, byte: int, codes: tuple[int, int]
) -> None:
    (data,) = encode_files([draw(5, pixel_format="gbrp10be")], "dpx")
    tagged = data[:801] + bytes([byte, byte]) + data[803:]
    picture = probe_still(written(tmp_path, "bridge.dpx", tagged)).picture

    assert codes == (picture.primaries, picture.transfer)
    assert (0, 0) == (picture.matrix, picture.range)


@pytest.mark.parametrize("mode", ["L", "RGB", "I;16"])
def test_a_tiff_tells_no_colours(tmp_path: Path, mode: str) -> None:
    """FFmpeg gives grey a gamma of 2.2, which stands nowhere in the file."""
    path = tmp_path / "title.tif"
    Image.new(mode, (16, 12)).save(path)
    picture = probe_still(path).picture

    assert PLAIN == (picture.primaries, picture.transfer)
    assert (2, 0) == (picture.matrix, picture.range)


ENCODED = {
    "dpx": ("dpx", "gbrp10be"),
    "tif": ("tiff", "rgb48le"),
    "tiff": ("tiff", "gray16le"),
    "png": ("png", "rgb48be"),
    "jpg": ("mjpeg", "yuvj444p"),
    "jpeg": ("mjpeg", "yuvj420p"),
    "jp2": ("jpeg2000", "rgb24"),
    "j2k": ("jpeg2000", "gray"),
    "j2c": ("jpeg2000", "gray"),
    "jpf": ("jpeg2000", "gray"),
    "exr": ("exr", "gbrpf32le"),
}


def by_program(path: Path, pixel_format: str) -> NDArray[np.uint8]:
    """Return a picture's bytes as the ffmpeg program reads them, in its very samples."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-f", "rawvideo", "-pix_fmt", pixel_format, "-"]
    return np.frombuffer(subprocess.run(command, capture_output=True, check=True).stdout, np.uint8)


@pytest.mark.parametrize("ending", STILL_ENDINGS)
def test_a_still_of_any_ending_is_the_picture_that_the_program_reads(
    tmp_path: Path, ending: str
) -> None:
    codec, pixel_format = ENCODED[ending]
    options = {"format": "jp2" if ending == "jp2" else "j2k"} if codec == "jpeg2000" else {}
    (data,) = encode_files([draw(1927, pixel_format=pixel_format)], codec, options)
    path = written(tmp_path, f"title.{ending}", data)

    frame, picture = read_still(path), probe_still(path).picture
    name = frame.format.name
    raw = [np.frombuffer(memoryview(one), np.uint8).reshape(one.height, -1) for one in frame.planes]
    program = by_program(path, name)

    assert (160, 96, name) == (picture.width, picture.height, picture.pixel_format)
    assert 1927 == read_frame(frame)
    size = sum(one.width * one.height for one in frame.planes)
    sample = program.size // size
    lines = [one[:, : plane.width * sample] for one, plane in zip(raw, frame.planes, strict=True)]
    assert np.array_equal(program, np.concatenate([one.ravel() for one in lines]))


def jpeg_in_tiff(folder: Path) -> Path:
    path = folder / "title.tif"
    Image.effect_noise((64, 48), 50).convert("RGB").save(path, compression="jpeg")
    return path


def y_cbcr_tiff(folder: Path) -> Path:
    path = folder / "title.tif"
    Image.new("YCbCr", (16, 12)).save(path)
    return path


def multiplied_tiff(folder: Path) -> Path:
    """Return a TIFF 6.0 file whose ExtraSamples, 338, is 1: associated alpha."""
    path, tags = folder / "title.tif", TiffImagePlugin.ImageFileDirectory_v2()
    tags[338] = 1
    Image.new("RGBA", (16, 12)).save(path, tiffinfo=tags)
    data = path.read_bytes()
    entry = struct.pack("<HHI", 338, 3, 1)
    place = data.index(entry) + len(entry)
    path.write_bytes(data[:place] + struct.pack("<H", 1) + data[place + 2 :])
    return path


def turned(folder: Path) -> Path:
    """Return a JPEG whose Exif tag 274, Orientation, is 6: the left side is the picture's top."""
    path, exif = folder / "title.jpg", Image.Exif()
    exif[274] = 6
    Image.new("RGB", (32, 24)).save(path, exif=exif)
    return path


def cut(folder: Path, ending: str, share: float) -> Path:
    path = folder / f"title.{ending}"
    Image.effect_noise((160, 96), 50).convert("RGB").save(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


def changed(folder: Path, ending: str, compression: str | None) -> Path:
    """Return a file with some bytes in the middle of its picture changed."""
    path = folder / f"title.{ending}"
    noise = np.random.default_rng(len(ending)).integers(0, 256, (96, 160, 3), np.uint8)
    image = Image.fromarray(noise)
    image.save(path, compression=compression) if compression else image.save(path)
    data = bytearray(path.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 8] = b"\xff\xd9\0\0\xff\xff\xaa\x55"
    path.write_bytes(data)
    return path


def huge(folder: Path) -> Path:
    path = folder / "title.dpx"
    with path.open("wb") as file:
        file.truncate(1 << 31)
    return path


def of_size(width: int, height: int) -> bytes:
    """Return a PNG whose header tells a size, and whose picture is not that large."""
    data = png()
    header = struct.pack(">IIBBBBB", width, height, 8, RGB, 0, 0, 0)
    return data[:8] + chunk(b"IHDR", header) + data[33:]


BAD: list[tuple[Callable[[Path], Path], str]] = [
    (lambda f: f / "gone.png", "is not there"),
    (lambda f: f, "is no still; a still is one file that ends in dpx, tif, tiff, png"),
    (lambda f: written(f, "title.txt", b"The lamp is out."), "is no still; a still is one file"),
    (lambda f: written(f, "reel.mkv", b"x"), "is no still"),
    (lambda f: f / "%06d.png", "is no still; a still is one file"),
    (lambda f: written(f, "title.png", b""), "is empty"),
    (lambda f: written(f, "title.png", b"The lamp is out."), "holds no picture that can be"),
    (lambda f: written(f, "title.tif", png()), "holds no picture that can be decoded"),
    (lambda f: written(f, "t.png", of_size(60_000, 60_000)), "holds no picture that can be"),
    (lambda f: written(f, "t.png", of_size(8, 5)), "is damaged (IEND without all image)"),
    (huge, "is larger than any still; it may have 2 GiB at most"),
    (jpeg_in_tiff, "is a TIFF with JPEG inside, which is decoded to nothing; LZW is read"),
    (y_cbcr_tiff, "is a TIFF in Y'CbCr of unknown range; save it in RGB"),
    (multiplied_tiff, "has colours multiplied by their alpha already; save it without alpha"),
    (turned, "says that it is to be shown turned by 90 degrees; save it as it is to be seen"),
    (lambda f: cut(f, "png", 0.5), "holds no picture that can be decoded"),
    (lambda f: cut(f, "jpg", 0.5), "holds no picture that can be decoded"),
    (lambda f: cut(f, "jpg", 0.98), "holds no picture that can be decoded"),
    (lambda f: cut(f, "tif", 0.5), "holds no picture that can be decoded"),
    (lambda f: changed(f, "png", None), "holds no picture that can be decoded"),
    (lambda f: changed(f, "jpg", None), "holds no picture that can be decoded"),
    (lambda f: changed(f, "tif", "tiff_adobe_deflate"), "is damaged"),
]


@pytest.mark.parametrize("place", range(len(BAD)))
def test_a_file_that_is_no_whole_still_is_refused_with_its_name(tmp_path: Path, place: int) -> None:
    make, text = BAD[place]
    path = make(tmp_path)

    for use in (probe_still, read_still):
        with pytest.raises(ScanError, match=re.escape(text)) as caught:
            use(path)
        assert str(caught.value).startswith(f"{path}: ")


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("tiled", [False, True])
def test_what_was_deflated_into_a_tiff_is_held_against_its_checksum(
    order: str, *, tiled: bool
) -> None:
    """FFmpeg does not look at it: of bytes changed in the middle it missed three files in ten."""
    deflated = zlib.compress(np.random.default_rng(1).bytes(3_000_000))
    begin, size = (324, 325) if tiled else (273, 279)
    head = {"<": b"II", ">": b"MM"}[order] + struct.pack(order + "HI", 42, 8 + len(deflated))
    compression = struct.pack(order + "HHIHH", 259, 3, 1, 8, 0)
    places = struct.pack(order + "HHIIHHII", begin, 4, 1, 8, size, 4, 1, len(deflated))
    whole = head + deflated + struct.pack(order + "H", 3) + compression + places + bytes(4)
    spoilt = bytearray(whole)
    spoilt[len(deflated) // 2] ^= 1

    assert checksums_agree(whole)
    assert not checksums_agree(bytes(spoilt))
    assert checksums_agree(whole[:-30])  # cut short, which its decoder tells


def test_odd_labels_beside_a_jpegs_picture_do_no_harm(tmp_path: Path) -> None:
    (data,) = encode_files([draw(1927, pixel_format="yuvj420p")], "mjpeg")
    label = b"Exif\0\0no directory of tags"
    odd = data[:2] + b"\xff\xe1" + struct.pack(">H", len(label) + 2) + label + data[2:]

    assert 1927 == read_frame(read_still(written(tmp_path, "title.jpg", odd)))
