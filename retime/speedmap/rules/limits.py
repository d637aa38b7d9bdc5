"""A rule decides something, and its limits do not contradict each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Limits
    from retime.speedmap.place import Where

__all__ = ["check"]

_RULE = "limits"


def check(case: Case) -> Iterator[Finding]:
    """Find rules that decide nothing, limits at odds, and limits for a run of shots."""
    for version in case.map.versions.values():
        if version.titles is not None:
            titles = version.titles
            yield from _at_odds(titles.limits, titles.where, decides=titles.speed is not None)
        for rule in version.shots:
            yield from _at_odds(rule.limits, rule.where, decides=rule.pace is not None)
            if rule.is_run and rule.limits.given:
                text = f"the run {rule} has a limit, and a run takes a speed only"
                hint = "name the shots singly, or use titles"
                yield error(_RULE, rule.where.of(key=True), text, hint)


def _at_odds(limits: Limits, where: Where, *, decides: bool) -> Iterator[Finding]:
    if not decides and not limits.given:
        hint = 'give it a speed, "at least", "at most" or "for"'
        yield error(_RULE, where.of(key=True), "the rule decides nothing", hint)
    least, most = limits.at_least, limits.at_most
    if limits.exactly is not None and (least, most) != (None, None):
        text = '"for" sets the length exactly, so that there is nothing left to limit'
        yield error(_RULE, where.of("for", key=True), text, 'leave "at least" and "at most" out')
    elif least is not None and most is not None and least > most:
        yield error(_RULE, where.of("at least"), '"at least" is longer than "at most"')
