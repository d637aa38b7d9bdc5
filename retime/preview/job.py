"""A preview from end to end: what is shown is chosen, made small, rendered, and put on a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import CommandError
from retime.film.rounding import floor_of
from retime.preview.asked import candidates
from retime.preview.choosing import chosen, to_be_seen
from retime.preview.deliveries import deliveries_of
from retime.preview.digest import digest_of
from retime.preview.folder import PAGE, Record
from retime.preview.making import Work, make, to_be_made
from retime.preview.values import preview_values

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from contextlib import AbstractContextManager
    from pathlib import Path

    from retime.film.speed import Speed
    from retime.preview.asked import Asked
    from retime.preview.deliveries import Delivery
    from retime.preview.excerpt import Excerpt
    from retime.preview.folder import Folder
    from retime.preview.subject import Subject
    from retime.render.progress import Progress

    Shown = Callable[[], AbstractContextManager[Progress]]

__all__ = ["preview"]


def preview(
    subject: Subject, asked: Asked, folder: Folder, shown: Shown, say: Callable[[str], None]
) -> Path:
    """Make the preview that is asked for, or only its page where all else is there already.

    ``shown`` opens what listens to the work, once for each part of it, and ``say`` is told by the
    way. Returns the page. The folder has been checked. Raises CommandError, ScanError, OutputError.
    """
    from retime.preview.page import preview_page  # noqa: PLC0415 - it loads a template's library

    speeds = candidates(asked.speeds, subject.per_foot, subject.per_metre)
    digest = digest_of(subject, asked)
    record = folder.record()
    if record is not None and record.digest == digest and folder.holds(record):
        say("nothing has changed since it was made: only the page is written anew")
        folder.write_page(preview_page(record.values))
        return folder.path / PAGE
    with folder.work() as place:
        excerpts = _excerpts(subject, asked, speeds, shown)
        deliveries, notes = deliveries_of(subject, asked, speeds, excerpts)
        for note in notes:
            say(note)
        work = Work(
            subject=subject,
            excerpts=excerpts,
            deliveries=deliveries,
            fastest=_fastest(speeds, deliveries),
            width=asked.width,
        )
        with shown() as progress:
            progress.start(to_be_made(work), f"{_many(excerpts)}, {len(deliveries)} as delivered")
            made = make(work, place, progress)
            progress.finish()
        values = preview_values(work, made, speeds, asked.rates)
        record = Record(digest=digest, files=made.files, values=values)
        folder.settle(place, record, preview_page(values))
    return folder.path / PAGE


def _excerpts(
    subject: Subject, asked: Asked, speeds: Sequence[Speed], shown: Shown
) -> tuple[Excerpt, ...]:
    most = floor_of(asked.seconds * speeds[0].fps)
    with shown() as progress:
        glances = to_be_seen(subject, asked)
        if glances:
            progress.start(glances, "looking for where most moves")
        found = chosen(subject, asked, most, progress)
        if glances:
            progress.finish()
    if not found:
        raise CommandError("the film has nothing to be looked at", "name shots or frames")
    return found


def _fastest(speeds: Sequence[Speed], deliveries: Sequence[Delivery]) -> Speed:
    """Return the fastest speed that the page plays anything at."""
    decided = (pace for one in deliveries for pace in (one.paces.first, one.paces.last))
    return max(*speeds, *decided)


def _many(excerpts: Sequence[Excerpt]) -> str:
    return "1 excerpt" if len(excerpts) == 1 else f"{len(excerpts)} excerpts"
