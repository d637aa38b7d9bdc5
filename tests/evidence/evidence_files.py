"""Evidence files made of a few lines, for the tests that read them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from retime.evidence.reading import read

if TYPE_CHECKING:
    from retime.evidence.model import Evidence, Implied, Item

__all__ = ["HEAD", "evidence_of", "implied_by", "item_of"]

HEAD = """\
format: retime-evidence/1
film: The Tidewatcher's Lamp
gauge: 35mm
length: 1000 ft
candidates: [16 fps, 20 fps, 24 fps]
"""


def evidence_of(*items: str, head: str = HEAD, folder: Path = Path()) -> Evidence:
    """Return evidence of items that are told as the inside of a mapping, braces left out."""
    written = "".join(
        f"  - {{id: x{at}, trust: 1, source: a paper, {item}}}\n" for at, item in enumerate(items)
    )
    return read(f"{head}evidence:\n{written}", folder / "evidence.yaml")


def item_of(item: str, *, head: str = HEAD, folder: Path = Path()) -> Item:
    """Return the one item of evidence that has no other."""
    (only,) = evidence_of(item, head=head, folder=folder).items
    return only


def implied_by(item: str, *, head: str = HEAD, folder: Path = Path()) -> Implied:
    """Return the one speed that an item implies."""
    (only,) = item_of(item, head=head, folder=folder).implied
    return only
