"""Joins a map with its profiles and scans; every command that plans goes through here."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.edition.assembly import excerpt_findings, forgotten_findings, stills_of
from retime.edition.carrying import carry_of, labels_of, scanning_of
from retime.edition.courses import courses_of
from retime.edition.edition import Edition, Making
from retime.edition.fitting import fitted_target, wanted_raster
from retime.edition.leading import check_movies, leads_of
from retime.edition.meeting import Met, met
from retime.edition.plates import PlateSources
from retime.edition.scans import ReelScan, scan_of
from retime.edition.sifting import lost_finding, sifted_scan, sifting_of
from retime.errors import CommandError, DocumentError, NotationError
from retime.film.timecode import label
from retime.findings import Finding, Severity
from retime.light.transfer import from_tag
from retime.picture.plates import check_plate
from retime.plan.assembly import assemble, solved_duration
from retime.plan.conform import Conform
from retime.plan.plan import plan_blend, plan_repeats
from retime.profile.shelf import shelf
from retime.speedmap import reading, rules
from retime.speedmap.arrangement import arrange
from retime.speedmap.decisions import Segment, Steady, governing
from retime.speedmap.model import Method, Version
from retime.speedmap.sifting import sifted
from retime.yamldoc.quoting import suggestion

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence
    from fractions import Fraction
    from pathlib import Path

    from retime.film.scanning import Scanning
    from retime.film.speed import Rate, Speed
    from retime.findings import Place
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline
    from retime.profile.model import Profile
    from retime.speedmap.arrangement import Item
    from retime.speedmap.following import Follows
    from retime.speedmap.model import Deliverable, SpeedMap

__all__ = ["join"]


def join(
    path: Path,
    wanted: Collection[str] = (),
    *,
    scans_needed: bool = False,
    every_version: bool = False,
) -> Edition:
    """Read the map at ``path`` and plan its deliverables, or those that are ``wanted``.

    With ``every_version`` those that no deliverable is of have timelines too.

    Raises:
        DocumentError: with every error found in the map, its profiles and its scans.
        CommandError: a deliverable that is wanted is not in the map.
    """
    speed_map = reading.load(path)
    _known_names(speed_map, wanted)
    return _Joining(speed_map, scans_needed=scans_needed).edition(
        wanted, speed_map.versions if every_version else ()
    )


def _known_names(speed_map: SpeedMap, wanted: Collection[str]) -> None:
    for name in wanted:
        if name not in speed_map.deliverables:
            known = speed_map.deliverables
            hint = suggestion(name, known) or f"there are {', '.join(known)}"
            raise CommandError(f"the map has no deliverable {name!r}", hint)


def _fault(place: Place, rule: str, text: str, hint: str) -> DocumentError:
    return DocumentError([Finding(place=place, rule=rule, text=text, hint=hint)])


class _Joining:
    """One edition as it is put together; findings gather until all that can be known is."""

    def __init__(self, speed_map: SpeedMap, *, scans_needed: bool) -> None:
        self._map = speed_map
        self._found: list[Finding] = []
        self._scans = self._all_scans(must_be_there=scans_needed)
        counts = {scan.reel.name: scan.frames for scan in self._scans}
        self._found += rules.findings(speed_map, counts)
        self._found += excerpt_findings(speed_map, counts)
        self._profiles_by_name = self._profiles()
        self._stop_on_errors()
        self._sift()
        self._plates = PlateSources(speed_map.folder)
        self._lasts = {scan.reel.name: scan.last for scan in self._scans}
        self._holes = {scan.reel.name: scan.holes() for scan in self._scans}
        self._timelines: dict[str, Timeline] = {}
        self._solved: dict[str, Fraction] = {}
        self._met: dict[str, Met] = {}
        self._frames: Timeline | None = None
        self._plans: dict[str, Plan] = {}

    def edition(self, wanted: Collection[str], versions: Collection[str] = ()) -> Edition:
        """Plan what is wanted, lay out these ``versions`` too, and return it all."""
        for name in versions:
            with self._telling(self._map.versions[name].where.of(), "plan"):
                self._timeline(name)
        makings = [
            self._making(deliverable)
            for deliverable in self._map.deliverables.values()
            if not wanted or deliverable.name in wanted
        ]
        self._stop_on_errors()
        return Edition(
            speed_map=self._map,
            scans=self._scans,
            plates=self._plates.known,
            timelines=self._timelines,
            solved=self._solved,
            makings=tuple(making for making in makings if making is not None),
            warnings=tuple(self._found),
            met=self._met,
            frames=self._frames,
        )

    def _sift(self) -> None:
        """Count film frames instead of scan frames where repeats are sifted out of a transfer."""
        siftings = {scan.reel.name: sifting_of(self._map, scan) for scan in self._scans}
        found = {name: one for name, one in siftings.items() if one is not None}
        self._found += (
            lost_finding(scan, found[scan.reel.name].lost)
            for scan in self._scans
            if scan.reel.name in found and found[scan.reel.name].lost
        )
        lasts = {scan.reel.name: scan.last for scan in self._scans}
        self._map = sifted(self._map, found, lasts)
        self._scans = tuple(
            sifted_scan(scan, siftings[scan.reel.name], self._map) for scan in self._scans
        )

    def _stop_on_errors(self) -> None:
        if any(found.severity is Severity.ERROR for found in self._found):
            raise DocumentError(self._found)

    @contextmanager
    def _telling(self, place: Place, rule: str) -> Iterator[None]:
        """Turn what is wrong with a figure into a finding at ``place``.

        What knows its place already is told there, once, whoever runs into it.
        """
        try:
            yield
        except NotationError as error:
            self._found.append(Finding(place=place, rule=rule, text=error.text, hint=error.hint))
        except DocumentError as error:
            self._found += [one for one in error.findings if one not in self._found]

    def _all_scans(self, *, must_be_there: bool) -> tuple[ReelScan, ...]:
        """Look at every scan; findings of those that cannot be used stop the rest."""
        scans = []
        for reel in (*self._map.reels, *self._map.others):
            known = scan_of(self._map, reel, must_be_there=must_be_there)
            if isinstance(known, Finding):
                self._found.append(known)
            else:
                scans.append(known)
        if self._found:
            counts = {scan.reel.name: scan.frames for scan in scans}
            raise DocumentError([*self._found, *rules.findings(self._map, counts)])
        return tuple(scans)

    def _profiles(self) -> dict[str, Profile]:
        """Load every profile that the map names."""
        stand = shelf()
        profiles: dict[str, Profile] = {}
        for deliverable in self._map.deliverables.values():
            name = deliverable.profile
            if name in profiles:
                continue
            try:
                profiles[name] = stand.load(name)
            except DocumentError as error:
                self._found += error.findings
            except CommandError as error:
                place = deliverable.where.of("profile")
                self._found.append(
                    Finding(place=place, rule="profile", text=error.text, hint=error.hint)
                )
        return profiles

    def _timeline(self, name: str) -> Timeline:
        """Return a version's timeline, its runtime solved where that is what is given."""
        if name not in self._timelines:
            version = self._map.versions[name]
            items, forgotten = arrange(self._map, version, self._lasts)
            self._found += forgotten_findings(version, forgotten)
            self._look_at_plates(version)
            if version.meet is not None:
                items, self._met[name], missed = met(self._map, version, version.meet, items)
                self._found += missed
            free = self._free(version, items)
            self._timelines[name] = assemble(items, self._holes, free)
        return self._timelines[name]

    def plan_named(self, deliverable: str) -> Plan:
        """Return a deliverable's plan."""
        return self._plan(self._map.deliverables[deliverable])

    def timeline_named(self, version: str) -> Timeline:
        """Return a version's timeline."""
        return self._timeline(version)

    def timeline_at(self, follows: Follows, speed: Speed | None) -> Timeline:
        """Return all reels as scanned at one speed; None for the one that is spoken."""
        version = Version(name=follows.text, speed=follows.speed)
        items: Sequence[Segment] = governing(self._map, version, self._lasts)
        if speed is None:
            return assemble(items, self._holes)
        if self._frames is None:
            items = [replace(one, pace=Steady(speed=speed)) for one in items]
            self._frames = assemble(items, self._holes)
        return self._frames

    def _look_at_plates(self, version: Version) -> None:
        """Look at every still that a version puts into its film."""
        for address, place in stills_of(version):
            self._plates.still(address, place)

    def _free(self, version: Version, items: Sequence[Item]) -> Fraction | None:
        if version.speed is not None or version.meet is not None:
            return None
        runtime = version.runtime
        if version.runtime_of is not None:
            runtime = self._plan(self._map.deliverables[version.runtime_of]).runtime
        solved = None if runtime is None else solved_duration(items, runtime)
        if runtime is None or solved is None:
            raise _fault(
                version.where.of("runtime" if version.runtime_of is None else "runtime of"),
                "runtime",
                f"no speed gives version {version.name!r} that runtime",
                "what its shots and titles fix takes longer, or leaves nothing to fill",
            )
        self._solved[version.name] = solved
        return solved

    def _plan(self, deliverable: Deliverable) -> Plan:
        """Return a deliverable's plan, made once."""
        if deliverable.name not in self._plans:
            rate = self._rate(deliverable)
            conform = Conform.of(rate, deliverable.conform_at)
            timeline = self._timeline(deliverable.version)
            carry = carry_of(deliverable, self._scanning(deliverable), rate)
            blend = deliverable.method is Method.BLEND
            plan = (
                plan_blend(timeline, conform, deliverable.phase, deliverable.window, carry)
                if blend
                else plan_repeats(timeline, conform, deliverable.phase, carry)
            )
            self._plans[deliverable.name] = replace(
                plan,
                head=leads_of(deliverable.head, rate, self._plates),
                tail=leads_of(deliverable.tail, rate, self._plates),
            )
        return self._plans[deliverable.name]

    def _scanning(self, deliverable: Deliverable) -> Scanning:
        profile = self._profiles_by_name[deliverable.profile]
        return scanning_of(deliverable, profile, self._rate(deliverable))

    def _rate(self, deliverable: Deliverable) -> Rate:
        profile, place = self._profiles_by_name[deliverable.profile], deliverable.where.of("rate")
        if deliverable.rate is None:
            if len(profile.rates) == 1:
                return profile.rates[0]
            raise _fault(
                place,
                "rate",
                f"{deliverable.name!r} states no rate, and {profile.name} takes several",
                "state one, such as rate: 24",
            )
        if not profile.allows(deliverable.rate):
            raise _fault(
                place,
                "rate",
                f"{profile.name} does not take a rate of {deliverable.rate}",
                f"it takes {', '.join(map(str, profile.rates))}",
            )
        return deliverable.rate

    def _making(self, deliverable: Deliverable) -> Making | None:
        profile = self._profiles_by_name[deliverable.profile]
        making = None
        with self._telling(deliverable.where.of("version"), "plan"):
            plan = self._plan(deliverable)
            rate = plan.conform.rate
            start, drop_frame = labels_of(deliverable, rate, plan.head_frames)
            stated = deliverable.timecode is not None
            with self._telling(deliverable.where.of("profile"), "picture"):
                scans = self._used(plan.timeline)
                picture = self._picture(deliverable, profile, scans)
                self._check_plates(deliverable, picture, plan.conform.rate)
                making = Making(
                    deliverable=deliverable,
                    profile=profile,
                    plan=plan,
                    scans=scans,
                    picture=picture,
                    drop_frame=drop_frame,
                    scanning=self._scanning(deliverable),
                    start=start,
                    courses=courses_of(deliverable, plan, self),
                    timecode=label(start, rate, drop=drop_frame) if stated else None,
                    transfer=self._transfer(deliverable, scans),
                )
        return making

    def _used(self, timeline: Timeline) -> tuple[ReelScan, ...]:
        """Return the scans that a version shows; the first where it shows none."""
        names = {reel.name for reel in timeline.reels if reel.positions}
        return tuple(one for one in self._scans if one.reel.name in names) or self._scans[:1]

    def _check_plates(
        self, deliverable: Deliverable, picture: PictureFormat | None, rate: Rate
    ) -> None:
        """Hold every picture that is no scan's against the deliverable's own."""
        leaders = (*deliverable.head, *deliverable.tail)
        self._found += check_movies(leaders, rate, picture, self._plates)
        version = self._map.versions[deliverable.version]
        stills = [(one.still, one.where.of("still")) for one in leaders if one.still is not None]
        for address, place in (*stills, *stills_of(version)):
            if picture is not None:
                with self._telling(place, "plate"):
                    check_plate(self._plates.still(address, place).picture, picture)

    def _transfer(self, deliverable: Deliverable, scans: Sequence[ReelScan]) -> Transfer | None:
        """Return the curve of the scans' codes, which a blend has to know."""
        if deliverable.method is not Method.BLEND:
            return None
        if self._map.transfer is not None:
            return self._map.transfer
        for scan in scans:
            tag = scan.facts.picture.transfer if scan.facts else None
            known = None if tag is None else from_tag(tag)
            if known is not None:
                return known
        if any(scan.facts is None for scan in scans):
            return None
        raise _fault(
            deliverable.where.of("method"),
            "transfer",
            "a blend needs to know what light the codes stand for, and no scan says it",
            "add transfer: bt1886, srgb, linear or log to the map",
        )

    def _picture(
        self, deliverable: Deliverable, profile: Profile, scans: Sequence[ReelScan]
    ) -> PictureFormat | None:
        pictures = [scan.picture for scan in scans if scan.picture is not None]
        if len(pictures) < len(scans):
            wanted_raster(deliverable, profile)  # what is wrong with it is told without scans too
            return None
        interlaced = self._scanning(deliverable).interlaced
        return fitted_target(deliverable, profile, pictures, interlaced=interlaced)
