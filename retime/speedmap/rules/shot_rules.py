"""A version's rules name shots that exist, runs run forward, and no two runs share a shot.

A rule for a single shot inside a run beats the run's; between two runs of one version nothing is
nearer. What a version inherits is judged where it is written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import ShotKey, ShotRule, Version

__all__ = ["check"]

_RULE = "shot-rules"


def check(case: Case) -> Iterator[Finding]:
    """Find rules for shots that are not there, runs that run backwards, and shared shots."""
    known = [str(key) for key in case.positions]
    for version in case.map.versions.values():
        good: list[ShotRule] = []
        for rule in version.shots:
            if rule.inherited:
                continue
            findings = list(_named(case, rule, known))
            yield from findings
            if not findings:
                good.append(rule)
        yield from _shared(case, version, good)


def _named(case: Case, rule: ShotRule, known: list[str]) -> Iterator[Finding]:
    lacking = [key for key in dict.fromkeys((rule.first, rule.last)) if key not in case.positions]
    for key in lacking:
        hint = case.suggestion(str(key), known) if known else "the map lists no shots"
        place = rule.where.of(key=True)
        yield error(_RULE, place, f"there is no shot {quoted(str(key))}", hint)
    if not lacking and case.positions[rule.first] > case.positions[rule.last]:
        text = f"the run {rule} runs backwards"
        yield error(_RULE, rule.where.of(key=True), text, f"write {rule.last}-{rule.first}")


def _shared(case: Case, version: Version, rules: list[ShotRule]) -> Iterator[Finding]:
    """Find shots that two single rules or two runs of a version are written for."""
    taken: dict[tuple[bool, ShotKey], ShotRule] = {}
    for rule in rules:
        inside = case.map.shots[case.positions[rule.first] : case.positions[rule.last] + 1]
        for shot in inside:
            other = taken.setdefault((rule.is_run, shot.key), rule)
            if other is not rule:
                line = other.where.of(key=True).line
                text = f"shot {shot.key} is in two rules of version {version.name}"
                hint = f"the other is {other} on line {line}"
                yield error(_RULE, rule.where.of(key=True), text, hint)
                break
