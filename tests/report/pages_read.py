"""A page of HTML read again for the tests, by the standard library's reader."""

from __future__ import annotations

from html.parser import HTMLParser

__all__ = ["Page"]

VOID = {"meta", "br", "link", "img", "input", "hr"}
CELLS = {"td", "th"}


class Page(HTMLParser):
    """A page read again: its text, its tags, its tables' rows; every tag is closed in turn."""

    def __init__(self, source: str) -> None:
        """Read the page, to its end."""
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.rows: list[list[str]] = []
        self.feed(source)
        self.close()
        assert [] == self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag, and that it is open; an attribute stands once."""
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        elif tag in CELLS:
            self.rows[-1].append("")
        assert len(attrs) == len(dict(attrs)), f"{tag} has an attribute twice"
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag that is closed at once."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Close the tag that was opened last."""
        assert tag == self.open.pop(), f"{tag} is closed and was not the last to be opened"

    def handle_data(self, data: str) -> None:
        """Keep what a person reads."""
        if self.open and self.open[-1] != "style":
            self.words.append(data)
        if CELLS & set(self.open):
            self.rows[-1][-1] += data

    @property
    def text(self) -> str:
        """All that a person reads, its spaces and lines as one space each."""
        return " ".join(" ".join(self.words).split())
