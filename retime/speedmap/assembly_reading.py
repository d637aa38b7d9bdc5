"""The assembly's values, put together from the sections of a document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.findings import Finding, Severity
from retime.speedmap.assembly import (
    Assembly,
    Black,
    Content,
    Excerpt,
    Inset,
    Plate,
    Replacement,
    Replay,
    Selection,
    Side,
    Still,
)
from retime.speedmap.document import ReplacementSection
from retime.speedmap.model import NUMBERING, Reel, ShotKind
from retime.speedmap.plate_folder import plates_in
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from retime.findings import TextPlace
    from retime.speedmap.document import AssemblySection, InsetSection
    from retime.speedmap.model import Shot, ShotKey
    from retime.speedmap.place import Where

__all__ = ["AssemblyReader"]

_RULE = "assembly"
_CONTENTS = ("still", "black", "scan", "play")
_TAKES: Mapping[str, Collection[str]] = {
    "still": {"lasts"},
    "black": set(),
    "scan": {"first", "last", "speed"},
    "play": set(),
}
_NEEDS: Mapping[str, Collection[str]] = {"still": {"lasts"}, "scan": {"first", "last"}}
_WRITTEN = {"lasts": "for"}


class AssemblyReader:
    """Reads the assemblies of one map.

    Errors gather in ``findings``, warnings in ``remarks``, scans that are no reels in ``others``.
    """

    def __init__(self, shots: Sequence[Shot], reels: Sequence[Reel], *, whole: bool) -> None:
        """Take what selections can name; what is not there is told of a ``whole`` map alone."""
        self._whole = whole
        self.findings: list[Finding] = []
        self.remarks: list[Finding] = []
        self.others: dict[str, Reel] = {}
        self._shots = {shot.key: shot for shot in shots}
        self._reels = {reel.name: reel for reel in reels}

    def assembly(self, section: AssemblySection, where: Where) -> Assembly:
        """Return the assembly of a section that stands at ``where``."""
        order = None
        if section.order is not None:
            order = tuple(self._selections(section.order, where.inside("order")))
        return Assembly(
            order=order,
            omit=tuple(self._selections(section.omit, where.inside("omit"))),
            insert=tuple(self._insets(section, where.inside("insert"))),
            replace=self._replacements(section, where.inside("replace")),
        )

    def _tell(self, place: TextPlace, text: str, hint: str = "") -> None:
        self.findings.append(Finding(place=place, rule=_RULE, text=text, hint=hint))

    def _lacks(self, place: TextPlace, text: str, hint: str = "") -> None:
        if self._whole:
            self._tell(place, text, hint)

    def _selections(self, texts: Sequence[str], where: Where) -> list[Selection]:
        found = (self._selection(text, where.inside(at)) for at, text in enumerate(texts))
        return [one for one in found if one is not None]

    def _selection(self, text: str, where: Where) -> Selection | None:
        """Return what a text selects, or None once what is wrong with it is told."""
        if text in self._reels:
            return Selection(text=text, reel=text, where=where)
        if "/" not in text:
            names = listed(self._reels)
            self._lacks(where.of(), f"there is no reel {quoted(text)}", f"there are {names}")
            return None
        try:
            first, last = shot_keys(text, self._shots)
        except NotationError as error:
            self._tell(where.of(), error.text, error.hint)
            return None
        for key in dict.fromkeys((first, last)):
            if key not in self._shots:
                hint = "" if self._shots else "the map lists no shots"
                self._lacks(where.of(), f"there is no shot {quoted(str(key))}", hint)
                return None
        return Selection(text=text, first=first, last=last, where=where)

    def _insets(self, section: AssemblySection, where: Where) -> list[Inset]:
        if not isinstance(section.insert, list):
            found = [self._inset(section.insert, where)]
        else:
            found = [
                self._inset(one, where.inside(number)) for number, one in enumerate(section.insert)
            ]
        return [one for one in found if one is not None]

    def _inset(self, section: InsetSection, where: Where) -> Inset | None:
        sides = [side for side in Side if getattr(section, side) is not None]
        if len(sides) != 1:
            text = "an insert says once where it goes"
            self._tell(where.of(), text, "write after: 2/14, or before: 1/1")
            return None
        shows = self._content(section, where)
        beside = self._beside(getattr(section, sides[0]), where.inside(sides[0]))
        if shows is None or beside is None:
            return None
        return Inset(
            beside=beside,
            side=sides[0],
            shows=shows,
            kind=section.kind,
            name=section.name,
            where=where,
        )

    def _beside(self, text: str, where: Where) -> Selection | str | None:
        """Return what an inset stands beside: reel, shots, or the name of another inset."""
        return self._selection(text, where) if "/" in text or text in self._reels else text

    def _content(self, section: InsetSection, where: Where) -> Content | None:
        given = [one for one in _CONTENTS if getattr(section, one) is not None]
        if len(given) != 1:
            text = f"an insert shows one thing, and this one {'none' if not given else 'several'}"
            self._tell(where.of(), text, "give it still:, black:, scan: or play:")
            return None
        if not self._complete(section, given[0], where):
            return None
        if section.still is not None and section.lasts is not None:
            return Still(plate=Plate(address=section.still), lasts=section.lasts)
        if section.black is not None:
            return Black(lasts=section.black)
        if section.scan is not None and section.first is not None and section.last is not None:
            return self._excerpt(section, section.scan, (section.first, section.last), where)
        selection = self._selection(section.play or "", where.inside("play"))
        return None if selection is None else Replay(of=selection)

    def _complete(self, section: InsetSection, shows: str, where: Where) -> bool:
        """Tell keys that belong to other contents, and those that are missing."""
        sound = True
        for key in ("lasts", "first", "last", "speed"):
            written = _WRITTEN.get(key, key)
            given = getattr(section, key) is not None
            if given and key not in _TAKES[shows]:
                hint = "write black: 3 s" if shows == "black" and key == "lasts" else "leave it out"
                self._tell(where.of(written, key=True), f"{shows} takes no {written}", hint)
                sound = False
            if not given and key in _NEEDS.get(shows, ()):
                hint = "such as for: 5 s" if key == "lasts" else "frames count from 0"
                self._tell(where.of(), f"{shows} needs {written}", hint)
                sound = False
        return sound

    def _excerpt(
        self, section: InsetSection, address: str, frames: tuple[int, int], where: Where
    ) -> Excerpt | None:
        first, last = frames
        if last < first:
            text = f"the last frame, {last}, comes before the first, {first}"
            self._tell(where.of("last"), text)
            return None
        reel = self._scan_of(address, where)
        return Excerpt(reel=reel.name, first=first, last=last, speed=section.speed)

    def _scan_of(self, address: str, where: Where) -> Reel:
        """Return the reel of an address, or another scan that is named after its file."""
        known = [*self._reels.values(), *self.others.values()]
        reel = next((one for one in known if one.scan == address), None)
        if reel is None:
            folder, _, file = address.rpartition("/")
            stem = file.rpartition(".")[0] or address
            if NUMBERING.search(file) and folder:  # numbered files are known by their folder
                stem = folder.rpartition("/")[2]
            taken = {one.name for one in known}
            name = next(
                name
                for number in range(1, len(known) + 2)
                if (name := stem if number == 1 else f"{stem} ({number})") not in taken
            )
            reel = self.others[name] = Reel(name=name, scan=address, where=where)
        return reel

    def _replacements(self, section: AssemblySection, where: Where) -> dict[ShotKey, Replacement]:
        if isinstance(section.replace, str):
            return self._from_folder(section.replace, where)
        replaced: dict[ShotKey, Replacement] = {}
        for text, one in section.replace.items():
            here = where.inside(text)
            selection = self._shot_named(text, here)
            if selection is None:
                continue
            if isinstance(one, ReplacementSection):
                plate, lasts = Plate(address=one.still), one.lasts
            else:
                plate, lasts = Plate(address=one), None
            replaced[selection] = Replacement(plate=plate, lasts=lasts, where=here)
        return replaced

    def _shot_named(self, text: str, where: Where) -> ShotKey | None:
        try:
            first, last = shot_keys(text, self._shots)
        except NotationError as error:
            self._tell(where.of(key=True), error.text, error.hint)
            return None
        if first != last:
            text = f"{quoted(text)} are several shots, and a still replaces one"
            self._tell(where.of(key=True), text, "name each with a picture of its own")
            return None
        if first not in self._shots:
            self._lacks(where.of(key=True), f"there is no shot {quoted(text)}")
            return None
        return first

    def _from_folder(self, address: str, where: Where) -> dict[ShotKey, Replacement]:
        """Return a replacement for every picture in a folder that is named by a shot."""
        folder = plates_in(where.of().path.parent / address, self._shots)
        for text, hint in folder.errors:
            self._tell(where.of(), text, hint)
        if folder.strange:
            text = f"in {address}, named by no shot: {listed(folder.strange)}"
            self._remark(where.of(), text, "a picture of shot 1/3 is named 1-3.png")
        titles = (shot.key for shot in self._shots.values() if shot.kind is ShotKind.TITLE)
        lacking = [str(key) for key in titles if key not in folder.plates]
        if lacking and folder.plates:
            text = f"{address} has no picture for title {listed(lacking)}"
            self._remark(where.of(), text, "the scan's own is shown there")
        return {
            key: Replacement(plate=Plate(address=f"{address.rstrip('/')}/{name}"), where=where)
            for key, name in folder.plates.items()
        }

    def _remark(self, place: TextPlace, text: str, hint: str) -> None:
        severity = Severity.WARNING
        self.remarks.append(
            Finding(place=place, rule=_RULE, text=text, hint=hint, severity=severity)
        )
