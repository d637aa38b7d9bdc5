"""What a deliverable has several of: sound, subtitles, chapters, and pieces of head and tail."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.report.comparison_items import Item, items_apart, order_apart
from retime.report.differences import Meant, difference
from retime.report.numbers import measured

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from fractions import Fraction

    from retime.report.comparison_side import Side
    from retime.report.differences import Difference
    from retime.speedmap.following import Follows, Mark, Recording, Subtitles
    from retime.speedmap.model import Deliverable, Leader

__all__ = ["SEVERAL", "several_apart"]

SEVERAL = ("head", "tail", "sound", "subtitles", "chapters")
"""The keys of a deliverable that have several things, each of which is told by itself."""


def several_apart(
    sides: tuple[Side, Side], left: Deliverable, right: Deliverable
) -> Iterator[Difference | None]:
    """Yield what differs between the things of which two deliverables have several."""
    for what in SEVERAL:
        ours, others = getattr(left, what), getattr(right, what)
        if not isinstance(ours, tuple) or not isinstance(others, tuple):  # chapters
            yield difference(left.name, what, _named(ours), _named(others))
            continue
        read = _READ[what]
        mine = [read(sides[0], one, at) for at, one in enumerate(ours)]
        theirs = [read(sides[1], one, at) for at, one in enumerate(others)]
        yield from items_apart(left.name, what, mine, theirs)
        if what != "chapters":  # which stand where they are, in whatever order they are written
            yield from order_apart(left.name, what, mine, theirs)


def _named(chapters: Any) -> Any:
    return tuple(mark.name for mark in chapters) if isinstance(chapters, tuple) else chapters


def _leader(side: Side, leader: Leader, _: int) -> Item:
    shows = Meant("black", "black")
    if leader.still is not None or leader.movie is not None:
        shows = side.file(leader.still or leader.movie or "")
    label = _base(shows.text)
    fields = {"shows": shows, "for": seconds_said(leader.lasts)}
    lasts = f" for {fields['for']}" if fields["for"] else ""
    said = f"{shows}{lasts}"
    return Item(label=label, said=said, fields=fields, by=(Meant(shows, label),))


def _recording(side: Side, sound: Recording, at: int) -> Item:
    return _following(
        side,
        sound,
        at,
        pitch=str(sound.pitch),
        at=sound.at,
        gain=None if sound.gain is None else f"{measured(sound.gain)} dB",
    )


def _subtitles(side: Side, cues: Subtitles, at: int) -> Item:
    most = cues.fastest
    return _following(
        side,
        cues,
        at,
        gap=seconds_said(cues.gap),
        **{"at most": None if most is None else f"{measured(most)} characters a second"},
    )


def _following(side: Side, one: Recording | Subtitles, number: int, **own: str | None) -> Item:
    """Return something in a file that follows, known by its file, else by its place in the row."""
    file = side.file(one.file)
    label = _base(one.file)
    fields: dict[str, Any] = {
        "file": file,
        "follows": _followed(one.follows),
        **own,
        "offset": seconds_said(one.offset) if one.offset else None,
        "language": one.language,
    }
    by = (Meant(file, label), Meant(label, label), Meant(number, str(number + 1)))
    return Item(label=label, said=_all_said(fields), fields=fields, by=by)


def _mark(side: Side, mark: Mark, _: int) -> Item:
    if mark.shot is not None:
        begins = str(mark.shot)
    elif mark.frame is None:
        begins = f"reel {mark.reel}"
    else:
        begins = f"reel {mark.reel}, frame {side.told(mark.reel or '', mark.frame)}"
    by = (Meant(mark.name, mark.name), Meant(begins, begins))
    fields = {"name": mark.name, "at": begins}
    return Item(label=mark.name, said=begins, fields=fields, by=by)


_READ: Mapping[str, Callable[[Side, Any, int], Item]] = {
    "head": _leader,
    "tail": _leader,
    "sound": _recording,
    "subtitles": _subtitles,
    "chapters": _mark,
}


def _followed(follows: Follows | None) -> Meant | None:
    if follows is None:
        return None
    speed = follows.speed and (follows.speed.amount, follows.speed.unit)
    key = (follows.deliverable, follows.version, speed, follows.frames)
    return Meant(key, follows.text)


def seconds_said(time: Fraction | None) -> str | None:
    """Return a time in seconds as a map writes it."""
    return None if time is None else f"{measured(time)} s"


def _base(address: str) -> str:
    return address.rpartition("/")[2]


def _all_said(fields: Mapping[str, Any]) -> str:
    """Return a thing as a whole: what it is, and what else is said of it."""
    first, *others = ((what, said) for what, said in fields.items() if said is not None)
    return ", ".join([str(first[1]), *(f"{what} {said}" for what, said in others)])
