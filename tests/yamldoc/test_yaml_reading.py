from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.yamldoc.builder import MOST_LEVELS, MOST_VALUES
from retime.yamldoc.reading import MOST_BYTES, load, read
from retime.yamldoc.tree import Scalar

PATH = Path("doc.yaml")


def told(source: str | bytes) -> list[tuple[int, int, str, str]]:
    """Return line, column, rule and text of all findings, whether reading went on or not."""
    try:
        findings = read(source, PATH).findings
    except DocumentError as error:
        findings = error.findings
    places = [tree_place(str(finding.place)) for finding in findings]
    return [
        (*place, finding.rule, finding.text)
        for place, finding in zip(places, findings, strict=True)
    ]


def tree_place(place: str) -> tuple[int, int]:
    """Return line and column of a printed place, 0 and 0 for a whole file."""
    parts = place.rsplit(":", 2)
    return (int(parts[1]), int(parts[2])) if len(parts) == 3 else (0, 0)


@pytest.mark.parametrize(
    "text",
    # each is something else to YAML 1.1, by its published type repository: sexagesimal and octal
    # integers, switches, floats, dates, nulls, a default value
    [
        *("1:37:12", "16:30", "012", "0x1F", "1_000", "+1", "no", "on", "y", "true"),
        *("23.976", "1.0", "1e3", ".inf", ".nan", "1923-05-01", "null", "Null", "="),
        *("240/11", "13:20 /1000ft"),
    ],
)
def test_a_scalar_stays_the_text_that_was_written(text: str) -> None:
    assert {"a": text, text: "b"} == read(f"a: {text}\n{text}: b\n", PATH).plain()


def test_a_bare_empty_value_or_tilde_is_nothing_and_quotes_make_it_a_text() -> None:
    tree = read("a:\nb: ~\nc: ''\nd: \"~\"\n", PATH)

    assert tree.plain() == {"a": None, "b": None, "c": "", "d": "~"}
    assert [(row[0], row[1]) for row in told("a:\nb: ~\nc: ''\n")] == [(1, 1), (2, 1)]
    assert tree.findings[0].text == 'nothing is written after "a"'


def test_a_tree_knows_the_place_of_every_key_and_value() -> None:
    tree = read("film: x\nreels:\n  - reel: 1\n    scan: é☃.mkv\n  - {reel: 2}\n", PATH)

    def at(*path: str | int, key: bool = False) -> tuple[int, int]:
        place = tree.place(path, key=key)
        return place.line, place.column

    assert at("film") == (1, 7)
    assert at("film", key=True) == (1, 1)
    assert at("reels", 0, "scan") == (4, 11)
    assert at("reels", 0, "scan", key=True) == (4, 5)
    assert at("reels", 1, "reel") == (5, 12)
    assert at() == (1, 1)


def test_what_is_missing_stands_at_the_key_or_item_that_should_hold_it() -> None:
    tree = read("a: {b: 1}\nc:\n  - {d: 2}\n", PATH)

    assert str(tree.place(("a", "x"))) == "doc.yaml:1:1"
    assert str(tree.place(("c", 0, "x"))) == "doc.yaml:3:5"
    assert str(tree.place(("a", "b", "x"))) == "doc.yaml:1:8"
    assert [
        tree.has(("a", "b")),
        tree.has(("c", 0)),
        tree.has(("c", 1)),
        tree.has(("a", "b", "x")),
    ] == [True, True, False, False]


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_lines_are_counted_as_editors_do_whatever_ends_them(newline: str) -> None:
    tree = read(
        newline.join(["a: 1", "# an editor goes on \u2028# with this line", "b: 2", ""]), PATH
    )

    assert str(tree.place(("b",))) == "doc.yaml:3:4"


def test_a_byte_order_mark_is_passed_over() -> None:
    tree = read(b"\xef\xbb\xbfa: 1\n", PATH)

    assert tree.plain() == {"a": "1"}
    assert str(tree.place(("a",))) == "doc.yaml:1:4"


def test_the_digest_is_that_of_the_bytes() -> None:
    # by the sha256sum program, on a file of these bytes
    expected = "37b128c59f1f5097f73f82691cb519f1f568667faab5ced1b4ab979d36837eae"

    assert expected == read(b"a: 1\n", PATH).sha256
    assert expected == read("a: 1\n", PATH).sha256


def test_an_alias_stands_for_what_its_anchor_names() -> None:
    tree = read("a: &x {b: 1}\nc: *x\nd: [*x, *x]\n", PATH)

    assert tree.plain() == {"a": {"b": "1"}, "c": {"b": "1"}, "d": [{"b": "1"}, {"b": "1"}]}


BAD = [
    ("", 1, 1, "empty", "is empty"),
    ("# only a comment\n", 1, 1, "empty", "is empty"),
    ("---\n", 1, 1, "empty", "is empty"),
    ("just words\n", 1, 1, "root", "has no keys"),
    ("\n- a\n- b\n", 2, 1, "root", "has no keys"),
    ("a: 1\n\nb: 2\na: 3\n", 4, 1, "repeated-key", '"a" is repeated; it first stands on line 1'),
    ("a:\n  b: 1\n  'b': 2\n", 3, 3, "repeated-key", '"b" is repeated'),
    ("a: {1: x, 1: y}\n", 1, 11, "repeated-key", '"1" is repeated'),
    ("a: 1\n? [b, c]\n: d\n", 2, 3, "key", "a key must be a text"),
    ("a: 1\n{b: c}: d\n", 2, 1, "key", "a key must be a text"),
    ("a: &x b\n*x : c\n", 2, 1, "key", "the alias *x"),
    ("&x a: 1\n", 1, 1, "key", "has an anchor"),
    ("a: &x {b: 1}\nc:\n  <<: *x\n", 3, 3, "key", "merge keys"),
    ("~: 1\n", 1, 1, "key", "a key is missing"),
    ("a: 1\n?\n: 2\n", 2, 2, "key", "a key is missing"),
    ("a:\n  - 1\n  -\n", 3, 4, "empty-value", "nothing is written in this item"),
    ("a: !!python/object/apply:os.system [ls]\n", 1, 4, "tag", "!!python/object/apply:os.system"),
    ("a: !!float 20\n", 1, 4, "tag", "!!float"),
    ("a: ! 20\n", 1, 4, "tag", '"!"'),
    ("a: *nobody\n", 1, 4, "alias", "nothing above is named &nobody"),
    ("*nobody\n", 1, 1, "alias", "nothing above is named &nobody"),
    ("a: &x\n  b: *x\n", 2, 6, "alias", "stands inside what it stands for"),
    ("a: 1\n---\nb: 2\n", 2, 1, "documents", "a second document"),
    ("a: 1\nb: [1, 2\nc: 3\n", 3, 2, "syntax", "did not find expected ',' or ']'"),
    ("a: 1\n\tb: 2\n", 2, 1, "syntax", "a tab character that violates indentation"),
    ("a:\n\t- b\n", 2, 1, "syntax", "cannot start any token"),
    ("a: b: c\n", 1, 5, "syntax", "mapping values are not allowed"),
    ('a: "x\n', 1, 4, "syntax", "unexpected end of stream"),
    ("%YAML 3.0\n---\na: 1\n", 1, 1, "syntax", "incompatible"),
    (b"a: 1\nb: caf\xe9\n", 2, 7, "encoding", "the byte 0xe9 is not UTF-8"),
    ("a: 1\n".encode("utf-16"), 1, 1, "encoding", "is not UTF-8"),
    ("a: 1\nb: x\x00y\n", 2, 5, "encoding", "U+0000"),
    ("a: \ud800\n", 1, 4, "encoding", "is not UTF-8"),
]


@pytest.mark.parametrize(("source", "line", "column", "rule", "text"), BAD)
def test_text_that_is_no_document_is_told_with_its_place(
    source: str | bytes, line: int, column: int, rule: str, text: str
) -> None:
    first = told(source)[0]

    assert (line, column, rule) == first[:3]
    assert text in first[3]


def test_mistakes_that_can_be_read_past_are_all_told() -> None:
    source = "a: 1\na: 2\nb: !x 3\nc:\n<<: 4\nd: [\n"

    assert [row[2] for row in told(source)] == [
        "repeated-key",
        "tag",
        "empty-value",
        "key",
        "syntax",
    ]


def test_a_repeated_key_keeps_the_first_value() -> None:
    assert read("a: 1\na: {b: [2]}\n", PATH).plain() == {"a": "1"}


def test_too_many_mistakes_end_the_reading() -> None:
    rows = told("a: 1\n" * 100_000)

    assert len(rows) == 201
    assert rows[-1][2] == "too-many-findings"


@pytest.mark.parametrize("opening", ["[", "- ", "{a: ", "a:\n"])
def test_ten_megabytes_of_nesting_are_refused_at_their_first_lines(opening: str) -> None:
    if opening == "a:\n":
        source = "".join(" " * level + "a:\n" for level in range(2_000))
    else:
        source = "a: " * (opening == "[") + opening * (10_000_000 // len(opening))
    (*_, rule, text) = told(source)[-1]

    assert rule == "nesting"
    assert f"nested more than {MOST_LEVELS} levels deep" == text


def test_fifty_levels_are_read_and_the_next_is_not() -> None:
    def nested(levels: int) -> str:
        return "a: " + "[" * (levels - 1) + "x" + "]" * (levels - 1)

    assert told(nested(MOST_LEVELS)) == []
    assert told(nested(MOST_LEVELS + 1))[0][2] == "nesting"


def test_levels_are_counted_through_aliases() -> None:
    lines = ["a0: &a0 [x]", *(f"a{n}: &a{n} [*a{n - 1}]" for n in range(1, 100))]

    assert (told("\n".join(lines))[0][0], told("\n".join(lines))[0][2]) == (50, "nesting")


def test_an_alias_bomb_is_refused_where_it_goes_off() -> None:
    lines = ["a: &a [x, x, x, x, x, x, x, x, x, x]"]
    lines += [
        f"{name}: &{name} [{', '.join([f'*{before}'] * 10)}]"
        for before, name in zip("abcdefgh", "bcdefghi", strict=True)
    ]
    (line, _, rule, text) = told("\n".join(lines))[0]

    assert (line, rule) == (6, "too-many-values")
    assert f"more than {MOST_VALUES:,} values" in text


def test_values_are_counted_without_aliases_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("retime.yamldoc.builder.MOST_VALUES", 6)

    assert told("a: [b, c, d]") == []
    assert told("a: [b, c, d, e]")[0][:3] == (1, 14, "too-many-values")


def test_a_file_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    for path in [tmp_path / "missing.yaml", tmp_path, tmp_path / "a\0b"]:
        with pytest.raises(DocumentError) as caught:
            load(path)
        (finding,) = caught.value.findings

        assert finding.rule == "unreadable"
        assert str(path) == str(finding.place)


def test_a_file_over_16_megabytes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    path.write_bytes(b"a: " + b"x" * MOST_BYTES)
    with pytest.raises(DocumentError, match="larger than 16 MB"):
        load(path)


def test_a_file_is_read_as_its_text_is(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: 1\n", encoding="utf-8")

    assert read("a: 1\n", path) == load(path)


@given(st.text() | st.text("ab:-[]{}&*!?|>'\"#%@,~<= \n\t0") | st.binary())
def test_anything_is_a_tree_or_a_document_error(source: str | bytes) -> None:
    assert all("\n" not in row[3] for row in told(source))


@given(
    st.dictionaries(
        st.from_regex(r"[a-z]{1,9}", fullmatch=True),
        st.from_regex(r"[0-9:./]{1,9}", fullmatch=True),
    )
)
def test_plain_keys_and_values_come_back_as_they_were_written(values: dict[str, str]) -> None:
    source = "x: y\n" + "".join(f"k{key}: '{value}'\n" for key, value in values.items())
    tree = read(source, PATH)

    assert {"x": "y", **{f"k{key}": value for key, value in values.items()}} == tree.plain()
    for line, key in enumerate(values, start=2):
        node = tree.root.entries[f"k{key}"].node
        assert isinstance(node, Scalar)
        assert line == tree.place((f"k{key}",)).line
