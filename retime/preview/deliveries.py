"""What is really rendered: each excerpt in each version, or at each speed, at each rate."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.plan.assembly import assemble
from retime.plan.conform import Conform
from retime.plan.plan import plan_blend, plan_repeats
from retime.preview.showing import showing_of
from retime.preview.speeds import Paces, paces_of
from retime.speedmap.decisions import Segment, Steady
from retime.speedmap.model import Method, Phase, ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.edition.edition import Making
    from retime.film.speed import Rate, Speed
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline
    from retime.preview.asked import Asked
    from retime.preview.excerpt import Excerpt
    from retime.preview.showing import Showing
    from retime.preview.subject import Subject

__all__ = ["MOST_DELIVERED", "Delivery", "deliveries_of"]

MOST_DELIVERED = 120
"""As many files as are rendered for a page; beyond that, versions or speeds are left out."""

_TIMES_LONGER = 4  # than asked for: what a version holds may last and last


class Delivery(Struct, frozen=True, kw_only=True):
    """One file: an excerpt as a version, or a speed, has it at a rate.

    ``version`` is None for a bare scan, ``deliverable`` where the map has none of that kind.
    """

    name: str
    excerpt: Excerpt
    version: str | None
    deliverable: str | None
    paces: Paces
    rate: Rate
    run_change: Fraction
    method: Method
    showing: Showing


class _Way(Struct, frozen=True, kw_only=True):
    """A plan, and what it is called in a file's name."""

    key: str
    version: str | None
    timeline: Timeline
    plan: Plan
    method: Method
    deliverable: str | None = None


def deliveries_of(
    subject: Subject, asked: Asked, speeds: Sequence[Speed], excerpts: Sequence[Excerpt]
) -> tuple[list[Delivery], list[str]]:
    """Return what is to be rendered, excerpt by excerpt, and notes on what is left out."""
    notes: list[str] = []
    ways = _ways(subject, asked, speeds, excerpts, notes)
    most = asked.seconds * _TIMES_LONGER
    found = [
        one
        for excerpt in excerpts
        for way in ways
        if (one := _delivery(way, excerpt, most)) is not None
    ]
    return found, notes


def _delivery(way: _Way, excerpt: Excerpt, seconds: int) -> Delivery | None:
    rate = way.plan.conform.rate
    paces = paces_of(way.timeline, excerpt)
    showing = showing_of(way.plan, excerpt, int(seconds * rate.fps))
    if paces is None or showing is None:
        return None
    return Delivery(
        name=f"{excerpt.key}-{way.key}.mp4",
        excerpt=excerpt,
        version=way.version,
        deliverable=way.deliverable,
        paces=paces,
        rate=rate,
        run_change=way.plan.conform.run_change,
        method=way.method,
        showing=showing,
    )


def _ways(
    subject: Subject,
    asked: Asked,
    speeds: Sequence[Speed],
    excerpts: Sequence[Excerpt],
    notes: list[str],
) -> list[_Way]:
    """Return every plan that excerpts are cut out of, as many as the bound allows."""
    methods = 2 if asked.blend else 1
    room = max(1, MOST_DELIVERED // max(1, len(excerpts) * len(asked.rates) * methods))
    told: list[tuple[str, str | None, Timeline]]
    if subject.from_map:
        versions = subject.versions[:room]
        left_out = [one.name for one in subject.versions[room:]]
        told = [(f"v{number}", one.name, one.timeline) for number, one in enumerate(versions, 1)]
    else:
        kept = speeds[:: -(-len(speeds) // room)]
        left_out = [f"{speed} fps" for speed in speeds if speed not in kept]
        told = [
            (f"s{number}", None, _at_one_speed(subject, speed, excerpts))
            for number, speed in enumerate(kept, 1)
        ]
    if left_out:
        notes.append(
            f"as delivered: at most {MOST_DELIVERED} files are rendered; left out: "
            + ", ".join(left_out)
        )
    ways: list[_Way] = []
    for key, version, timeline in told:
        for rate in asked.rates:
            ways += _ways_at(subject, asked, rate, (key, version, timeline), notes)
    return ways


def _ways_at(
    subject: Subject,
    asked: Asked,
    rate: Rate,
    told: tuple[str, str | None, Timeline],
    notes: list[str],
) -> Iterator[_Way]:
    """Yield the plans of a version at a rate: the map's deliverables of it, or repeats."""
    key, version, timeline = told
    methods = set()
    for making in subject.makings:
        own = making.plan.conform.rate
        kind = (own, making.deliverable.method)
        near = own == rate or (own.nominal == rate and own not in asked.rates)
        if making.deliverable.version != version or not near or _in_fields(making):
            continue
        if kind not in methods:
            methods.add(kind)
            yield _Way(
                key=_key(key, own, making.deliverable.method),
                version=version,
                timeline=timeline,
                plan=making.plan,
                method=making.deliverable.method,
                deliverable=making.name,
            )
    wanted = [] if any(own == rate for own, _ in methods) else [Method.REPEAT]
    if asked.blend and (rate, Method.BLEND) not in methods:
        wanted.append(Method.BLEND)
    for method in wanted:
        try:
            make = plan_repeats if method is Method.REPEAT else plan_blend
            plan = make(timeline, Conform.of(rate), Phase.CONTINUOUS)
        except NotationError as error:
            notes.append(f"as delivered: {version or key} at {rate}: {error.text}; left out")
            continue
        yield _Way(
            key=_key(key, rate, method),
            version=version,
            timeline=timeline,
            plan=plan,
            method=method,
        )


def _in_fields(making: Making) -> bool:
    """Tell whether output frames may hold two film frames, which a page cannot show."""
    return making.plan.carry.in_fields


def _key(key: str, rate: Rate, method: Method) -> str:
    return f"{key}-{rate}-{method}".replace("/", "-")


def _at_one_speed(subject: Subject, speed: Speed, excerpts: Sequence[Excerpt]) -> Timeline:
    """Return bare scans at one speed, divided where excerpts begin and end.

    The cadence runs through that; a blend's windows end there.
    """
    segments = []
    for scan in subject.scans:
        cuts = {scan.reel.first, scan.last + 1}
        for one in excerpts:
            if one.reel == scan.reel.name:
                cuts |= {one.first, one.last + 1}
        bounds = sorted(cuts)
        segments += [
            Segment(
                reel=scan.reel.name,
                first=first,
                last=stop - 1,
                shot=None,
                kind=ShotKind.ACTION,
                pace=Steady(speed=speed),
            )
            for first, stop in pairwise(bounds)
        ]
    return assemble(segments, {scan.reel.name: scan.holes() for scan in subject.scans})
