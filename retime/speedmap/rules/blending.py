"""A blend knows where the cuts are, or says in so many words that nobody does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.model import CadenceIn, Method
from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding
    from retime.speedmap.model import Deliverable

__all__ = ["check"]

_RULE = "blending"


def check(case: Case) -> Iterator[Finding]:
    """Find blends that would run through cuts, and keys of a blend where nothing is blended."""
    bare = [name for name in case.reels if not case.shots[name]]
    for deliverable in case.map.deliverables.values():
        if deliverable.method is Method.BLEND:
            yield from _blend(deliverable, bare)
        else:
            yield from _no_blend(deliverable)


def _blend(deliverable: Deliverable, bare: list[str]) -> Iterator[Finding]:
    place = deliverable.where.of("method")
    if bare and deliverable.cuts is None:
        yield error(
            _RULE,
            place,
            f"a blend would run through the cuts of reel {bare[0]}, which lists no shots",
            "list its shots, or write cuts: unknown",
        )
    if deliverable.cadence_in is CadenceIn.FIELDS:
        yield error(
            _RULE,
            deliverable.where.of("cadence-in"),
            "a blend makes whole frames, so its cadence is not in fields",
            "write cadence-in: frames, which carries them in fields, or leave it out",
        )


def _no_blend(deliverable: Deliverable) -> Iterator[Finding]:
    for key, given in (
        ("window", deliverable.window != 1),
        ("cuts", deliverable.cuts is not None),
    ):
        if given:
            place = deliverable.where.of(key)
            yield error(
                _RULE, place, f"{key} is for a blend, and nothing is blended", "add method: blend"
            )
