"""What is previewed: the film of a map, or bare scans, each of which is a reel then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.edition.join import join
from retime.edition.scans import ReelScan
from retime.errors import CommandError, NotationError
from retime.film.gauge import Footage, Gauge, frames_per_foot, frames_per_metre, gauge_named
from retime.film.notation import SpokenRamp, SpokenSpeed
from retime.film.speed import Speed
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.probe import probe
from retime.media.sequence import is_pattern, list_sequence
from retime.speedmap.footage import speed_on
from retime.speedmap.model import Missing, Reel

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.findings import Finding
    from retime.light.transfer import Transfer
    from retime.plan.timeline import Timeline
    from retime.speedmap.model import Shot, Version

__all__ = ["Decided", "Subject", "is_map", "subject_of"]

_REELS_SAID = 4
_MAPS = frozenset({".yaml", ".yml"})


class Decided(Struct, frozen=True, kw_only=True):
    """A version: its one ``speed``, None where reels differ; ``said`` is how the map tells it."""

    name: str
    speed: Speed | None
    said: str
    timeline: Timeline


class Subject(Struct, frozen=True, kw_only=True):
    """A film to be looked at.

    ``scans`` are its reels in the order of the map, or as they were named. ``versions`` and
    ``makings`` are empty for bare scans. ``inputs`` is every file that it is made from but the
    scans. ``per_metre`` is None where the map does not say what a metre holds.
    """

    film: str
    source: Path
    from_map: bool
    map_sha256: str | None
    gauge: Gauge
    per_foot: Fraction
    per_metre: Fraction | None
    scans: tuple[ReelScan, ...]
    shots: tuple[Shot, ...] = ()
    versions: tuple[Decided, ...] = ()
    makings: tuple[Making, ...] = ()
    transfer: Transfer | None = None
    inputs: tuple[Path, ...] = ()
    warnings: tuple[Finding, ...] = ()

    @property
    def frames(self) -> int:
        """How many film frames all reels hold."""
        return sum(scan.last - scan.reel.first + 1 for scan in self.scans)

    def scan_named(self, reel: str) -> ReelScan | None:
        """Return a reel's scan, None where there is no such reel."""
        return next((scan for scan in self.scans if scan.reel.name == reel), None)


def is_map(path: Path) -> bool:
    """Tell whether a path is taken for a map's, by its ending."""
    return path.suffix.lower() in _MAPS


def subject_of(paths: Sequence[Path], gauge: str | None) -> Subject:
    """Look at a map and its scans, or at bare scans; ``gauge`` is for these, 35mm if not said.

    Raises:
        CommandError: more than a map is named, or the gauge is not known.
        DocumentError: as ``join``.
        ScanError: a bare scan is none, or is away.
    """
    maps = [path for path in paths if is_map(path)]
    if not maps:
        return _of_scans(paths, gauge)
    if len(paths) > 1:
        raise CommandError(
            f"{maps[0]} is a map, and a map stands alone", "name one map, or scans and no map"
        )
    if gauge is not None:
        raise CommandError("--gauge is for bare scans", "the map states the gauge")
    return _of_map(maps[0])


def _of_scans(paths: Sequence[Path], gauge: str | None) -> Subject:
    try:
        found = gauge_named(gauge or "35mm")
    except NotationError as error:
        raise CommandError(f"--gauge: {error.text}", error.hint) from error
    scans = tuple(_bare(str(number), path) for number, path in enumerate(paths, 1))
    more = f" and {len(paths) - 1} more" if len(paths) > 1 else ""
    return Subject(
        film=paths[0].name + more,
        source=paths[0],
        from_map=False,
        map_sha256=None,
        gauge=found,
        per_foot=frames_per_foot(found, Footage.NOMINAL),
        per_metre=frames_per_metre(found, Footage.NOMINAL),
        scans=scans,
    )


def _bare(name: str, path: Path) -> ReelScan:
    """Return a scan that no map speaks of: all of it is picture, and holes hold what was before."""
    sequence = list_sequence(path) if is_pattern(path) else None
    facts = probe(path)
    frames = sequence.positions if sequence else frame_count(facts, cache=users_cache())
    return ReelScan(
        reel=Reel(name=name, scan=path.name, missing=Missing.HOLD),
        path=path,
        frames=frames,
        facts=facts,
        picture=facts.picture,
        sequence=sequence,
    )


def _of_map(path: Path) -> Subject:
    edition = join(path, scans_needed=True, every_version=True)
    speed_map = edition.speed_map
    chosen = speed_map.footage
    names = [reel.name for reel in speed_map.reels]
    return Subject(
        film=speed_map.film,
        source=path,
        from_map=True,
        map_sha256=speed_map.sha256,
        gauge=speed_map.gauge,
        per_foot=frames_per_foot(speed_map.gauge, chosen or Footage.NOMINAL),
        per_metre=frames_per_metre(speed_map.gauge, chosen) if chosen else None,
        scans=tuple(scan for scan in edition.scans if scan.reel.name in names),
        shots=speed_map.shots,
        versions=tuple(_decided(edition, one) for one in speed_map.versions.values()),
        makings=edition.makings,
        transfer=speed_map.transfer,
        inputs=tuple(sorted(_inputs(edition))),
        warnings=edition.warnings,
    )


def _inputs(edition: Edition) -> set[Path]:
    speed_map = edition.speed_map
    return {
        speed_map.tree.path,
        *(shot.where.of().path for shot in speed_map.shots),
        *(making.profile.path for making in edition.makings),
        *(source.path for source in edition.plates.values()),
    }


def _decided(edition: Edition, version: Version) -> Decided:
    return Decided(
        name=version.name,
        speed=_speed(edition, version),
        said=", ".join(_said(version)),
        timeline=edition.timelines[version.name],
    )


def _speed(edition: Edition, version: Version) -> Speed | None:
    """Return the speed of the film but for single shots and titles, None where reels differ."""
    if version.reels or version.meet is not None:
        return None
    solved = edition.solved.get(version.name)
    if solved is not None:
        return Speed(1 / solved)
    if not isinstance(version.speed, SpokenSpeed):
        return None
    return speed_on(edition.speed_map, edition.speed_map.reels[0], version.speed)


def _said(version: Version) -> Iterator[str]:
    """Yield what decides a version's speeds, in words, the widest first."""
    if version.meet is not None:
        yield "speeds that meet its score"
    elif version.speed is not None:
        speed = version.speed
        yield f"{speed} fps" if _is_bare(speed) else str(speed)
    else:
        yield "one speed, by its runtime"
    for name, pace in [*version.reels.items()][:_REELS_SAID]:
        yield f"reel {name} at {pace}"
    if len(version.reels) > _REELS_SAID:
        yield f"{len(version.reels) - _REELS_SAID} more reels"
    if version.shots:
        yield f"{len(version.shots)} shots apart" if len(version.shots) > 1 else "1 shot apart"
    if version.titles is not None and version.titles.speed is not None:
        yield f"titles at {version.titles.speed}"


def _is_bare(spoken: SpokenSpeed | SpokenRamp) -> bool:
    """Tell whether a speed was written as a number alone."""
    return isinstance(spoken, SpokenSpeed) and spoken.text.replace(".", "").isdigit()
