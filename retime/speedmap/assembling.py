"""The map's values, put together from the sections of a document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import NotationError
from retime.findings import Finding
from retime.light.raster import Framing
from retime.speedmap.assembly import Assembly
from retime.speedmap.assembly_reading import AssemblyReader
from retime.speedmap.document import ShotRuleSection
from retime.speedmap.following_reading import FollowReader
from retime.speedmap.inheritance import family_of, heir
from retime.speedmap.leaders import leaders_of
from retime.speedmap.model import (
    Deliverable,
    Limits,
    Reel,
    Shot,
    ShotRule,
    SpeedMap,
    TitleRule,
    Version,
)
from retime.speedmap.place import Where
from retime.speedmap.shotkeys import shot_keys

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from retime.speedmap.document import (
        DeliverableSection,
        LimitSection,
        MapDocument,
        ReelSection,
        ShotSection,
        VersionSection,
    )
    from retime.speedmap.model import ShotKey, SpokenPace
    from retime.yamldoc.tree import Tree

__all__ = ["assembled", "shots_of"]


def assembled(
    document: MapDocument,
    tree: Tree,
    shots: tuple[Shot, ...],
    reels: Sequence[Where],
    *,
    whole: bool = True,
) -> tuple[SpeedMap, list[Finding]]:
    """Return the map, and what is wrong with the names of shots in its rules.

    ``reels`` says where each of the document's reels stands, and ``whole`` whether all that was
    written could be read.
    """
    scanned = tuple(_reel(one, where) for one, where in zip(document.reels, reels, strict=True))
    reader = AssemblyReader(shots, scanned, whole=whole)
    film = reader.assembly(document, Where(tree, ()))
    follow = FollowReader(
        {shot.key for shot in shots},
        {reel.name for reel in scanned},
        document.versions,
        document.deliverables,
        whole=whole,
    )
    versions = _Versions(tree, shots, film, reader, follow)
    findings: list[Finding] = []
    speed_map = SpeedMap(
        film=document.film,
        gauge=document.gauge,
        footage=document.footage,
        reels=scanned,
        shots=shots,
        versions=versions.all(document.versions, whole=whole),
        deliverables={
            name: _deliverable(name, one, Where(tree, ("deliverables", name)), findings, follow)
            for name, one in document.deliverables.items()
        },
        transfer=document.transfer,
        others=tuple(reader.others.values()),
        remarks=tuple(reader.remarks),
        tree=tree,
    )
    return speed_map, [*versions.findings, *reader.findings, *follow.findings, *findings]


def _reel(section: ReelSection, where: Where) -> Reel:
    framing = Framing(
        area=section.area,
        rotate=section.rotate,
        flip=section.flip,
        sample_aspect=section.sample_aspect,
    )
    return Reel(
        name=section.reel,
        scan=section.scan,
        first=section.first,
        last=section.last,
        frames=section.frames,
        missing=section.missing,
        gauge=section.gauge,
        framing=None if framing.whole else framing,
        baked=section.cadence,
        where=where,
    )


def shots_of(rows: Iterable[ShotSection], places: Iterable[Where]) -> tuple[Shot, ...]:
    """Return the shots of a list or a table whose rows stand at ``places``."""
    return tuple(
        Shot(
            reel=row.reel,
            first=row.first,
            last=row.last,
            name=row.shot,
            kind=row.kind,
            title=row.name,
            where=where,
        )
        for row, where in zip(rows, places, strict=True)
    )


class _Versions:
    """The versions of one map, while its rules are read against its shots."""

    def __init__(
        self,
        tree: Tree,
        shots: tuple[Shot, ...],
        film: Assembly,
        reader: AssemblyReader,
        follow: FollowReader,
    ) -> None:
        self.findings: list[Finding] = []
        self._tree = tree
        self._film = film
        self._reader = reader
        self._follow = follow
        self._known: Collection[ShotKey] = {shot.key for shot in shots}

    def all(self, sections: Mapping[str, VersionSection], *, whole: bool) -> dict[str, Version]:
        """Return the versions by name, each with what it inherits, laid over the film's own."""
        own = {name: self._own(name, one) for name, one in sections.items()}
        likes = {name: one.like for name, one in sections.items()}
        family = family_of(likes, self._tree, whole=whole)
        self.findings += family.findings
        made: dict[str, Version] = {}
        for name in family.elders_first():
            elder, written = family.parent(name), sections[name].model_fields_set
            made[name] = (
                own[name]
                if elder is None
                else heir(own[name], written, made[elder], family.where(name))
            )
        return {name: self._over_film(made[name]) for name in sections}

    def _over_film(self, version: Version) -> Version:
        assembly = (version.assembly or Assembly()).over(self._film)
        return replace(version, assembly=None if assembly == Assembly() else assembly)

    def _own(self, name: str, section: VersionSection) -> Version:
        """Return what a version writes itself, its assembly without the film's."""
        where = Where(self._tree, ("versions", name))
        titles = section.titles
        rules = [
            self._rule(key, one, Where(self._tree, (*where.path, "shots", key)))
            for key, one in section.shots.items()
        ]
        return Version(
            name=name,
            like=section.like,
            speed=section.speed,
            runtime=section.runtime,
            runtime_of=section.runtime_of,
            reels=section.reels,
            shots=tuple(rule for rule in rules if rule is not None),
            titles=TitleRule(
                speed=titles.speed,
                limits=_limits(titles),
                loop=titles.loop,
                where=Where(self._tree, (*where.path, "titles")),
            )
            if titles
            else None,
            meet=self._follow.meeting(section.meet, where.inside("meet")),
            assembly=self._reader.assembly(section, where),
            where=where,
        )

    def _rule(self, key: str, one: SpokenPace | ShotRuleSection, where: Where) -> ShotRule | None:
        try:
            first, last = shot_keys(key, self._known)
        except NotationError as error:
            place = where.of(key=True)
            self.findings.append(
                Finding(place=place, rule="shot-rules", text=error.text, hint=error.hint)
            )
            return None
        if isinstance(one, ShotRuleSection):
            return ShotRule(
                first=first,
                last=last,
                pace=one.speed,
                limits=_limits(one),
                loop=one.loop,
                where=where,
            )
        return ShotRule(first=first, last=last, pace=one, where=where)


def _limits(section: LimitSection) -> Limits:
    return Limits(at_least=section.at_least, at_most=section.at_most, exactly=section.exactly)


def _deliverable(
    name: str,
    section: DeliverableSection,
    where: Where,
    findings: list[Finding],
    follow: FollowReader,
) -> Deliverable:
    return Deliverable(
        name=name,
        version=section.version,
        profile=section.profile,
        rate=section.rate,
        method=section.method,
        phase=section.phase,
        scanning=section.scanning,
        cadence_in=section.cadence_in,
        pulldown=section.pulldown,
        window=section.window,
        cuts=section.cuts,
        conform_at=section.conform_at,
        raster=section.raster,
        size=section.size,
        timecode=section.timecode,
        timecode_at=section.timecode_at,
        head=leaders_of(section.head, where.inside("head"), findings),
        tail=leaders_of(section.tail, where.inside("tail"), findings),
        burn=tuple(dict.fromkeys(section.burn)),
        sound=follow.recordings(section.sound, where.inside("sound")),
        subtitles=follow.subtitles(section.subtitles, where.inside("subtitles")),
        chapters=follow.chapters(section.chapters, where.inside("chapters")),
        file=section.file,
        drop_frame=section.drop_frame,
        where=where,
    )
