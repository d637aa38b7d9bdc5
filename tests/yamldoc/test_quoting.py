from __future__ import annotations

from retime.yamldoc.quoting import listed, nearest, quoted, suggestion


def test_a_quoted_text_stays_on_one_line_and_is_cut() -> None:
    assert quoted("a b") == '"a b"'
    assert quoted("a\nb\x07\u2028") == r'"a\nb\x07\u2028"'
    assert f'"{"x" * 60}..."' == quoted("x" * 10_000_000)


def test_a_long_list_of_words_is_cut_at_twelve() -> None:
    assert listed(["a", "b"]) == "a, b"
    assert listed(str(n) for n in range(14)).endswith("11 and 2 more")


def test_the_nearest_word_is_found_whatever_its_letter_case() -> None:
    assert nearest("reel", ["Reels", "shots"]) == "Reels"
    assert nearest("SHOTS", ["Reels", "shots"]) == "shots"
    assert nearest("versions", ["Reels", "shots"]) is None
    assert nearest("x" * 10_000, ["x" * 9_999]) is None


def test_a_hint_gives_the_nearest_word_else_all_of_them() -> None:
    assert suggestion("sped", ["speed", "runtime"]) == 'did you mean "speed"?'
    assert suggestion("zzz", ["speed", "runtime"]) == "known here: speed, runtime"
    assert suggestion("zzz", []) == ""
