"""What follows the picture, put together from the sections of a document."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from retime.errors import NotationError
from retime.film.notation import parse_speed
from retime.findings import Finding
from retime.speedmap.following import (
    ChapterSource,
    Follows,
    Mark,
    MeetCue,
    Meeting,
    Recording,
    Subtitles,
)
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from retime.findings import TextPlace
    from retime.speedmap.document import (
        ChapterSection,
        MeetSection,
        RecordingSection,
        SubtitleSection,
    )
    from retime.speedmap.model import ShotKey
    from retime.speedmap.place import Where

__all__ = ["FollowReader"]

_T = TypeVar("_T")

_FRAMES = "frames"


class FollowReader:
    """Reads what follows the picture in one map; what is wrong gathers in ``findings``."""

    def __init__(
        self,
        shots: Collection[ShotKey],
        reels: Collection[str],
        versions: Collection[str],
        deliverables: Collection[str],
        *,
        whole: bool,
    ) -> None:
        """Take what can be named; what is not there is told of a ``whole`` map alone."""
        self.findings: list[Finding] = []
        self._shots, self._reels = shots, reels
        self._versions, self._deliverables = versions, deliverables
        self._whole = whole

    def recordings(
        self, sections: RecordingSection | list[RecordingSection], where: Where
    ) -> tuple[Recording, ...]:
        """Return the recordings of a deliverable."""
        return tuple(self._recording(one, here) for one, here in _each(sections, where))

    def _recording(self, section: RecordingSection, where: Where) -> Recording:
        if section.at is not None and section.follows is not None:
            text = "what follows another's time has its place from there"
            self._tell("sound", where.of("at", key=True), text, "leave at out, or give an offset")
        return Recording(
            file=section.file,
            follows=self._follows(section.follows, where),
            pitch=section.pitch,
            at=section.at,
            offset=section.offset,
            gain=section.gain,
            language=section.language,
            where=where,
        )

    def subtitles(
        self, sections: SubtitleSection | list[SubtitleSection], where: Where
    ) -> tuple[Subtitles, ...]:
        """Return the subtitles of a deliverable."""
        return tuple(
            Subtitles(
                file=one.file,
                follows=self._followed(one, here),
                offset=one.offset,
                gap=one.gap,
                fastest=one.at_most,
                language=one.language,
                where=here,
            )
            for one, here in _each(sections, where)
        )

    def _followed(self, section: SubtitleSection, where: Where) -> Follows | None:
        """Return whose time subtitles keep; a table of them tells film frames."""
        if section.file.lower().endswith(".csv"):
            if section.follows not in {None, _FRAMES}:
                text = "a table of subtitles tells film frames, and follows nothing else"
                self._tell("follows", where.of("follows"), text, "leave follows out")
            return Follows(text=_FRAMES, frames=True)
        return self._follows(section.follows, where)

    def chapters(
        self, sections: ChapterSource | list[ChapterSection] | None, where: Where
    ) -> ChapterSource | tuple[Mark, ...] | None:
        """Return what a deliverable's chapters are."""
        if sections is None or isinstance(sections, ChapterSource):
            return sections
        found = (self._mark(one, where.inside(number)) for number, one in enumerate(sections))
        return tuple(one for one in found if one is not None)

    def _mark(self, section: ChapterSection, where: Where) -> Mark | None:
        if "/" in section.at:
            if section.frame is not None:
                text = "a frame is counted in a reel, and this names a shot"
                self._tell("chapters", where.of("frame", key=True), text, "name the reel: at: 2")
            shot = self._shot(section.at, "chapters", where.of("at"))
            return None if shot is None else Mark(name=section.name, shot=shot, where=where)
        if section.at not in self._reels:
            self._lacks("chapters", where.of("at"), f"there is no reel {quoted(section.at)}")
            return None
        return Mark(name=section.name, reel=section.at, frame=section.frame, where=where)

    def meeting(self, section: MeetSection | None, where: Where) -> Meeting | None:
        """Return the score that a version's speeds are to meet."""
        if section is None:
            return None
        cues = []
        for number, one in enumerate(section.cues):
            here = where.inside("cues", number)
            shot = self._shot(one.at, "meet", here.of("at"))
            if shot is not None:
                cues.append(MeetCue(shot=shot, time=one.time, within=one.within, where=here))
        slowest, fastest = section.between
        return Meeting(
            cues=tuple(cues),
            slowest=slowest,
            fastest=fastest,
            smooth=section.smooth,
            end=section.end,
            where=where,
        )

    def _shot(self, text: str, rule: str, place: TextPlace) -> ShotKey | None:
        """Return the one shot that a text names, or None once what is wrong is told."""
        try:
            first, last = shot_keys(text, self._shots)
        except NotationError as error:
            self._tell(rule, place, error.text, error.hint)
            return None
        if first != last:
            self._tell(rule, place, f"{quoted(text)} are several shots", "name the first")
            return None
        if first not in self._shots:
            self._lacks(rule, place, f"there is no shot {quoted(text)}")
            return None
        return first

    def _follows(self, text: str | None, where: Where) -> Follows | None:
        """Return whose time something keeps, by a name or as a speed."""
        if text is None:
            return None
        if text in self._deliverables:
            return Follows(text=text, deliverable=text)
        if text in self._versions:
            return Follows(text=text, version=text)
        try:
            return Follows(text=text, speed=parse_speed(text))
        except NotationError:
            known = listed([*self._deliverables, *self._versions])
            what = f"{quoted(text)} is no deliverable, no version and no speed"
            hint = f"write 18 fps or the like, or one of {known}"
            self._lacks("follows", where.of("follows"), what, hint)
            return None

    def _tell(self, rule: str, place: TextPlace, text: str, hint: str = "") -> None:
        self.findings.append(Finding(place=place, rule=rule, text=text, hint=hint))

    def _lacks(self, rule: str, place: TextPlace, text: str, hint: str = "") -> None:
        if self._whole:
            self._tell(rule, place, text, hint)


def _each(sections: _T | list[_T], where: Where) -> Iterator[tuple[_T, Where]]:
    """Yield every section with its place, whether it is one or several."""
    if isinstance(sections, list):
        for number, one in enumerate(sections):
            yield one, where.inside(number)
    else:
        yield sections, where
