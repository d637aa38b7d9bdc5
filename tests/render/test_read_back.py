"""Every profile and route, from every kind of scan, read back by the ffmpeg program."""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import pytest
from rendering import Seen, Tags, ffmpeg, look, made, picture_hashes, reported, shown, write_map
from scan_kinds import COPIED, FRAMES, KINDS, PROFILES, RATES, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

FIRST, LAST = 1, 11


class Case(NamedTuple):
    """One deliverable of one kind of scan."""

    kind: str
    profile: str
    rate: str


def _cases() -> Iterator[Case]:
    """Spread the rates over kinds and profiles so that every profile meets every rate."""
    for number, kind in enumerate(KINDS.values()):
        for place, profile in enumerate(PROFILES):
            if profile == "as-scanned" and not kind.copied_as:
                continue
            if "sequence" in profile and kind.name in UNTAGGED:
                continue
            yield Case(kind.name, profile, RATES[(number + 3 * place) % len(RATES)])


UNTAGGED = {"tiff-yuv"}  # YUV whose file cannot say by which matrix it was made
CASES = list(_cases())
MOVIES = [
    case
    for case in CASES
    if "sequence" not in case.profile
    and (case.profile != "as-scanned" or "%" not in KINDS[case.kind].file)
]


class Made(NamedTuple):
    """All that was made of one kind of scan, by profile."""

    kind: Kind
    scan: Path
    speed_map: Path
    paths: dict[str, Path]


@pytest.fixture(scope="module")
def render_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Made]:
    """Give what was made of a kind of scan: all its deliverables by one call."""

    @cache
    def render(name: str) -> Made:
        folder = tmp_path_factory.mktemp(name)
        kind = KINDS[name]
        scan = kind.write(folder)
        deliverables = "\n".join(
            f"  {case.profile}: {{version: v, profile: {case.profile}, rate: {case.rate}}}"
            for case in CASES
            if case.kind == name
        )
        reel = f"  - {{reel: 1, scan: {kind.file}, first: {FIRST}, last: {LAST}, frames: {FRAMES}}}"
        speed_map = write_map(folder, reel, deliverables)
        output = folder / "out"
        paths = made(speed_map, output)
        names = [case.profile for case in CASES if case.kind == name]
        return Made(kind, scan, speed_map, dict(zip(names, paths.values(), strict=True)))

    return render


@pytest.fixture(scope="module")
def seen_of(render_of: Callable[[str], Made]) -> Callable[[str, str], Seen]:
    """Give what the second reader sees of a deliverable, looked at once."""

    @cache
    def seen(kind: str, profile: str) -> Seen:
        return look(render_of(kind).paths[profile])

    return seen


def test_every_profile_meets_every_rate_and_every_rate_a_copy() -> None:
    met = {(case.profile, case.rate) for case in CASES}

    assert {(profile, rate) for profile in PROFILES for rate in RATES} == met


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_every_output_frame_shows_the_film_frame_that_frames_tells(
    case: Case,
    render_of: Callable[[str], Made],
    seen_of: Callable[[str, str], Seen],
) -> None:
    told = shown(render_of(case.kind).speed_map, case.profile)

    assert told == list(seen_of(case.kind, case.profile).numbers)
    # T is 11 frames at 18; the layout is at the nominal rate (design: M = round(T x C)).
    nominal = {"24000/1001": 24, "30000/1001": 30, "60000/1001": 60}.get(case.rate)
    conform = nominal or int(case.rate)
    assert (11 * conform * 2 + 18) // 36 == len(told)


CODECS = {  # codec, codec profile, FourCC and pixel format that a profile promises
    "ffv1-master": ("ffv1", "", ""),
    "prores-mezzanine": ("prores", "HQ", "apch"),
    "h264-viewing": ("h264", "High", "avc1"),
    "dpx-sequence": ("dpx", "", ""),
    "tiff-sequence": ("tiff", "", ""),
}
FORMATS = {
    "prores-mezzanine": {"yuv422p10le"},
    "h264-viewing": {"yuv420p", "yuvj420p"},
    "dpx-sequence": {"gbrp10le", "gbrp12le", "rgb48be", "rgb48le"},
    "tiff-sequence": {"rgb48le", "rgb24", "gray16le", "gray"},
}


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_codec_and_pixel_format_are_what_the_profile_promises(
    case: Case,
    render_of: Callable[[str], Made],
    seen_of: Callable[[str, str], Seen],
) -> None:
    seen, scan = seen_of(case.kind, case.profile), look_at_scan(render_of(case.kind).scan)

    if case.profile == "as-scanned":
        same = (scan.codec, scan.profile, scan.pixel_format)
        assert same == (seen.codec, seen.profile, seen.pixel_format)
    else:
        assert CODECS[case.profile] == (seen.codec, seen.profile, seen.tag)
        assert seen.pixel_format in FORMATS.get(case.profile, {seen.pixel_format})


@cache
def look_at_scan(path: Path) -> Seen:
    return look(path)


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_raster_and_sample_aspect_are_the_scans(
    case: Case, render_of: Callable[[str], Made], seen_of: Callable[[str, str], Seen]
) -> None:
    kind, seen = render_of(case.kind).kind, seen_of(case.kind, case.profile)

    assert kind.size == seen.raster
    assert (kind.aspect or 1) == (seen.sample_aspect or 1)


@pytest.mark.parametrize(
    "case", [case for case in CASES if case.profile != "tiff-sequence"], ids="-".join
)
def test_colour_tags_are_the_scans_but_for_what_a_conversion_changes(
    case: Case, render_of: Callable[[str], Made], seen_of: Callable[[str, str], Seen]
) -> None:
    kind, tags = render_of(case.kind).kind, seen_of(case.kind, case.profile).tags
    scan = look_at_scan(render_of(case.kind).scan).tags

    if case.profile == "dpx-sequence":
        assert "gbr" == tags.matrix
        nameless = NAMELESS_IN_DPX
        wanted = [name if name not in nameless else "unknown" for name in scan_names(scan)]
        assert wanted == scan_names(tags)
        return
    assert scan_names(scan) == scan_names(tags)
    if case.profile in {"as-scanned", "ffv1-master"}:
        assert (scan.matrix, scan.range) == (tags.matrix, tags.range)
        return
    if kind.family == "yuv":
        # Matrices 5 and 6 of H.273 are the same figures; ProRes has a code for the latter only.
        equal = {"bt470bg": "smpte170m"}
        assert equal.get(scan.matrix, scan.matrix) == equal.get(tags.matrix, tags.matrix)
    else:
        # A PNG of greys calls its matrix RGB, which no YUV can be.
        called_rgb = kind.family == "rgb" or "gbr" == scan.matrix
        assert ("bt709" if called_rgb else "unknown") == tags.matrix
    if case.profile == "h264-viewing" and kind.full and kind.family == "yuv":
        assert "pc" == tags.range
    elif tags.matrix == "unknown" and case.profile == "h264-viewing":
        # Rec. ITU-T H.264, E.2.1: video_full_range_flag is inferred to be 0 where it is absent.
        assert "unknown" == tags.range
    else:
        assert "tv" == tags.range


NAMELESS_IN_DPX = {"iec61966-2-1", "smpte2084", "bt2020"}  # ST 268's tables, from memory


def scan_names(tags: Tags) -> list[str]:
    return [tags.primaries, tags.transfer]


@pytest.mark.parametrize("case", MOVIES, ids="-".join)
def test_rate_and_every_timestamp_are_the_deliverables(
    case: Case, seen_of: Callable[[str, str], Seen], render_of: Callable[[str], Made]
) -> None:
    seen, rate = seen_of(case.kind, case.profile), Fraction(case.rate)
    exact = [index / rate for index in range(seen.count)]

    assert f"{float(rate):.2f}".removesuffix(".00") == seen.rate
    if render_of(case.kind).paths[case.profile].suffix == ".mkv":
        # RFC 9559: a Matroska timestamp scale of a million nanoseconds is 1 ms.
        late = [abs(told - true) for told, true in zip(seen.times, exact, strict=True)]
        assert max(late) < Fraction(1, 1000)
        # FFmpeg keeps the terms of a rate that it takes from nanoseconds under 30,000.
        assert abs(seen.exact_rate - rate) < Fraction(1, 100_000)
    else:
        assert exact == list(seen.times)
        assert rate == seen.exact_rate
        assert {1 / rate} == set(seen.durations)


@pytest.mark.parametrize("name", COPIED)
def test_a_copy_decodes_to_the_scans_very_samples(
    name: str, render_of: Callable[[str], Made]
) -> None:
    made_of = render_of(name)
    scan = picture_hashes(made_of.scan, made_of.kind.read_as)
    told = shown(made_of.speed_map, "as-scanned")

    copied = picture_hashes(made_of.paths["as-scanned"], made_of.kind.read_as)

    assert [scan[frame] for frame in told if frame is not None] == copied
    assert "copy" == route_in_report(made_of.speed_map, "as-scanned")


@pytest.mark.parametrize("name", KINDS)
def test_an_ffv1_master_decodes_to_the_scans_very_samples(
    name: str, render_of: Callable[[str], Made]
) -> None:
    made_of = render_of(name)
    scan = picture_hashes(made_of.scan, made_of.kind.read_as)
    told = shown(made_of.speed_map, "ffv1-master")

    master = picture_hashes(made_of.paths["ffv1-master"], made_of.kind.read_as)

    assert [scan[frame] for frame in told if frame is not None] == master


@pytest.mark.parametrize("profile", PROFILES)
def test_a_deliverable_names_film_version_deliverable_and_the_maps_checksum(
    profile: str, render_of: Callable[[str], Made]
) -> None:
    made_of = render_of("prores")
    path = made_of.paths[profile]
    checksum = hashlib.sha256(made_of.speed_map.read_bytes()).hexdigest()

    if path.is_dir():
        about = json.loads((path / "about.json").read_text(encoding="utf-8"))
    else:
        told = ffmpeg("-i", path, "-f", "ffmetadata", "-").stdout.decode().splitlines()
        pairs = (line.split("=", 1) for line in told if "=" in line)
        about = {key.lower(): value for key, value in pairs}

    assert "Numbers" == about["title"]
    assert f"version v, deliverable {profile}, map sha256 {checksum}" in about["comment"]


def route_in_report(speed_map: Path, deliverable: str) -> str:
    told = {one["name"]: one["route"] for one in reported(speed_map)["deliverables"]}
    route = told[deliverable]
    assert isinstance(route, str)
    return route
