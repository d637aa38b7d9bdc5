"""TTML, after the W3C's "Timed Text Markup Language 1", sections 6.2, 10 and 12.

A cue is a paragraph with times of its own, or a span with such in a paragraph without; times
inside a cue count from where it begins, and go with it. Attributes, styles and regions are kept.
Read are media times: clock times, offsets, frames and ticks. Refused, each at its place, are
recorded timecode, times of whole divisions, and sequences, which need more than other times to
follow a film; and document types, which can make little text mean much.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, NoReturn
from xml.parsers import expat

from msgspec import Struct, field

from retime.errors import NotationError
from retime.follow.cues import Cue
from retime.follow.subtitle_document import (
    Block,
    Encoding,
    Field,
    SubtitleDocument,
    SubtitleKind,
)
from retime.follow.subtitle_scan import Reading, Scan
from retime.follow.subtitle_tags import TIMES, Tag
from retime.follow.subtitle_ttml_clock import TtmlClock
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["read_ttml"]

_NAMESPACE = re.compile(r"http://www\.w3\.org/(?:ns/ttml|20[0-9]{2}/[0-9]{2}/ttaf1)")
_MOST_LEVELS = 50
_SPACES = re.compile(r"[ \t\r\n]+")
_AROUND_BREAK = re.compile(r" ?\n ?")
_BREAK = "\x00"
"""Stands for a line break among words until white space is put in order; XML cannot hold it."""


def read_ttml(text: str, path: Path, encoding: Encoding) -> SubtitleDocument:
    """Read TTML.

    Raises:
        DocumentError: it holds mistakes, each in a finding.
    """
    reading = _Reading(Scan(text, path, "ttml"), encoding)
    reading.read()
    return reading.document(
        SubtitleKind.TTML,
        encoding,
        resolution=Fraction(1, 1000),
        moves=False,
        gap=reading.scan.line_break,
    )


class _Cue(Struct):
    """A cue while it is read; its times count from the film's begin."""

    tag: Tag
    times: list[Fraction] = field(default_factory=list)
    fields: list[Field] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


class _Element(Struct):
    """An element that is open; ``base`` is which of the cue's times those inside count from."""

    name: str
    tag: Tag
    base: int = 0
    cue: _Cue | None = None
    silent: bool = False


class _Reading(Reading):
    """A document while the parser walks through it."""

    def __init__(self, scan: Scan, encoding: Encoding) -> None:
        super().__init__(scan)
        self.encoding = encoding
        self.clock = TtmlClock()
        self.open: list[_Element] = []
        self.cue: _Cue | None = None
        self.loose = False
        self._parser = self._made()
        self._data = scan.text.encode()
        self._offset = self._byte = 0

    def _made(self) -> expat.XMLParserType:
        parser = expat.ParserCreate("utf-8", namespace_separator=" ")
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._words
        parser.StartDoctypeDeclHandler = self._document_type
        parser.XmlDeclHandler = self._declaration
        return parser

    def read(self) -> None:
        scan = self.scan
        try:
            self._parser.Parse(self._data, True)
        except expat.ExpatError as error:
            head = self._data[: self._parser.ErrorByteIndex]
            text = f"this is not XML: {expat.ErrorString(error.code)}"
            scan.error(len(head.decode(errors="ignore")), text)
            return
        if not self.cues:
            scan.error(0, "there is no cue in the document", "give paragraphs begin and end")

    def _at(self) -> int:
        """Return where the parser is, as an offset into the text."""
        byte = self._parser.CurrentByteIndex
        self._offset += len(self._data[self._byte : byte].decode())
        self._byte = byte
        return self._offset

    def _declaration(self, _version: str, encoding: str | None, _alone: int) -> None:
        said = (encoding or "").casefold()
        known = ("utf-16",) if self.encoding.codec.startswith("utf-16") else ("utf-8", "us-ascii")
        if said and not said.startswith(known):
            text = f"the document says that it is {quoted(said)}, and is {known[0].upper()}"
            self.scan.error(self._at(), text, "save the file as UTF-8, and let it say so")

    def _document_type(self, *_: object) -> NoReturn:
        at = self.scan.text.rfind("<!DOCTYPE", 0, self._at() + 1)
        self.scan.error(max(0, at), "a document type is not read", "take <!DOCTYPE ...> out")
        self.scan.findings(())
        raise AssertionError

    def _start(self, name: str, attributes: Mapping[str, str]) -> None:
        tag = Tag.at(self.scan.text, self._at())
        if len(self.open) == _MOST_LEVELS:
            self.scan.stop_at(tag.start, f"nested more than {_MOST_LEVELS} levels deep")
        space, _, local = name.rpartition(" ")
        if not self.open:
            self._root(space, local, tag, attributes)
        above = self.open[-1] if self.open else _Element("", tag)
        element = _Element(local, tag, base=above.base)
        element.silent = above.silent or local == "head" or space.endswith("#metadata")
        self.open.append(element)
        if tag.attributes.get("timeContainer", ("par",))[0] != "par":
            text = "times in a sequence depend on one another"
            self.scan.error(tag.start, text, "write them with a begin and an end each")
        elif tag.timed:
            self._timed(element)
        if local == "br" and self.cue is not None:
            self.cue.words.append(_BREAK)

    def _root(self, space: str, local: str, tag: Tag, attributes: Mapping[str, str]) -> None:
        if local != "tt" or _NAMESPACE.fullmatch(space) is None:
            text = f"this is a document of {quoted(f'{space} {local}'.strip())}, and no TTML"
            self.scan.error(tag.start, text, 'it begins <tt xmlns="http://www.w3.org/ns/ttml">')
        parameters = {
            key.rpartition(" ")[2]: value
            for key, value in attributes.items()
            if key.rpartition(" ")[0].endswith("#parameter")
        }
        try:
            self.clock = TtmlClock.of(parameters)
        except NotationError as error:
            self.scan.error(tag.start, error.text, error.hint)

    def _timed(self, element: _Element) -> None:
        """Take an element that has times of its own."""
        if self.cue is not None:
            self._inside(element, self.cue)
        elif element.name in {"body", "div"}:
            self._division(element.tag)
        elif element.name in {"p", "span"} and not element.silent:
            self._open_cue(element)
        else:
            text = f"the times of this <{element.name}> are left as they are"
            self.scan.warn(element.tag.start, "ttml-times", text)

    def _division(self, tag: Tag) -> None:
        """Refuse times of a division, but for one that begins it with the film."""
        for name in TIMES & tag.attributes.keys():
            read = self._read(tag, name)
            if read is not None and (name != "begin" or read[0]):
                text = f"{name} stands at a whole division"
                self.scan.error(read[1].span[0], text, "write it at each paragraph")

    def _read(
        self, tag: Tag, name: str, at: int = 0, since: int | None = None
    ) -> tuple[Fraction, Field] | None:
        """Return the time in an attribute and its field; None if it is no time or not there."""
        if name not in tag.attributes:
            return None
        text, span = tag.attributes[name]
        found = self.scan.time(text, span[0], self.clock.read)
        return found and (found[0], Field(span=span, style=found[1], at=at, since=since))

    def _open_cue(self, element: _Element) -> None:
        tag = element.tag
        self.cue = element.cue = cue = _Cue(tag)
        begin, end, lasts = (
            self._read(tag, "begin"),
            self._read(tag, "end", at=1),
            self._read(tag, "dur", at=1, since=0),
        )
        for lacking, one_of in (("begin", {"begin"}), ("end", {"end", "dur"})):
            if one_of.isdisjoint(tag.attributes):
                what = f"this <{element.name}> has no {lacking}"
                self.scan.error(tag.start, what, "give it begin and end, or begin and dur")
        if begin is None or (end is None and lasts is None):
            return
        ends = [end[0]] if end else []
        ends += [begin[0] + lasts[0]] if lasts else []
        last = end or lasts
        if last is None or not self.scan.ordered(begin[0], min(ends), last[1].span[0]):
            return
        cue.times = [begin[0], min(ends)]
        cue.fields = [one[1] for one in (begin, end, lasts) if one]

    def _inside(self, element: _Element, cue: _Cue) -> None:
        """Take times inside a cue, which count from the begin of what they are in."""
        if not cue.times:
            return
        above = element.base
        begin = self._read(element.tag, "begin", at=len(cue.times), since=above)
        if begin is not None:
            element.base = len(cue.times)
            cue.times.append(cue.times[above] + begin[0])
            cue.fields.append(begin[1])
        for name, since in (("end", above), ("dur", element.base)):
            found = self._read(element.tag, name, at=len(cue.times), since=since)
            if found is not None:
                cue.times.append(cue.times[since] + found[0])
                cue.fields.append(found[1])

    def _words(self, words: str) -> None:
        if self.cue is not None:
            if not self.open[-1].silent:
                self.cue.words.append(words)
        elif words.strip() and any(one.name == "p" for one in self.open):
            self.loose = True

    def _end(self, _name: str) -> None:
        at = self._at()
        element = self.open.pop()
        if element.cue is not None:
            self._close_cue(element.cue, at)
            self.cue = None
        elif element.name == "p" and self.loose:
            text = "words in this paragraph have no time, and are left as they are"
            self.scan.warn(element.tag.start, "ttml-words", text)
        if element.name == "p":
            self.loose = False

    def _close_cue(self, cue: _Cue, at: int) -> None:
        if not cue.times:
            return
        tag = cue.tag
        closed = self.scan.text[tag.stop - 2] == "/"
        stop = tag.stop if closed else self.scan.text.index(">", at) + 1
        fields = tuple(sorted(cue.fields, key=lambda one: one.span))
        words = _SPACES.sub(" ", "".join(cue.words)).replace(_BREAK, "\n")
        made = Cue(
            begin=cue.times[0],
            end=cue.times[1],
            text=_AROUND_BREAK.sub("\n", words).strip(),
            index=len(self.cues),
            place=self.scan.place(tag.attributes["begin"][1][0]),
            inner=tuple(cue.times[2:]),
        )
        once = tag.wholes.get("xml:id")
        self.take(made, Block(span=(tag.start, stop), fields=fields, once=once))
