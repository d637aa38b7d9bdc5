"""Lists of real plans: what M2 cannot say is told, what has more than 999 events is divided."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from listmaps import HEAD, LIST, Cut, cuts, edition_of, programme, read_back

from retime.edition.join import join
from retime.errors import CommandError
from retime.film.rounding import floor_of
from retime.film.timecode import label
from retime.lists.collecting import collected
from retime.lists.edl_making import edl_files
from retime.lists.edl_reading import read_edl
from retime.lists.edl_writing import edl_text
from retime.lists.reelnames import edl_names
from retime.lists.speed_lines import said_as
from retime.lists.strip_table import strip_table
from retime.lists.strips import Shows
from retime.lists.tables import read_table
from retime.lists.terms import Terms
from retime.report.listing import listing

if TYPE_CHECKING:
    from pathlib import Path

    from retime.lists.edl_events import Edl
    from retime.lists.strips import Programme

ONE_REEL = [Cut("1", 0, 11_999, "1", "action", "the crossing")]


def viewing(rate: str, more: str = "", profile: str = "h264-viewing") -> str:
    return f"  viewing: {{version: slow, profile: {profile}, rate: {rate}{more}}}\n"


def slow(speed: str, more: str = "") -> str:
    return f"  slow: {{speed: {speed}{more}}}\n"


def only_list(told: Programme) -> Edl:
    """Return the one list of a programme, as it is read back from its text."""
    (file,) = edl_files(told)
    return read_edl(edl_text(file.edl).encode(), LIST, told.rate)


def test_two_hundred_elevenths_are_told_in_the_list_and_beside_it(tmp_path: Path) -> None:
    """660 s of it are 15,840 output frames at 24; 18.2 instead is 12 film frames too far.

    The source stays what is shown: 15,840 (200/11)/24 is 12,000 frames.
    """
    told = programme(edition_of(tmp_path, ONE_REEL, slow("200/11"), viewing("24")))
    (file,) = edl_files(told)
    (edit,) = only_list(told).edits

    assert 15_840 == edit.record.frames
    assert edit.speed is not None
    assert Fraction("18.2") == edit.speed.speed
    assert 12_000 == edit.source.frames
    remark = "SPEED: 200/11 IN 24, SAID AS 18.2: OFF BY 12 FRAMES AT THE END"
    assert remark in edit.remarks
    assert ("200/11 in 24, said as 18.2: 1 event, off by at most 12 film frames",) == file.told


def test_shots_at_such_a_speed_still_come_back_the_same(tmp_path: Path) -> None:
    shots = [Cut("1", 10, 9_109, "1", "action", None), Cut("1", 9_110, 9_149, "2", "title", None)]
    told = programme(edition_of(tmp_path, shots, slow("200/11"), viewing("24")))

    assert shots == read_back(told)
    assert [9_100, 40] == [edit.source.frames for edit in only_list(told).edits]
    assert () == only_list(told).findings


def test_the_same_in_runs_is_exact_frame_by_frame(tmp_path: Path) -> None:
    """Output frame j shows film frame floor((j + 1/2) s/C), by the rule itself."""
    shots = [Cut("1", 0, 599, "1", "action", None)]
    edition = edition_of(tmp_path, shots, slow("200/11"), viewing("24"))
    told = programme(edition, runs=True)
    (file,) = edl_files(told, runs=True)
    edits = read_edl(edl_text(file.edl).encode(), LIST, told.rate).edits
    shown = [edit.source.first for edit in edits for _ in range(edit.record.frames)]

    ratio = Fraction(200, 11) / 24
    assert [floor_of((j + Fraction(1, 2)) * ratio) for j in range(792)] == shown
    assert {1} == {edit.source.frames for edit in edits}
    assert all((edit.speed is None) is (edit.record.frames == 1) for edit in edits)
    assert () == file.told
    assert shots == read_back(told, runs=True)


def test_a_ramp_is_said_as_its_mean_and_told(tmp_path: Path) -> None:
    """16 to 20 over 960 frames, by duration: 54 s in all, so the mean is 960/54 = 17.8."""
    shots = [Cut("1", 0, 959, "1", "action", None)]
    told = programme(edition_of(tmp_path, shots, slow("16 fps -> 20 fps"), viewing("24")))
    (file,) = edl_files(told)
    (edit,) = file.edl.edits
    (strip,) = told.strips

    assert 1296 == edit.record.frames
    assert edit.speed is not None
    assert Fraction("17.8") == edit.speed.speed
    assert (Fraction(16), Fraction(20)) == strip.ramp
    # Half way through the film's frames the ramp has used 480 frames in 28.5 s of 54.
    assert 20 < strip.strays < 30
    assert any(one.startswith("ramp 16 -> 20 fps, said as its mean: 1 event") for one in file.told)
    assert any(one.startswith("RAMP: 16 -> 20 FPS, SAID AS 17.8: OFF BY") for one in edit.remarks)
    assert shots == read_back(told)


def test_thirteen_hundred_shots_are_two_lists_and_come_back(tmp_path: Path) -> None:
    shots = [Cut("1", 24 * n, 24 * n + 23, str(n), "action", None) for n in range(1, 1301)]
    told = programme(edition_of(tmp_path, shots, slow("18 fps"), viewing("24")))
    files = edl_files(told)

    assert ["reel-001-part-1", "reel-001-part-2"] == [one.ending for one in files]
    assert [999, 301] == [len(one.edl.edits) for one in files]
    assert [1, 999] == [files[0].edl.edits[at].number for at in (0, -1)]
    assert 1 == files[1].edl.edits[0].number
    assert files[0].edl.edits[-1].record.stop == files[1].edl.edits[0].record.first
    assert ("1,300 events, of which a list numbers 999: 2 lists",) == files[0].told
    assert shots == read_back(told)


def test_speeds_of_their_own_for_every_shot_are_told_by_their_worst(tmp_path: Path) -> None:
    """Twelve speeds that have no one decimal: six are told one by one, the rest together."""
    shots = [Cut("1", 240 * n, 240 * n + 239, str(n), "action", None) for n in range(1, 13)]
    rules = ", ".join(f"1/{n}: {16 + n / 4 + 0.013} fps" for n in range(1, 13))
    version = slow("18 fps", f", shots: {{{rules}}}")
    (file,) = edl_files(programme(edition_of(tmp_path, shots, version, viewing("24"))))

    assert 7 == len(file.told)
    assert file.told[-1].startswith("6 more paces that M2 cannot say: 6 events, off by at most")


def test_a_speed_that_a_runtime_asks_for_is_told_as_it_is(tmp_path: Path) -> None:
    """12,000 frames in 11 minutes less a second are 12,000/659 = 18.2094 a second."""
    version = "  slow: {runtime: '10:59'}\n"
    told = programme(edition_of(tmp_path, ONE_REEL, version, viewing("24")))
    (file,) = edl_files(told)

    assert Fraction(12_000, 659) == told.strips[0].speed
    assert file.told[0].startswith("12000/659 in 24, said as 18.2: 1 event, off by at most 6.2")
    assert ONE_REEL == read_back(told)


def test_every_reel_has_a_list_in_the_deliverables_labels(tmp_path: Path) -> None:
    shots = [Cut("1", 0, 479, "1", "action", None), Cut("B 2", 24, 503, "1", "action", None)]
    deliverable = viewing("29.97", ", timecode: 01:00:00;00, head: {black: 1 s}")
    told = programme(edition_of(tmp_path, shots, slow("20 fps"), deliverable))
    one, other = edl_files(told)
    edits = [edit for file in (one, other) for edit in file.edl.edits]

    assert ["reel-001", "reel-B2"] == [file.ending for file in (one, other)]
    assert ["BL", "001", "B2"] == [edit.reel for edit in edits]
    assert "00:59:59;00" == label(edits[0].record.first, told.rate, drop=True)
    assert "01:00:00;00" == label(edits[1].record.first, told.rate, drop=True)
    assert [30, 720, 720] == [edit.record.frames for edit in edits]
    text = edl_text(other.edl)
    assert "FCM: DROP FRAME\n" in text
    assert "00:00:00:24 00:00:16:24 01:00:24;00 01:00:48;00" in text
    assert shots == read_back(told)


def test_record_labels_begin_anew_after_midnight(tmp_path: Path) -> None:
    shots = [Cut("1", 0, 179, "1", "action", None), Cut("1", 180, 359, "2", "action", None)]
    told = programme(
        edition_of(tmp_path, shots, slow("18 fps"), viewing("24", ", timecode: 23:59:55:00"))
    )
    text = edl_text(edl_files(told)[0].edl)

    assert "23:59:55:00 00:00:05:00" in text
    assert shots == read_back(told)


def test_a_source_behind_the_last_label_of_the_day_is_refused(tmp_path: Path) -> None:
    """24 hours at 24 have 2,073,600 labels."""
    shots = [Cut("1", 2_073_500, 2_073_620, "1", "action", None)]
    told = programme(edition_of(tmp_path, shots, slow("18 fps"), viewing("24"), frames=3_000_000))

    with pytest.raises(CommandError, match="frame 2073621 lies behind the last label"):
        edl_files(told)
    assert "2073500,2073620" in strip_table(told)


def test_a_rate_without_labels_has_no_edl_but_a_table(tmp_path: Path) -> None:
    shots = [Cut("1", 0, 99, "1", "action", None)]
    edition = edition_of(tmp_path, shots, slow("18 fps"), viewing("200/11", "", "as-scanned"))
    told = programme(edition)

    with pytest.raises(CommandError, match="has no timecode for an EDL"):
        edl_files(told)
    shots_read, _ = collected(
        [read_table(strip_table(told).encode(), LIST, Terms())], LIST, Terms()
    )
    assert shots == cuts(shots_read)


def test_m2_counts_the_labels_that_the_deliverable_runs_in(tmp_path: Path) -> None:
    """20 laid out at 24 and run at 25 passes 20/24 of a frame a frame: 20.8333 in 25."""
    shots = [Cut("1", 0, 2399, "1", "action", None)]
    told = programme(edition_of(tmp_path, shots, slow("20 fps"), viewing("25", ", conform-at: 24")))
    (strip,) = told.strips

    assert Fraction(5, 6) == strip.ratio
    assert Fraction("20.8") == said_as(strip.ratio, told.nominal)
    assert "125/6 in 25, said as 20.8" in edl_files(told)[0].told[0]


def test_runs_name_what_the_list_of_frames_names(tmp_path: Path) -> None:
    """Also where a title is held by a loop, which runs back and forth."""
    shots = [Cut("1", 5, 24, "1", "title", None), Cut("1", 25, 124, "2", "action", None)]
    version = slow("18 fps", ", titles: {at least: 4 s, loop: 8}")
    edition = edition_of(tmp_path, shots, version, viewing("25"))
    runs, told = programme(edition, runs=True), programme(edition)
    shown = [str(run.first) for run in runs.strips for _ in range(run.frames)]

    assert [row.frame for row in listing(edition.makings[0])] == shown
    assert any(one.ratio < 0 for one in told.strips)
    backward = [one for one in only_list(told).edits if one.speed and one.speed.speed < 0]
    assert all(one.source.first < one.source.stop for one in backward)
    assert [one.source.stop - 1 for one in backward] == [
        one.speed.at for one in backward if one.speed
    ]
    assert shots == read_back(told)
    assert shots == read_back(runs, runs=True)


def test_frames_of_two_film_frames_are_counted_and_named_by_their_first_field(
    tmp_path: Path,
) -> None:
    """16 in 60 fields: 3:4 fields in turn, so that every other film frame begins amid a frame."""
    shots = [Cut("1", 0, 159, "1", "action", None)]
    deliverable = viewing("29.97", ", scanning: top-first", "prores-mezzanine")
    edition = edition_of(tmp_path, shots, slow("16 fps"), deliverable)
    runs = programme(edition, runs=True)
    rows = [row for row in listing(edition.makings[0]) if row.field == "1"]
    others = [row for row in listing(edition.makings[0]) if row.field == "2"]
    shown = [str(run.first) for run in runs.strips for _ in range(run.frames)]

    woven = sum(one.frame != other.frame for one, other in zip(rows, others, strict=True))
    assert woven == runs.woven > 0
    assert [row.frame for row in rows] == shown
    assert f"{woven} FRAMES HOLD FIELDS" in edl_text(edl_files(runs, runs=True)[0].edl)
    assert shots == read_back(programme(edition))


def test_a_frame_of_two_shots_belongs_to_that_of_its_first_field(tmp_path: Path) -> None:
    """5 frames at 16 last 18.75 fields, so that shots begin amid frames."""
    shots = [Cut("1", 5 * n, 5 * n + 4, str(n), "action", None) for n in range(1, 40)]
    deliverable = viewing("29.97", ", scanning: top-first", "prores-mezzanine")
    edition = edition_of(tmp_path, shots, slow("16 fps"), deliverable)
    rows = [row for row in listing(edition.makings[0]) if row.field == "1"]
    told = programme(edition)

    assert any(
        one.field == "2" and one.shot != row.shot
        for one, row in zip(list(listing(edition.makings[0]))[1::2], rows, strict=True)
    )
    assert [row.shot for row in rows] == [
        strip.shot for strip in told.strips for _ in range(strip.frames)
    ]


def test_a_blend_has_speeds_and_no_runs(tmp_path: Path) -> None:
    shots = [Cut("1", 0, 159, "1", "action", None)]
    path = tmp_path / "lamp.yaml"
    edition_of(tmp_path, shots, slow("16 fps"), viewing("24"))
    text = path.read_text().replace("gauge: 35mm\n", "gauge: 35mm\ntransfer: bt1886\n")
    path.write_text(text.replace("rate: 24", "rate: 24, method: blend"))
    edition = join(path)

    with pytest.raises(CommandError, match="viewing is a blend"):
        programme(edition, runs=True)
    told = programme(edition)
    assert told.blended
    assert shots == read_back(told)


def test_names_in_other_letters_come_back_and_titles_lose_their_accents(tmp_path: Path) -> None:
    shots = [
        Cut("Rolle ä", 0, 23, "β", "action", "Die Flut: Ähren"),
        Cut("Rolle ä", 24, 47, "β\\u03b2", "title", "灯台"),
    ]
    told = programme(edition_of(tmp_path, shots, slow("18 fps"), viewing("24")))
    (file,) = edl_files(told)

    assert edl_text(file.edl).isascii()
    assert ("2 names hold letters that an EDL has not: see the list",) == file.told
    titles = ["Die Flut: Ahren", "??"]
    assert [shot._replace(name=title) for shot, title in zip(shots, titles, strict=True)] == (
        read_back(told)
    )


def test_pictures_and_black_that_were_put_in_are_no_film(tmp_path: Path) -> None:
    shots = [Cut("1", 0, 99, "1", "action", None), Cut("1", 100, 199, "2", "action", None)]
    version = slow("20 fps", ", insert: [{after: 1/1, black: 2 s}]")
    told = programme(edition_of(tmp_path, shots, version, viewing("24")))
    edits = only_list(told).edits

    assert [Shows.FILM, Shows.BLACK, Shows.FILM] == [one.shows for one in told.strips]
    assert ["001", "BL", "001"] == [edit.reel for edit in edits]
    assert 48 == edits[1].source.frames == edits[1].record.frames
    assert shots == read_back(told)


def test_a_scan_that_holds_repeats_is_named_by_its_own_frames(tmp_path: Path) -> None:
    """1:2 in turn: film frame n begins at scan frame 3 n/2, rounded down."""
    (tmp_path / "lamp.yaml").write_text(
        f"{HEAD}reels: [{{reel: 1, scan: a.mkv, frames: 300, cadence: '1:2'}}]\n"
        f"versions:\n{slow('18 fps')}deliverables:\n{viewing('24')}"
    )
    edition = join(tmp_path / "lamp.yaml")
    runs, told = programme(edition, runs=True), programme(edition)
    firsts = list(dict.fromkeys(run.first for run in runs.strips))

    assert [3 * n // 2 for n in range(200)] == firsts
    (strip,) = told.strips
    assert (0, 299) == (strip.first, strip.last + 1)
    assert any("a scan that holds repeats" in one for one in edl_files(told)[0].told)


@pytest.mark.parametrize(
    ("names", "written"),
    [
        (["1", "2", "12"], ["001", "002", "012"]),
        (["1", "01", "001"], ["001", "0012", "0013"]),
        (["BL", "AX", "m2"], ["RBL", "RAX", "RM2"]),
        (["reel one of two", "reel one of three"], ["REELONEO", "REELONE2"]),
        (["Ä/§", "III"], ["RA", "III"]),
        (["日本", "!"], ["R", "R2"]),
    ],
)
def test_reels_have_names_of_their_own_in_eight_letters(
    names: list[str], written: list[str]
) -> None:
    assert written == list(edl_names(names).values())
