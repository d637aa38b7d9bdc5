"""What a profile promises holds for what its encoder makes, by the word of the ffmpeg program."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import pytest
from numbered import draw

from retime.errors import OutputError
from retime.film.speed import Rate
from retime.light.format import PictureFormat
from retime.media.encoder import EncoderSettings, PictureEncoder
from retime.picture.formats import layout_of
from retime.profile.codecs import CODECS
from retime.profile.shelf import load_profile

if TYPE_CHECKING:
    from retime.profile.model import Profile

FOLDER = Path(__file__).parents[2] / "profiles"
PROFILES = {path.stem: load_profile(path) for path in sorted(FOLDER.glob("*.yaml"))}
ENCODED = [name for name, profile in PROFILES.items() if profile.codec is not None]
CASES = [
    (name, pixel_format)
    for name in ENCODED
    for pixel_format in PROFILES[name].pixel_formats or ("gray", "yuv422p10le", "gbrp16le")
]
MUXERS = {
    "mkv": "matroska",
    "mov": "mov",
    "mp4": "mp4",
    "mxf": "mxf",
    "m2v": "mpeg2video",
    "264": "h264",
    "mpg": "vob",
    "m2ts": "mpegts",
    "sequence": "image2",
}


def raster_of(profile: Profile) -> tuple[int, int]:
    """Return a raster that the profile's codec has: the only one of its variant, or a small one."""
    assert profile.codec is not None
    only = profile.variant.raster if profile.variant else None
    return only or ((160, 96) if profile.codec.least_raster == (1, 1) else (320, 192))


def settings(profile: Profile, pixel_format: str) -> EncoderSettings:
    assert profile.codec is not None
    return EncoderSettings(
        encoder=profile.codec.encoder,
        options=tuple(profile.encoder_options().items()),
        tag=profile.variant.tag if profile.variant else None,
        threads=profile.threads,
        picture=PictureFormat(
            width=raster_of(profile)[0],
            height=raster_of(profile)[1],
            pixel_format=pixel_format,
            sample_aspect=None,
            field_order=None,
            primaries=2,
            transfer=2,
            matrix=2,
            range=0,
        ),
        rate=None if profile.codec.intra else Rate(Fraction(24)),
    )


def ffmpeg(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-hide_banner", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, check=False, text=True)


@pytest.mark.parametrize(("name", "pixel_format"), CASES)
def test_the_encoder_takes_every_option_and_pixel_format_of_a_profile(
    name: str, pixel_format: str, tmp_path: Path
) -> None:
    profile = PROFILES[name]
    encoder = PictureEncoder(settings(profile, pixel_format), tmp_path / "out")
    frames = [draw(number, *raster_of(profile), pixel_format) for number in range(3)]
    packets = [packet for frame in frames for packet in encoder.encode(frame)]
    packets += encoder.finish()
    encoder.close()

    assert 3 == len(packets)
    assert profile.codec is not None
    if profile.codec.intra:
        assert all(packet.is_keyframe for packet in packets)
        assert [0, 1, 2] == [packet.pts for packet in packets]


@pytest.mark.parametrize("name", ENCODED)
def test_the_ffmpeg_program_takes_the_same_options_and_sees_what_is_promised(
    name: str, tmp_path: Path
) -> None:
    """The program refuses an option that it does not know, and a codec that a file cannot hold."""
    profile = PROFILES[name]
    assert profile.codec is not None
    assert profile.container is not None
    options = [
        word
        for key, value in profile.encoder_options().items()
        for word in (f"-{key}:v" if key == "profile" else f"-{key}", value)
    ]
    pixel_format = (profile.pixel_formats or ("gray",))[0]
    numbered = profile.container == "sequence"
    ending = profile.codec.ending if numbered else profile.container
    out = tmp_path / (f"%d.{ending}" if numbered else f"out.{ending}")
    size = "x".join(map(str, raster_of(profile)))
    tag = ["-tag:v", profile.variant.tag] if profile.variant and profile.variant.tag else []
    made = ffmpeg(
        "-v", "error", "-f", "lavfi", "-i", f"testsrc=size={size}:rate=24", "-frames:v", 3,
        "-c:v", profile.codec.encoder, *options, "-pix_fmt", pixel_format, *tag,
        "-f", MUXERS[profile.container], out,
    )  # fmt: skip

    assert (0, "") == (made.returncode, made.stderr)

    seen = ffmpeg("-i", tmp_path / (f"1.{ending}" if numbered else out.name)).stderr
    video = re.search(r"Video: (\S+?)(?: \((\w[^)/]*)\))*(?: \((\S+) / 0x\w+\))?, (\w+)", seen)
    assert video is not None, seen
    assert profile.codec.reads_as == video[1].rstrip(",")
    assert pixel_format in {video[4], video[4].replace("gbrp10le", "gbrp10be")}
    if profile.variant is not None:
        reported = (profile.variant.reported or "").removesuffix(f" {profile.variant_name}")
        assert (reported, profile.variant.tag) == (video[2], video[3])


@pytest.mark.parametrize("codec", CODECS.values(), ids=list(CODECS))
def test_a_row_of_the_table_of_codecs_agrees_with_ffmpeg(codec: object) -> None:
    row = CODECS[getattr(codec, "name", "")]
    encoder, decoder = av.Codec(row.encoder, "w"), av.Codec(row.reads_as, "r")

    assert encoder.canonical_name == decoder.canonical_name == row.reads_as
    assert encoder.type == "video"
    if row.intra:  # FFV1 is not so by its name: it is made so by a GOP of 1
        assert decoder.intra_only or row.options.get("g") == "1"
    for variant in row.variants.values():
        assert variant.tag is not None
        assert 4 == len(variant.tag)


@pytest.mark.parametrize("variant", CODECS["prores"].variants)
def test_a_variant_is_written_with_the_name_and_fourcc_of_the_table(
    variant: str, tmp_path: Path
) -> None:
    """The names of the six ProRes types and their FourCCs, as the ffmpeg program reads them."""
    row = CODECS["prores"].variants[variant]
    pixel_format = "yuv444p10le" if variant.startswith("4444") else "yuv422p10le"
    out = tmp_path / "out.mov"
    with av.open(str(out), "w") as container:
        stream = container.add_stream(
            "prores_ks", rate=24, options={**CODECS["prores"].options, **row.options}
        )
        stream.width, stream.height, stream.pix_fmt = 160, 96, pixel_format
        if row.tag is not None:
            stream.codec_context.codec_tag = row.tag
        container.mux(stream.encode(draw(1, 160, 96, pixel_format)))
        container.mux(stream.encode(None))

    assert f"Video: prores ({row.reported}) ({row.tag} / " in ffmpeg("-i", out).stderr


def test_lossless_profiles_keep_every_depth_they_name() -> None:
    for name in ("dpx-sequence", "tiff-sequence"):
        depths = {layout_of(one).bits for one in PROFILES[name].pixel_formats}

        assert 16 == max(depths)


def test_an_option_that_the_encoder_does_not_know_is_no_silent_nothing(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        (FOLDER / "h264-viewing.yaml").read_text().replace("h264-viewing", "own") + "  crff: '18'\n"
    )
    with pytest.raises(OutputError, match=r"knows no option crff; correct the options in its pro"):
        PictureEncoder(settings(load_profile(path), "yuv420p"), tmp_path / "out.mp4")
