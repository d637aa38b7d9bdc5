"""The rules that a map is held against, each a module with a pure ``check``.

They say what is wrong between the parts of a map; what is wrong with a single value is found when
it is read. Names of profiles are not looked up here: profiles are known to those who join the two.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError
from retime.findings import Severity
from retime.speedmap.rules import (
    blending,
    drop_frames,
    limits,
    output_names,
    reel_frames,
    reel_names,
    references,
    runtime_cycles,
    shot_frames,
    shot_names,
    shot_order,
    shot_overlaps,
    shot_rules,
    spoken_speeds,
    standard_rates,
    title_rules,
    undecided,
    unnamed_frames,
    version_speeds,
)
from retime.speedmap.rules.case import Case

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from retime.findings import Finding
    from retime.speedmap.model import SpeedMap

__all__ = ["findings", "sound"]

ON_WHAT_IS_WRITTEN: tuple[Callable[[Case], Iterable[Finding]], ...] = (
    reel_names.check,
    reel_frames.check,
    shot_names.check,
    shot_frames.check,
    shot_order.check,
    shot_overlaps.check,
    limits.check,
    runtime_cycles.check,
    spoken_speeds.check,
    standard_rates.check,
    output_names.check,
    drop_frames.check,
    blending.check,
)
"""Rules that look at what a map says; they hold for any part of it."""

ON_WHAT_IS_LACKING: tuple[Callable[[Case], Iterable[Finding]], ...] = (
    references.check,
    shot_rules.check,
    title_rules.check,
    undecided.check,
    unnamed_frames.check,
    version_speeds.check,
)
"""Rules that miss something; they hold only for a whole map, not for what is left of one."""


def findings(
    speed_map: SpeedMap, counts: Mapping[str, int], *, whole: bool = True
) -> tuple[Finding, ...]:
    """Return all that is wrong or odd in a map, in the order of its places.

    ``counts`` are the frames that scans are known to hold, by reel name; what needs the count of a
    reel that is not among them, and not stated, is left unsaid. ``whole`` is False for what is
    left of a map after parts that could not be read were taken out.
    """
    case = Case(speed_map, counts)
    checks = (*ON_WHAT_IS_WRITTEN, *(ON_WHAT_IS_LACKING if whole else ()))
    found = [*speed_map.remarks, *(finding for check in checks for finding in check(case))]
    once = dict.fromkeys(found)  # a rule that versions inherit is looked at in each of them
    return tuple(sorted(once, key=lambda finding: finding.place.order))


def sound(speed_map: SpeedMap, counts: Mapping[str, int]) -> tuple[Finding, ...]:
    """Return the warnings about a map in which no rule finds an error.

    Raises:
        DocumentError: some do; warnings are told with them.
    """
    found = findings(speed_map, counts)
    if any(finding.severity is Severity.ERROR for finding in found):
        raise DocumentError(found)
    return found
