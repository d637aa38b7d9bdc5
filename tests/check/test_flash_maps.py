"""The flash check of a map: one film at several speeds, each with an answer of its own.

The film has a dark frame in every 6.4: at 16 frames a second 2.5 flashes a second, at 24 3.75
(arithmetic). More than three within any one second fail: WCAG 2.2 (W3C 2023), Rec. ITU-R BT.1702-3
(2023).
"""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from flashing_files import SIZE, write_flashing
from flickering import answer

from retime.check.flash_file import flashes_of_file
from retime.check.flash_limits import Kind, Standard
from retime.check.flash_map import flashes_of_map
from retime.edition.join import join
from retime.errors import DocumentError, ScanError

if TYPE_CHECKING:
    from pathlib import Path

    from retime.check.flashes import FlashReport

FRAMES = 96
LUMA = "if(lt(mod(32-mod(5*N,32),32),5),16,235)"
"""Dark in frames 0, 6, 12, 19, 25, 32...: the whole numbers in 6.4 k."""

MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: lamp.mkv, first: 0, last: 95, frames: 96}
shots:
  - {reel: 1, first: 0, last: 47, shot: 1}
  - {reel: 1, first: 48, last: 95, shot: 2}
versions:
  slow: {speed: 16 fps}
  fast: {speed: 24 fps}
  turning: {speed: 16 fps, shots: {1/2: 24 fps}}
deliverables:
  slow-24: {version: slow, profile: ffv1-master, rate: 24, timecode: 10:00:00:00}
  fast-24: {version: fast, profile: ffv1-master, rate: 24, timecode: 10:00:00:00}
"""
"""A sound map of an invented film, whose last line begins the list of deliverables."""


@pytest.fixture(scope="module")
def lamp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with the scan."""
    folder = tmp_path_factory.mktemp("lamp")
    write_flashing(folder / "lamp.mkv", LUMA, frames=FRAMES, rate="16")
    write_flashing(folder / "card.png", "235", frames=1, codec=())
    write_flashing(folder / "logo.mkv", "if(mod(N,2),235,16)", frames=24)
    return folder


def checked(folder: Path, more: str = "", source: str = MAP) -> dict[str, FlashReport]:
    """Return what is found in each deliverable of the map, with more deliverables in it."""
    path = folder / "lamp.yaml"
    path.write_text(source + more)
    edition = join(path, scans_needed=True)
    return {report.name: report for report in flashes_of_map(edition)}


def test_the_same_film_passes_at_16_and_fails_at_24(lamp: Path) -> None:
    found = checked(lamp)

    assert [("slow-24", "slow", "24"), ("fast-24", "fast", "24")] == [
        (report.name, report.version, str(report.rate)) for report in found.values()
    ]
    assert found["slow-24"].passes
    for standard in Standard:
        slow, fast = (
            answer(found[name], Kind.GENERAL, standard) for name in ("slow-24", "fast-24")
        )

        assert slow.worst is not None
        assert fast.worst is not None
        assert not fast.passes
        # A second of 16 frames has at most three of the dark ones, a second of 24 four.
        assert [3, 4] == [slow.worst.flashes, fast.worst.flashes]


def test_a_rate_that_runs_faster_than_it_was_laid_out_counts_as_it_runs(lamp: Path) -> None:
    # Laid out at 16 and run at 24, unrepeated: the same pictures at the same times as at 24.
    more = (
        "  as-shot: {version: slow, profile: ffv1-master, rate: 16}\n"
        "  sold: {version: slow, profile: ffv1-master, conform-at: 16, rate: 24}\n"
    )
    found = checked(lamp, more)

    assert found["as-shot"].passes
    assert not found["sold"].passes
    assert found["sold"].answers[0].failing[0].flashes == found["fast-24"].answers[0].worst.flashes  # type: ignore[union-attr]


def test_a_failing_stretch_is_told_with_its_label_and_shot(lamp: Path) -> None:
    more = (
        "  turning-24: {version: turning, profile: ffv1-master, rate: 24, timecode: 10:00:00:00}\n"
    )
    (run, *others) = answer(
        checked(lamp, more)["turning-24"], Kind.GENERAL, Standard.BROADCAST
    ).failing

    # Shot 1 lasts 3 s at 16; its last dark frames may be part of the first second that fails.
    assert not others
    assert Fraction(2) < run.start < Fraction(7, 2)
    seconds, frames = divmod(run.start * 24, 24)
    assert f"10:00:{seconds:02}:{int(frames):02}" == run.timecode
    assert run.where in {"shot 1/2", "shot 1/1 to shot 1/2"}


def test_what_is_rendered_is_found_to_flash_as_the_map_is(lamp: Path, tmp_path: Path) -> None:
    more = (
        "  turning-25: {version: turning, profile: prores-mezzanine, rate: 25}\n"
        "  tape: {version: turning, profile: prores-mezzanine, rate: 25, scanning: top-first}\n"
    )
    found = checked(lamp, more)
    command = [sys.executable, "-m", "retime", "render", str(lamp / "lamp.yaml")]
    command += ["-o", str(tmp_path)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    files = [tmp_path / line for line in done.stdout.splitlines()]

    assert len(found) == len(files)
    for name, path in zip(found, files, strict=True):
        by_file = flashes_of_file(path)
        for mapped, seen in zip(found[name].answers, by_file.answers, strict=True):
            assert [one.flashes for one in mapped.failing] == [one.flashes for one in seen.failing]
            assert [one.start for one in mapped.failing] == [one.start for one in seen.failing]
            assert mapped.series == seen.series


def test_heads_fields_and_blends_are_seen_as_they_are_shown(lamp: Path) -> None:
    more = (
        "  led: {version: slow, profile: ffv1-master, rate: 24, raster: pad, size: 192x144,\n"
        "        head: [{movie: logo.mkv}, {still: card.png, for: 1 s}]}\n"
        "  tape: {version: fast, profile: ffv1-master, rate: 25, scanning: top-first}\n"
        "  soft: {version: fast, profile: ffv1-master, rate: 25, method: blend}\n"
    )
    found = checked(lamp, more, MAP.replace("reels:", "transfer: bt1886\nreels:", 1))
    led, tape, soft = (
        answer(found[name], Kind.GENERAL, Standard.BROADCAST) for name in ("led", "tape", "soft")
    )

    # The logo alternates for 24 frames; it is followed by the card and a film that passes.
    assert [(0, "before the film")] == [(int(run.start), run.where) for run in led.failing]
    assert 23 >= led.failing[0].stop * 24
    assert led.worst is not None
    assert led.worst.flashes > 11
    assert not tape.passes
    # Mixed with white over a frame of 1/25 s, a dark frame of 1/24 s keeps 96 % of its dark.
    assert not soft.passes


def test_black_between_shots_is_a_valley_like_any_other(lamp: Path) -> None:
    write_flashing(lamp / "white.mkv", "235", frames=FRAMES)
    source = MAP.replace("lamp.mkv", "white.mkv").replace(
        "versions:\n", "insert: [{after: 1/1, black: 1 s, name: dark}]\nversions:\n"
    )
    found = answer(checked(lamp, source=source)["fast-24"], Kind.GENERAL, Standard.BROADCAST)

    assert found.worst is not None
    assert [Fraction(1, 2), Fraction(2), Fraction(2)] == [
        found.worst.flashes,
        found.worst.start,
        found.worst.stop,
    ]
    assert "dark" in found.worst.where


def test_scans_are_read_once_for_all_deliverables(lamp: Path) -> None:
    (lamp / "lamp.yaml").write_text(MAP)
    read = []
    flashes_of_map(join(lamp / "lamp.yaml", scans_needed=True), lambda: read.append(1))

    assert FRAMES == len(read)


def test_a_hole_in_numbered_files_is_black_or_held_as_the_map_says(lamp: Path) -> None:
    write_flashing(lamp / "n%02d.png", "235", frames=48, codec=())
    (lamp / "n20.png").unlink()
    flashes = {}
    for missing in ("hold", "black"):
        source = MAP.replace(
            "{reel: 1, scan: lamp.mkv, first: 0, last: 95, frames: 96}", ""
        ).replace("reels:\n  - ", f"reels:\n  - {{reel: 1, scan: n%02d.png, missing: {missing}}}")
        source = source[: source.index("shots:")] + source[source.index("versions:") :]
        source = source.replace("  turning: {speed: 16 fps, shots: {1/2: 24 fps}}\n", "")
        found = answer(checked(lamp, source=source)["fast-24"], Kind.GENERAL, Standard.WCAG)
        flashes[missing] = 0 if found.worst is None else found.worst.flashes

    assert {"hold": 0, "black": 1} == flashes


def test_a_scan_that_is_away_is_told_at_its_line(lamp: Path) -> None:
    with pytest.raises(DocumentError, match=r"away\.mkv"):
        checked(lamp, source=MAP.replace("lamp.mkv", "away.mkv"))


def test_a_scan_that_holds_less_than_the_map_states_is_told(lamp: Path) -> None:
    write_flashing(lamp / "short.mkv", LUMA, frames=FRAMES - 6)

    with pytest.raises(ScanError, match=r"short\.mkv: frame 90"):
        checked(lamp, source=MAP.replace("lamp.mkv", "short.mkv"))


def test_the_picture_is_seen_as_the_map_frames_it(lamp: Path) -> None:
    # A strip of a twelfth of the scan's width flashes: too small, and all of what is cut out.
    strip, width = SIZE[0] // 12, SIZE[0]
    write_flashing(lamp / "strip.mkv", f"if(lt(X,{strip})*mod(N,2),235,16)", frames=FRAMES)
    whole = MAP.replace("lamp.mkv", "strip.mkv")
    framed = whole.replace("first: 0", f"area: '0,0,{strip},{SIZE[1]}', first: 0", 1)

    assert width == 12 * strip
    assert answer(checked(lamp, source=whole)["fast-24"], Kind.GENERAL, Standard.BROADCAST).passes
    worst = answer(checked(lamp, source=framed)["fast-24"], Kind.GENERAL, Standard.BROADCAST).worst
    assert worst is not None
    assert [12, 1] == [worst.flashes, worst.area]
