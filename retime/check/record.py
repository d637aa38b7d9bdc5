"""A deliverable's record, as it is kept in a fingerprint or held against one."""

from __future__ import annotations

import hashlib
from importlib.metadata import version
from typing import TYPE_CHECKING

from retime.check.fingerprint import Kept, Record
from retime.check.identity import exact_of, tolerant_of
from retime.second.program import version as program_version
from retime.second.sound import sound_digest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.check.pictures import Looked
    from retime.edition.edition import Making
    from retime.second.facts import FileFacts

__all__ = ["record_of", "versions"]

_OURS = ("film", "version", "deliverable", "title")


def versions() -> dict[str, str]:
    """Return the versions of what made and read the pictures."""
    return {
        "retime": version("retime"),
        "av": version("av"),
        "numpy": version("numpy"),
        "ffmpeg": program_version(),
    }


def record_of(making: Making, looked: Looked, facts: FileFacts, path: Path) -> Record:
    """Return what a deliverable is known again by. Raises ScanError where its sound cannot be."""
    kept = Kept.SAMPLES if looked.exact else Kept.LIKENESS
    return Record(
        name=making.name,
        plan=_plan_digest(making),
        kept=kept,
        pictures=exact_of(looked.seen) if looked.exact else tolerant_of(looked.seen),
        facts=dict(_facts(facts)),
        sound=tuple(sound_digest(path, number) for number in range(len(facts.sounds))),
    )


def _plan_digest(making: Making) -> str:
    """Return the digest of what every output frame shows, and of the rate that it runs at."""
    plan = making.plan
    digest = hashlib.sha256(f"{plan.conform.rate} {making.scanning}\n".encode())
    for times, fields in plan.pictures():
        for look in fields:
            for part in look:
                reel = "" if part.reel is None else plan.timeline.reels[part.reel].name
                frame = "" if part.frame is None else making.told(reel, part.frame)
                plate = "" if part.plate is None else f"{part.plate.address}:{part.plate.frame}"
                digest.update(f"{times} {reel} {frame} {plate} {part.weight};".encode())
        digest.update(b"\n")
    return digest.hexdigest()


def _facts(facts: FileFacts) -> Iterator[tuple[str, str]]:
    """Yield what a file says of itself that another version of a library would not change."""
    video = facts.video
    if video is not None:
        yield "codec", f"{video.codec} {video.profile}".strip()
        yield "pixel format", video.pixel_format
        yield "size", f"{video.width}x{video.height}"
        yield "sample aspect", str(video.sample_aspect or video.coded_aspect or "unsaid")
        yield "rate", str(video.rate or video.coded_rate or "unsaid")
        yield "uneven", "no" if video.uneven is None else f"from picture {video.uneven}"
        yield "scanned", video.order or "unsaid"
        yield "colours", str(video.colours)
    if facts.timecode:
        yield "timecode", facts.timecode
    for number, sound in enumerate(facts.sounds, 1):
        yield f"sound {number}", f"{sound.codec}, {sound.channels} at {sound.rate}"
    for number, chapter in enumerate(facts.chapters, 1):
        yield f"chapter {number}", f"{chapter.begin} {chapter.title}"
    yield from ((key, facts.values[key]) for key in _OURS if key in facts.values)
