"""Texts spoiled: valid files with bytes flipped, spans cut, doubled and spliced, figures made
huge, words exchanged, odd characters put in; and documents with a part replaced by another.
"""  # noqa: D205 - one sentence

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any, NamedTuple

import yaml
from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

__all__ = ["made_of", "rearranged", "spoiled"]

_WHERE = 1 << 16
HUGE = (
    *("9" * 9, "9" * 10, "9" * 18, "9" * 400, "9" * 5000, "0", "-1", "1e999", "0x10", "1_000"),
    *("00000000000000000018", "18446744073709551616", "1/0", "0/1", ".nan", "-.inf", "1e-999"),
)
ODD = (
    *(
        "\0",
        "\x1a",
        "\x1b[0m",
        "\x7f",
        "\x85",
        "\r",
        "\r\n",
        "\n",
        "\n\n",
        "\t",
        "\u00a0",
        "\u2028",
    ),
    *("\ufeff", "\ufffe", "\u202e", "\u0660", "\u00b2", "\u2460", "\u0130", "\u212a", "\U0001f39e"),
    *("e\u0301", "\u1e9e", "\ud7ff", "\ue000", "\U0010ffff", "\u3000", "\x0b", "\x0c", "\x1c"),
)
SIGNS = (
    *"\"'`[]{}()<>&*!|%@#,:;?-+=~/\\. 0",
    *("<<", "-->", "->", "---", "...", "&a", "*a", "%s%n", "{{}}", "]]>", "<![CDATA["),
    *("!!python/object/apply:os.system [x]", "<!DOCTYPE a ["),
)
_DEEP = ("[" * 60, "{a: " * 60, "- " * 60, "<p>" * 60, "(" * 2000, "[" * 5000, '"' * 99, "  " * 999)
_BYTES = (b"\xff", b"\xfe\xff", b"\xff\xfe", b"\xed\xa0\x80", b"\xc0\x80", b"\xf4\x90\x80\x80")
PIECES = (*(one.encode() for one in (*HUGE, *ODD, *SIGNS, *_DEEP)), *_BYTES)

_NUMBER = re.compile(rb"[0-9]+(?:[.][0-9]+)?")
_WORD = re.compile(rb"[\w./+-]+")
_LINE_END = re.compile(rb"\r\n|\n|\r")


class _Change(NamedTuple):
    """One thing that is done to a text: ``at`` and ``far`` are places, of 65,536."""

    how: Callable[[bytes, _Change, bytes], bytes]
    at: int
    far: int
    piece: bytes


def _place(length: int, at: int) -> int:
    return at * length // _WHERE


def _span(data: bytes, change: _Change) -> tuple[int, int]:
    """Return a span of the text, mostly a short one."""
    first = _place(len(data), change.at)
    share = (change.far / _WHERE) ** 4
    return first, first + 1 + int(share * (len(data) - first))


def _flip(data: bytes, change: _Change, _other: bytes) -> bytes:
    at = min(_place(len(data), change.at), max(0, len(data) - 1))
    return (
        data[:at]
        + bytes(one ^ (1 + change.far % 255) for one in data[at : at + 1])
        + data[at + 1 :]
    )


def _cut(data: bytes, change: _Change, _other: bytes) -> bytes:
    first, stop = _span(data, change)
    return data[:first] + data[stop:]


def _double(data: bytes, change: _Change, _other: bytes) -> bytes:
    first, stop = _span(data, change)
    return data[:stop] + data[first:]


def _splice(data: bytes, change: _Change, other: bytes) -> bytes:
    first, stop = _span(other, change)
    at = _place(len(data), change.far)
    return data[:at] + other[first:stop] + data[at:]


def _graft(data: bytes, change: _Change, other: bytes) -> bytes:
    return data[: _place(len(data), change.at)] + other[_place(len(other), change.far) :]


def _insert(data: bytes, change: _Change, _other: bytes) -> bytes:
    at = _place(len(data), change.at)
    return data[:at] + change.piece + data[at:]


def _figure(data: bytes, change: _Change, _other: bytes) -> bytes:
    return _put(data, _NUMBER, change.at, HUGE[change.far % len(HUGE)].encode())


def _word(data: bytes, change: _Change, other: bytes) -> bytes:
    """Put another word of one of the two texts in the place of a word."""
    words = _WORD.findall(other if change.far % 2 else data)
    return _put(data, _WORD, change.at, words[_place(len(words), change.far)]) if words else data


def _replace(data: bytes, change: _Change, _other: bytes) -> bytes:
    return _put(data, _WORD, change.at, change.piece)


def _put(data: bytes, sought: re.Pattern[bytes], at: int, piece: bytes) -> bytes:
    found = list(sought.finditer(data))
    if not found:
        return data
    one = found[_place(len(found), at)]
    return data[: one.start()] + piece + data[one.end() :]


def _line(data: bytes, change: _Change, _other: bytes) -> bytes:
    """Move a line to another place."""
    lines = data.split(b"\n")
    line = lines.pop(_place(len(lines), change.at))
    lines.insert(_place(len(lines) + 1, change.far), line)
    return b"\n".join(lines)


def _ends(data: bytes, change: _Change, _other: bytes) -> bytes:
    return _LINE_END.sub((b"\r", b"\r\n", b"\n\r", b"\x85", b"\n\n", b" ")[change.far % 6], data)


def _coded(data: bytes, change: _Change, _other: bytes) -> bytes:
    codec = ("utf-16", "utf-16-le", "utf-32", "utf-8-sig", "utf-7")[change.far % 5]
    return data.decode(errors="replace").encode(codec)


_WAYS = (_flip, _cut, _double, _splice, _graft, _insert, _figure, _word, _replace, _line)
_RARE = (_ends, _coded)
_CHANGES = st.builds(
    _Change,
    st.sampled_from((*_WAYS, *_WAYS, *_WAYS, *_RARE)),
    st.integers(0, _WHERE - 1),
    st.integers(0, _WHERE - 1),
    st.sampled_from(PIECES),
)


def spoiled(texts: Sequence[bytes]) -> st.SearchStrategy[bytes]:
    """Draw one of the texts with one to six changes; splices are taken from any of them."""
    return st.builds(
        _spoil,
        st.sampled_from(texts),
        st.lists(_CHANGES, min_size=1, max_size=6),
        st.sampled_from(texts),
    )


def _spoil(data: bytes, changes: Sequence[_Change], other: bytes) -> bytes:
    for change in changes:
        data = change.how(data, change, other)
    return data


def made_of(words: Sequence[str], *, before: Sequence[str] = ("",)) -> st.SearchStrategy[bytes]:
    """Draw a text put together from words of a notation, odd ones and others, behind a head."""
    usual = st.sampled_from(words)
    word = st.one_of(
        usual, usual, usual, st.sampled_from((*HUGE, *ODD, *SIGNS)), st.text(max_size=5)
    )
    return st.builds(
        lambda head, body: (head + "".join(body)).encode("utf-8", "surrogatepass"),
        st.sampled_from(before),
        st.lists(word, max_size=60),
    )


def rearranged(texts: Sequence[bytes], *, as_json: bool = False) -> st.SearchStrategy[bytes]:
    """Draw a document with one to three of its parts replaced: by others, or by odd ones."""
    plain = [(json.loads if as_json else yaml.safe_load)(one) for one in texts]
    words = sorted({word for one in plain for word in _words(one)})
    scalars = st.one_of(
        st.sampled_from(words),
        st.sampled_from(words),
        st.sampled_from((*HUGE, *ODD, *SIGNS)),
        st.integers(),
        st.floats(),
        st.none(),
        st.booleans(),
        st.text(max_size=8),
    )
    values = st.recursive(
        scalars,
        lambda inner: (
            st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(words), inner, max_size=4)
        ),
        max_leaves=8,
    )
    changes = st.lists(st.tuples(st.integers(0, _WHERE - 1), values), min_size=1, max_size=3)
    return st.builds(_rearrange, st.sampled_from(plain), changes, st.just(as_json))


def _rearrange(plain: Any, changes: Sequence[tuple[int, Any]], as_json: bool) -> bytes:  # noqa: FBT001
    for at, value in changes:
        paths = list(_paths(plain))
        plain = _with(plain, paths[_place(len(paths), at)], value)
    if as_json:
        return json.dumps(plain).encode()
    text = yaml.dump(plain, Dumper=_Plain, allow_unicode=True, sort_keys=False)
    return text.encode("utf-8", "surrogatepass")


class _Plain(yaml.CSafeDumper):
    """Writes everything out, without anchors."""

    def ignore_aliases(self, _data: Any) -> bool:
        return True


def _words(plain: Any) -> set[str]:
    match plain:
        case dict():
            inner = [_words(one) for one in plain.values()]
            return {str(key) for key in plain}.union(*inner)
        case list():
            return set().union(*(_words(one) for one in plain))
        case _:
            return {str(plain)}


def _paths(plain: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the ways to all parts of a document, but for the whole."""
    steps: Mapping[Any, Any] | dict[int, Any] = {}
    if isinstance(plain, dict):
        steps = plain
    elif isinstance(plain, list):
        steps = dict(enumerate(plain))
    found = [path] if path or not steps else []
    for step, inner in steps.items():
        found += _paths(inner, (*path, step))
    return found


def _with(plain: Any, path: tuple[Any, ...], value: Any) -> Any:
    if not path:
        return value
    copy = dict(plain) if isinstance(plain, dict) else list(plain)
    copy[path[0]] = _with(plain[path[0]], path[1:], value)
    return copy
