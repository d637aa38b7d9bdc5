"""YAML text in, a located tree out; every way in which text can be hostile ends in a finding.

Read are YAML's mappings, lists and scalars in one document of UTF-8. Refused are tags, merge keys,
repeated keys, keys that are no text, empty values, several documents, and whatever would cost
more than it says: see the limits here and in ``retime.yamldoc.builder``.
"""

from __future__ import annotations

import hashlib
import stat
from contextlib import suppress
from typing import TYPE_CHECKING

import yaml
from yaml.reader import Reader

from retime.errors import DocumentError
from retime.findings import Finding, TextPlace
from retime.yamldoc.builder import MOST_LEVELS, Builder
from retime.yamldoc.lines import Lines
from retime.yamldoc.tree import Tree

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["MOST_BYTES", "load", "read", "read_bytes", "read_named", "utf8"]

MOST_BYTES = 16_000_000

_NOT_YAML = Reader.NON_PRINTABLE  # YAML 1.1, 5.1; to compile it once more takes 8 ms
_NEVER_CLOSED = "found unexpected end of stream"
_HINTS = {
    "found character that cannot start any token": (
        "indent with spaces, not tabs, and put a text that begins with @, % or ` in quotes"
    ),
    "mapping values are not allowed in this context": (
        'put a text that holds ": " in quotes, and indent the keys of one level alike'
    ),
    _NEVER_CLOSED: "close the quotes",
    "found unknown escape character": "write a backslash twice, or use single quotes",
}


def load(path: Path) -> Tree:
    """Read the document in the regular file at ``path``.

    Raises:
        DocumentError: the file cannot be opened, or ``read`` refuses what it holds.
    """
    return read(read_named(path), path)


def read(source: str | bytes, path: Path) -> Tree:
    """Read ``source``; ``path`` names it in messages, and its digest is that of the bytes.

    The tree carries the findings of what could be read past; ``validate`` raises them.

    Raises:
        DocumentError: there is no tree to be had from this.
    """
    data = source if isinstance(source, bytes) else source.encode("utf-8", "surrogatepass")
    text = utf8(data, path)
    bad = _NOT_YAML.search(text)
    if bad:
        what = f"the character U+{ord(bad[0]):04X} may not stand in a document"
        place = Lines.of(text, path).place(bad.start())
        raise _error(place, "encoding", what, "take it out")
    lines = Lines.of(text, path)
    builder = Builder(lines)
    try:
        root = builder.build(yaml.parse(text, Loader=yaml.CSafeLoader))
    except yaml.MarkedYAMLError as error:
        raise DocumentError([*builder.findings, _complaint(error, lines)]) from None
    return Tree(
        lines=lines,
        sha256=hashlib.sha256(data).hexdigest(),
        root=root,
        findings=tuple(builder.findings),
    )


def read_bytes(path: Path) -> bytes:
    """Return what the file at ``path`` holds, at most 16 MB.

    Raises:
        DocumentError: it cannot be opened, or holds more.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:  # a path that holds a zero byte is a ValueError
        reason = getattr(error, "strerror", None) or str(error)
        text = f"the file cannot be read: {reason[:1].lower()}{reason[1:]}"
        raise _error(TextPlace(path=path), "unreadable", text) from error
    if len(data) > MOST_BYTES:
        text = f"the file is larger than {MOST_BYTES // 1_000_000} MB"
        raise _error(TextPlace(path=path), "too-large", text)
    return data


def read_named(path: Path) -> bytes:
    """Return what the file at ``path`` holds, which a document names and no person.

    Nobody who reads a document waits for a pipe or a terminal that it names.

    Raises:
        DocumentError: as ``read_bytes``, or it is no regular file.
    """
    with suppress(OSError, ValueError):  # which ``read_bytes`` tells
        mode = path.stat().st_mode
        if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
            raise _error(TextPlace(path=path), "unreadable", "this is no regular file")
    return read_bytes(path)


def utf8(data: bytes, path: Path) -> str:
    """Return the text that ``data`` is in UTF-8, without its byte order mark.

    Raises:
        DocumentError: it is not UTF-8; the finding points at the first byte that is not.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        head = data[: error.start].decode("utf-8-sig", "replace")
        what = f"the byte 0x{error.object[error.start]:02x} is not UTF-8"
        place = Lines.of(head, path).place(len(head))
        raise _error(place, "encoding", what, "save the file as UTF-8") from None


def _complaint(error: yaml.MarkedYAMLError, lines: Lines) -> Finding:
    """Return the parser's own complaint as a finding."""
    problem = error.problem or "this cannot be read"
    context = f" {error.context}" if error.context else ""
    mark = error.problem_mark or error.context_mark
    if problem == _NEVER_CLOSED:  # which is noticed at the end of the file
        mark = error.context_mark or mark
    place = lines.place(mark.index if mark else 0)
    if "nesting depth" in problem:  # the parser looks ahead, and may give up before our walk does
        text = f"nested more than {MOST_LEVELS} levels deep"
        return Finding(place=place, rule="nesting", text=text)
    text = f"this is not YAML: {problem}{context}"
    return Finding(place=place, rule="syntax", text=text, hint=_HINTS.get(problem, ""))


def _error(place: TextPlace, rule: str, text: str, hint: str = "") -> DocumentError:
    return DocumentError([Finding(place=place, rule=rule, text=text, hint=hint)])
