"""Files of subtitles, read by the ending of their names."""

from __future__ import annotations

import codecs
from typing import TYPE_CHECKING

from retime.errors import DocumentError
from retime.findings import Finding, TextPlace
from retime.follow.subtitle_document import Encoding, SubtitleDocument, SubtitleKind
from retime.follow.subtitles_ass import read_ass
from retime.follow.subtitles_srt import read_srt
from retime.follow.subtitles_ttml import read_ttml
from retime.follow.subtitles_vtt import read_vtt
from retime.yamldoc.lines import Lines
from retime.yamldoc.quoting import listed, quoted
from retime.yamldoc.reading import read_named, utf8

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

__all__ = ["KINDS", "MOST_BYTES", "bounded", "decoded", "read_subtitles", "subtitles_in"]

MOST_BYTES = 10_000_000

KINDS: Mapping[str, SubtitleKind] = {
    ".srt": SubtitleKind.SRT,
    ".vtt": SubtitleKind.VTT,
    ".ass": SubtitleKind.ASS,
    ".ssa": SubtitleKind.ASS,
    ".ttml": SubtitleKind.TTML,
    ".dfxp": SubtitleKind.TTML,
    ".xml": SubtitleKind.TTML,
}
"""The endings of names, in small letters."""

_READERS: Mapping[SubtitleKind, Callable[[str, Path, Encoding], SubtitleDocument]] = {
    SubtitleKind.SRT: read_srt,
    SubtitleKind.VTT: read_vtt,
    SubtitleKind.ASS: read_ass,
    SubtitleKind.TTML: read_ttml,
}
_UTF16 = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


def read_subtitles(path: Path, kind: SubtitleKind | None = None) -> SubtitleDocument:
    """Read the subtitles in the file at ``path``, of the kind that its name ends with if None.

    Raises:
        DocumentError: it cannot be opened, is larger than 10 MB, of no known kind or encoding, or
            holds mistakes, each in a finding.
    """
    if kind is None:
        kind = KINDS.get(path.suffix.lower())
    if kind is None:
        text = f"the ending {quoted(path.suffix)} names no kind of subtitles that is read"
        finding = Finding(place=TextPlace(path=path), rule="kind", text=text, hint=listed(KINDS))
        raise DocumentError([finding])
    return subtitles_in(bounded(path), path, kind)


def subtitles_in(data: bytes, path: Path, kind: SubtitleKind) -> SubtitleDocument:
    """Read the subtitles in ``data``; ``path`` names it in messages.

    Raises:
        DocumentError: as ``read_subtitles``.
    """
    text, encoding = decoded(data, path)
    return _READERS[kind](text, path, encoding)


def bounded(path: Path) -> bytes:
    """Return what a file holds, at most 10 MB.

    Raises:
        DocumentError: it cannot be opened, or holds more.
    """
    data = read_named(path)
    if len(data) > MOST_BYTES:
        text = f"the file is larger than {MOST_BYTES // 1_000_000} MB"
        raise DocumentError([Finding(place=TextPlace(path=path), rule="too-large", text=text)])
    return data


def decoded(data: bytes, path: Path) -> tuple[str, Encoding]:
    """Return the text in ``data``: UTF-8, or UTF-16 that begins with its byte order mark.

    Raises:
        DocumentError: it is neither, at the first character that is not.
    """
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise _not_text(path, "", "the file is UTF-32")
    mark = data[:2]
    if mark in _UTF16:
        encoding = Encoding(codec=_UTF16[mark], mark=mark)
        text = _utf16(data[2:], path, encoding.codec)
    else:
        signed = data.startswith(codecs.BOM_UTF8)
        encoding = Encoding(codec="utf-8", mark=codecs.BOM_UTF8 if signed else b"")
        text = utf8(data, path)
    zero = text.find("\0")
    if zero >= 0:
        raise _not_text(path, text[:zero], "a zero byte is no text")
    return text, encoding


def _utf16(data: bytes, path: Path, codec: str) -> str:
    try:
        return data.decode(codec)
    except UnicodeDecodeError as error:
        head = data[: error.start].decode(codec, "replace")
        raise _not_text(path, head, "what stands here is not UTF-16") from None


def _not_text(path: Path, head: str, text: str) -> DocumentError:
    """Return the error about what comes after ``head``."""
    place = Lines.of(head, path).place(len(head))
    hint = "save the file as UTF-8, or as UTF-16 with its byte order mark"
    return DocumentError([Finding(place=place, rule="encoding", text=text, hint=hint)])
