"""An edition: everything that a map's deliverables are, planned but not yet made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from retime.edition.meeting import Met
    from retime.edition.plates import PlateSource
    from retime.edition.scans import ReelScan
    from retime.film.scanning import Scanning
    from retime.findings import Finding
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline
    from retime.plan.timemap import TimeMap
    from retime.profile.model import Profile
    from retime.speedmap.model import Deliverable, SpeedMap
    from retime.speedmap.sifting import Sifting

__all__ = ["Edition", "Making"]


class Making(Struct, frozen=True, kw_only=True):
    """One deliverable with its profile and plan.

    ``scans`` are those that it shows, in the map's order. ``picture`` is None while a scan is
    away. ``start`` is the number of the file's first label, ``timecode`` that label where the map
    states one. ``courses`` are the maps of time of what its sound and subtitles follow, by name.
    ``transfer`` is the curve of its pictures' codes, where that has to be known.
    """

    deliverable: Deliverable
    profile: Profile
    plan: Plan
    scans: tuple[ReelScan, ...]
    picture: PictureFormat | None
    drop_frame: bool
    scanning: Scanning
    start: int = 0
    timecode: str | None = None
    courses: Mapping[str, TimeMap] = field(default_factory=dict)
    transfer: Transfer | None = None

    @property
    def name(self) -> str:
        """The deliverable's name."""
        return self.deliverable.name

    def told(self, reel: str, frame: int) -> int:
        """Return the number by which a film frame of a reel is told, that of a scan frame."""
        return next((scan.told(frame) for scan in self.scans if scan.reel.name == reel), frame)


class Edition(Struct, frozen=True, kw_only=True):
    """A map joined with its profiles and scans; ``solved`` are frame durations from runtimes.

    ``scans`` are those of the reels and then the others, ``plates`` by their addresses, ``met``
    says of versions by name how they meet their scores. ``frames`` are all film frames, one a
    second, where anything follows them.
    """

    speed_map: SpeedMap
    scans: tuple[ReelScan, ...]
    plates: Mapping[str, PlateSource]
    timelines: Mapping[str, Timeline]
    solved: Mapping[str, Fraction]
    makings: tuple[Making, ...]
    warnings: tuple[Finding, ...]
    met: Mapping[str, Met] = field(default_factory=dict)
    frames: Timeline | None = None

    @property
    def siftings(self) -> dict[str, Sifting]:
        """What is sifted from the scans, by their reels' names."""
        return {scan.reel.name: scan.sifting for scan in self.scans if scan.sifting is not None}
