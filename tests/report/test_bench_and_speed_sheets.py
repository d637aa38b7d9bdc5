"""Sheets for a bench and for a show, held against published footages, speeds and times."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from retime.cli.result_file import table_text
from retime.edition.join import join
from retime.report.bench import bench_rows
from retime.report.bench_sheet import bench_table, write_bench_csv, write_bench_json
from retime.report.show_speeds import CAUTION, show_speeds
from retime.report.speed_sheet import speed_table, write_speed_csv, write_speed_json

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.report.bench import BenchRow
    from retime.report.show_speeds import ReelSpeeds


def edition(
    folder: Path, frames: int, version: str, gauge: str = "35mm", rest: str = ""
) -> Edition:
    """Return an edition of one reel of so many frames, in one version ``shown``."""
    path = folder / "map.yaml"
    path.write_text(
        f"format: retime-map/1\nfilm: The Tidewatcher's Lamp\ngauge: {gauge}\n"
        "reels: [{reel: 1, scan: r1.mkv, first: 24, "
        f"last: {frames + 23}, frames: {frames + 30}}}]\n"
        f"versions:\n  shown: {version}\n{rest}",
        encoding="utf-8",
    )
    return join(path, every_version=True)


def reels(of: Edition) -> list[ReelSpeeds]:
    return list(show_speeds(of, ["shown"]))


FEET_PER_MINUTE = [
    # "Filmfuss" (film foot), German Wikipedia mirror, naming ISO 491 and ISO 69: 16 frames to a
    # foot of 35 mm, 40 of 16 mm; it gives 60 and 90 ft/min, and 36 of 16 mm
    ("35mm", "16", "60"),
    ("35mm", "24", "90"),
    ("16mm", "24", "36"),
    # EIDR knowledge base, "Durations": feet a minute by which lengths are divided
    ("35mm", "18", "135/2"),
    ("35mm", "20", "75"),
    ("35mm", "22", "165/2"),
    # Transactions of the SMPE (1919): 120 ft/min are 32 frames a second
    ("35mm", "32", "120"),
    # Discussion on the Report of the Standards and Nomenclature Committee (SMPE, 1924): 80 ft/min
    ("35mm", "64/3", "80"),
    # the archive rates of SMPTE ST 428-21:2011 (abstract), the feet computed
    ("35mm", "200/11", "750/11"),
    ("35mm", "240/11", "900/11"),
    # computed from 80 and 72 frames to the foot (EIDR; "Filmfuss")
    ("8mm", "200/11", "150/11"),
    ("super 8", "200/11", "500/33"),
]


@pytest.mark.parametrize(("gauge", "fps", "feet"), FEET_PER_MINUTE)
def test_feet_a_minute_are_the_published_ones(
    gauge: str, fps: str, feet: str, tmp_path: Path
) -> None:
    (reel,) = reels(edition(tmp_path, 4000, f"{{speed: {fps} fps}}", gauge=gauge))

    (change,) = reel.changes
    assert (change.fps[0], change.per_minute[0]) == (Fraction(fps), Fraction(feet))


TIMES = [
    # James Card, "Silent Film Speed" (1955): 1,000 feet take 16 min 40 s at 16 frames a second and
    # 11 min 6 2/3 s at 24
    ("35mm", 16000, "16", Fraction(16 * 60 + 40), "1000+00"),
    ("35mm", 16000, "24", 11 * 60 + 6 + Fraction(2, 3), "1000+00"),
    # F. H. Richardson's Bluebook of Projection (1935): 12 ft 6 fr at 90 ft/min, said to be about
    # 8 s, are 198 frames
    ("35mm", 198, "24", Fraction(33, 4), "12+06"),
    # 730 ft of 35 mm are 292 ft of 16 mm: Library of Congress record of The Black Viper (1908),
    # as given by NYU Film History; both hold 11,680 frames
    ("35mm", 11680, "16", Fraction(730), "730+00"),
    ("16mm", 11680, "16", Fraction(730), "292+00"),
]


@pytest.mark.parametrize("told", TIMES, ids=str)
def test_reels_run_for_the_published_times(
    told: tuple[str, int, str, Fraction, str], tmp_path: Path
) -> None:
    gauge, frames, fps, seconds, length = told
    (reel,) = reels(edition(tmp_path, frames, f"{{speed: {fps} fps}}", gauge=gauge))

    assert (reel.length, reel.lasts, reel.beside) == (length, seconds, Fraction(0))


def shots(*lengths: int, kinds: str = "") -> str:
    """Return a list of shots of so many frames; ``kinds`` has a t for every title."""
    rows, at = "", 24
    for number, length in enumerate(lengths):
        kind = ", kind: title" if kinds[number : number + 1] == "t" else ""
        rows += f"  - {{reel: 1, first: {at}, last: {at + length - 1}, shot: {number + 1}{kind}}}\n"
        at += length
    return f"shots:\n{rows}"


def test_a_bench_counts_feet_and_frames_as_the_notes_do(tmp_path: Path) -> None:
    """Film and audio conversion formulas (after M. Lustig and I. Oshman).

    39+14 and 1769+07 are 1809+05; 83+38 of 16 mm are 209+14 of 35 mm.
    """
    first, second = 39 * 16 + 14, 1769 * 16 + 7
    of = edition(tmp_path, first + second + 1, "{speed: 20}", rest=shots(first, second, 1))
    rows = list(bench_rows(of, ["shown"]))
    sixteen = edition(
        tmp_path, 83 * 40 + 38 + 1, "{speed: 20}", gauge="16mm", rest=shots(83 * 40 + 38, 1)
    )

    assert ["0+00", "39+14", "1809+05"] == [row.feet for row in rows]
    assert ["39+14", "1769+07", "0+01"] == [row.length for row in rows]
    assert "83+38" == list(bench_rows(sixteen, ["shown"]))[1].feet
    assert (209 * 16 + 14) == 83 * 40 + 38


CUT = shots(160, 20, 160, kinds=" t ")


def test_changes_come_at_their_feet_and_time(tmp_path: Path) -> None:
    version = "{speed: 16, shots: {1/2: 20, 1/3: 16 -> 24}}"
    (reel,) = reels(edition(tmp_path, 340, version, rest=CUT))

    assert ["0+00", "10+00", "11+04"] == [change.feet for change in reel.changes]
    assert [24, 184, 204] == [change.frame for change in reel.changes]
    assert [0, 10, 11] == [change.at for change in reel.changes]
    assert (Fraction(16), Fraction(24)) == reel.changes[2].fps
    assert (Fraction(60), Fraction(90)) == reel.changes[2].per_minute
    # a frame's duration changes evenly, so that the mean of the first and the last is that of all
    assert 160 * (Fraction(1, 16) + Fraction(1, 24)) / 2 == reel.changes[2].lasts


def test_one_speed_through_several_shots_is_no_change(tmp_path: Path) -> None:
    (reel,) = reels(edition(tmp_path, 340, "{speed: 16, titles: {speed: 16}}", rest=CUT))

    assert 1 == len(reel.changes)
    assert 340 == reel.changes[0].frames


def test_a_print_cannot_be_held_so_holds_are_told_apart(tmp_path: Path) -> None:
    version = "{speed: 16, titles: {speed: 20, at least: 4 s}}"
    (reel,) = reels(edition(tmp_path, 340, version, rest=CUT))

    assert [16, 20, 16] == [change.fps[0] for change in reel.changes]
    assert (Fraction(21), Fraction(3)) == (reel.lasts, reel.beside)


def test_a_title_held_in_a_ramp_is_told_at_the_ramp(tmp_path: Path) -> None:
    version = "{speed: 16, shots: {1/2: {speed: 16 -> 24, at least: 4 s}}}"
    (reel,) = reels(edition(tmp_path, 340, version, rest=CUT))

    ends = [(int(first), int(last)) for first, last in (one.fps for one in reel.changes)]
    assert [(16, 16), (16, 24), (16, 16)] == ends


@pytest.mark.parametrize(("version", "fps"), [("{speed: 16, ", 16), ("{runtime: 0:24, ", 16)])
def test_a_title_of_one_frame_is_told_at_its_speed_and_not_at_its_hold(
    version: str, fps: int, tmp_path: Path
) -> None:
    """Solved from 24 s: 320 frames and one of 4 s take 20 s + 4 s at 16."""
    rest = shots(160, 1, 160, kinds=" t ")
    of = edition(tmp_path, 321, version + "titles: {for: 4 s}}", rest=rest)
    (reel,) = reels(of)

    assert [fps] == [change.fps[0] for change in reel.changes]
    assert [fps] * 3 == [1 / (row.runs[0].duration or 1) for row in bench_rows(of, ["shown"])]
    assert 4 - Fraction(1, 16) == reel.beside


def test_reels_come_as_they_play_and_black_is_not_on_the_film(tmp_path: Path) -> None:
    version = "{speed: 20, order: [1/3, 1/1], omit: [1/2], insert: {after: 1/3, black: 2 s}}"
    of = edition(tmp_path, 340, version, rest=CUT)
    (reel,) = reels(of)
    rows = list(bench_rows(of, ["shown"]))

    assert ["11+04", "0+00"] == [change.feet for change in reel.changes]
    assert (Fraction(16), Fraction(2)) == (reel.lasts, reel.beside)
    assert ["1", "2", "3"] == [row.shot for row in rows]
    assert ["", "left out", ""] == [row.remark for row in rows]


def test_a_solved_speed_is_told_as_any_other(tmp_path: Path) -> None:
    of = edition(tmp_path, 340, "{runtime: 0:20}")

    assert Fraction(17) == reels(of)[0].changes[0].fps[0]
    assert Fraction(20) == next(bench_rows(of, ["shown"])).lasts


def test_a_bench_row_says_how_long_a_title_stands_and_why(tmp_path: Path) -> None:
    version = "{speed: 16, titles: {at least: 4 s}}"
    rows: list[BenchRow] = list(bench_rows(edition(tmp_path, 340, version, rest=CUT), ["shown"]))

    assert ["action", "title", "action"] == [row.kind for row in rows]
    assert [10, 4, 10] == [row.lasts for row in rows]
    assert ["", "held", ""] == [row.remark for row in rows]
    assert [(24, 183), (184, 203), (204, 363)] == [(row.first, row.last) for row in rows]


def written(of: Edition) -> dict[str, str]:
    """Return both sheets as CSV and JSON."""
    out = {name: io.StringIO() for name in ("bench csv", "bench json", "speed csv", "speed json")}
    rows = list(bench_rows(of, ["shown"]))
    write_bench_csv(rows, out["bench csv"])
    write_bench_json(of, rows, out["bench json"])
    write_speed_csv(reels(of), out["speed csv"])
    write_speed_json(of, reels(of), out["speed json"])
    return {name: file.getvalue() for name, file in out.items()}


def test_programs_are_told_the_same_as_people(tmp_path: Path) -> None:
    of = edition(tmp_path, 340, "{speed: 200/11, shots: {1/3: 16 -> 24}}", rest=CUT)
    told = written(of)
    bench: Any = json.loads(told["bench json"])
    speed: Any = json.loads(told["speed json"])

    assert ("retime-bench/1", "retime-show-speeds/1") == (bench["format"], speed["format"])
    assert [["200/11"], ["200/11"], [{"from": "16", "to": "24"}]] == [
        row["fps"] for row in bench["rows"]
    ]
    assert ["200/11", "200/11"] == speed["reels"][0]["changes"][0]["fps"]
    assert ["750/11", "750/11"] == speed["reels"][0]["changes"][0]["feet_per_minute"]
    rows = list(csv.DictReader(io.StringIO(told["speed csv"])))
    assert ("18.181818", "68.181818") == (rows[0]["fps"], rows[0]["feet_per_minute"])
    assert ("11+04", "24.000000") == (rows[1]["feet"], rows[1]["fps_to"])
    assert ["1", "2", "3"] == [
        row["shot"] for row in csv.DictReader(io.StringIO(told["bench csv"]))
    ]


def test_whoever_reads_speeds_reads_the_caution(tmp_path: Path) -> None:
    of = edition(tmp_path, 340, "{speed: 16}", rest=CUT)

    table = " ".join(table_text(speed_table(of, reels(of))).split())
    assert CAUTION in table
    assert CAUTION == json.loads(written(of)["speed json"])["caution"]
    for words in ("hot lamp is dangerous", "no instruction for a projector", "local rules decide"):
        assert words in CAUTION


def test_the_bench_table_has_a_block_a_reel(tmp_path: Path) -> None:
    of = edition(tmp_path, 340, "{speed: 16}", rest=CUT)
    lines = table_text(bench_table(of, list(bench_rows(of, ["shown"])))).splitlines()

    assert "reel 1   version shown" in lines
    assert ["10+00", "1+04", "2", "title", "16", "1.250", "s"] == next(
        line.split() for line in lines if "10+00" in line.split()[:1]
    )
