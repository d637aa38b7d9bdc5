from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.speedmap.model import Shot, ShotKind
from retime.speedmap.reading import read
from retime.speedmap.rules import findings
from retime.speedmap.shotlist import read_shots

pytest_plugins = ["lamp_map"]

MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: a.mkv, frames: 100}
shots: shots.csv
versions:
  a: {speed: 20, shots: {1/2: 18}}
"""
GOOD = "reel,first,last,shot,kind,name\n1,0,49,1,,\n1,50,99,2,title,The end\n"


def shots_of(table: str | bytes, lamp_path: Path) -> tuple[Shot, ...]:
    data = table if isinstance(table, bytes) else table.encode()
    (lamp_path.parent / "shots.csv").write_bytes(data)
    speed_map = read(MAP, lamp_path)
    assert findings(speed_map, {}) == ()
    return speed_map.shots


def told(table: str | bytes, lamp_path: Path) -> list[str]:
    data = table if isinstance(table, bytes) else table.encode()
    (lamp_path.parent / "shots.csv").write_bytes(data)
    try:
        found = findings(read(MAP, lamp_path), {})
    except DocumentError as error:
        found = error.findings
    return [str(finding).removeprefix(f"{lamp_path.parent}/") for finding in found]


def test_a_table_holds_what_a_list_would(lamp_path: Path) -> None:
    listed = MAP.replace(
        "shots.csv",
        "[{reel: 1, first: 0, last: 49, shot: 1}, "
        "{reel: 1, first: 50, last: 99, shot: 2, kind: title, name: The end}]",
    )

    assert read(listed, lamp_path).shots == shots_of(GOOD, lamp_path)


@pytest.mark.parametrize(
    "table",
    [
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("\n", "\r"),
        "\ufeff" + GOOD,
        "\n\n" + GOOD.replace("\n", "\n\n,,,,,\n  \n"),
        GOOD.rstrip("\n"),
        GOOD.replace(",", " , "),
        GOOD.replace("The end", '"The end"').replace("1,0,", '"1","0",'),
        GOOD.replace("1,0,49,1,,", "1,0,49,1"),
        "name,shot,last,first,kind,reel\n,1,49,0,,1\nThe end,2,99,50,title,1\n",
    ],
)
def test_line_ends_marks_blanks_quotes_and_the_order_of_columns_change_nothing(
    table: str, lamp_path: Path
) -> None:
    assert shots_of(GOOD, lamp_path) == shots_of(table, lamp_path)


def test_optional_columns_may_be_left_out(lamp_path: Path) -> None:
    first, second = shots_of("shot,reel,first,last\n1,1,0,49\n2,1,50,99\n", lamp_path)

    assert (first.kind, second.title) == (ShotKind.ACTION, None)


def test_a_cell_in_quotes_may_hold_commas_and_quotes(lamp_path: Path) -> None:
    table = GOOD.replace("The end", '"The ""end"", or so"')

    assert shots_of(table, lamp_path)[1].title == 'The "end", or so'


BAD = [
    ("", "the table of shots is empty; columns: reel, first, last, shot, kind, name"),
    ("reel,first,last\n1,0,99\n", '1:1: there is no column "shot"; columns: reel, first, last'),
    ("reel;first;last;shot\n", '1:1: there is no column "reel", "first", "last", "shot"'),
    (GOOD.replace("kind", "kin"), '1:22: unknown column "kin"; did you mean "kind"?'),
    (GOOD.replace("kind", "name"), '1:27: the column "name" stands here twice'),
    (GOOD.replace("1,0,", "1,x,"), '2:3: "x" is no frame number'),
    (GOOD.replace("1,0,", "1, -1,"), '2:4: "-1" is no frame number'),
    (GOOD.replace("1,0,", "1,,"), '2:1: "first" is missing'),
    (GOOD.replace("title", "card"), '3:11: "card" is not known here'),
    (GOOD.replace("1,50", "1,49"), "3:3: shot 1/2 begins at frame 49, inside shot 1/1"),
    (GOOD.replace("1,50", "2,50"), '3:1: there is no reel "2"'),
    (GOOD.replace("99", "100"), "3:6: frame 100 of shot 1/2 is outside reel 1"),
    (GOOD.replace("99", "49"), "3:6: the last frame of shot 1/2, 49, comes before its first"),
    (GOOD.replace("0,49,1", "0,49,2"), '3:9: a shot "1/2" stands already on line 2'),
    (GOOD.replace("The end", "The end, 2"), "3:26: the row has more cells than the 6 columns"),
    (GOOD.replace("The end", '"The end'), "3:17: a quoted cell does not end"),
    (GOOD.replace("The end", '"The" end'), "3:17: a quoted cell does not end"),
    (GOOD.replace("1,50,99", "1,52,99"), "3:1: warning: frames 50 to 51 are in no shot"),
    (GOOD.encode().replace(b"The", b"Th\xe9"), "3:19: the byte 0xe9 is not UTF-8"),
    (GOOD.encode("utf-16"), "1:1: the byte 0xff is not UTF-8"),
    (GOOD.replace("The end", "The\x07end"), "3:17: the text holds the control character U+0007"),
]


@pytest.mark.parametrize(("table", "expected"), BAD)
def test_a_mistake_in_a_table_is_told_at_its_cell(
    table: str | bytes, expected: str, lamp_path: Path
) -> None:
    lines = told(table, lamp_path)
    head = "shots.csv: " if expected.startswith("the table") else "shots.csv:"

    assert any(line.startswith(head + expected) for line in lines), lines


def test_every_mistake_in_a_table_is_told_and_the_other_rows_are_judged(lamp_path: Path) -> None:
    table = "reel,first,last,shot\n1,x,9,1\n1,10,29,2\n1,20,y,3\n1,25,99,4\n1,30,99,5\n"

    assert [":".join(line.split(":")[1:3]) for line in told(table, lamp_path)] == [
        "2:3",
        "4:6",
        "5:3",
        "6:3",
    ]


def test_a_table_full_of_mistakes_does_not_end_in_our_own(lamp_path: Path) -> None:
    assert len(told("reel,first,last,shot\n" + "1,x,y,z\n" * 5000, lamp_path)) == 200


def test_a_table_of_endless_lines_is_read_to_its_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("retime.speedmap.shotlist.MOST_LINES", 3)
    table, found = read_shots(GOOD.encode() + b"1,0,0,x\n" * 9, Path("shots.csv"))

    assert len(table.rows) == 2
    assert [str(finding) for finding in found] == ["shots.csv:4:1: the table has more than 3 lines"]


def test_a_table_that_is_not_there_is_told_where_the_map_names_it(lamp_path: Path) -> None:
    with pytest.raises(DocumentError) as caught:
        read(MAP, lamp_path)

    assert f"{lamp_path}:6:8: {lamp_path.parent / 'shots.csv'}: the file cannot be read" in str(
        caught.value
    )


@given(st.text() | st.text('reelfirstlastshot,1"\n\r \t;'))
def test_any_text_is_a_table_with_or_without_findings(text: str) -> None:
    try:
        table, _ = read_shots(text.encode("utf-8", "surrogatepass"), Path("shots.csv"))
    except DocumentError:
        return
    for index, row in enumerate(table.plain()):
        assert all(table.has((index, name)) for name in row)
        assert table.place((index,)).line > 1
