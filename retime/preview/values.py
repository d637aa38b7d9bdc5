"""The page's data, ``retime-preview/1``: plain values, fractions as texts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.film.rounding import half_up
from retime.preview.making import delivered_name
from retime.preview.speeds import paces_of
from retime.speedmap.model import Method

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from retime.film.speed import Rate, Speed
    from retime.preview.deliveries import Delivery
    from retime.preview.excerpt import Excerpt
    from retime.preview.making import Made, Work
    from retime.preview.speeds import Paces
    from retime.preview.subject import Subject

__all__ = ["preview_values"]

_FORMAT = "retime-preview/1"
_LONGEST = 100  # digits, as in every other of the house's formats
_PLACES = 12


def preview_values(
    work: Work, made: Made, speeds: Sequence[Speed], rates: Sequence[Rate]
) -> dict[str, Any]:
    """Return what the page is told."""
    subject = work.subject
    return {
        "format": _FORMAT,
        "film": subject.film,
        "source": subject.source.name,
        "from_map": subject.from_map,
        "map_sha256": subject.map_sha256,
        "gauge": subject.gauge.name,
        "frames_per_foot": exact(subject.per_foot),
        "frames": subject.frames,
        "speeds": [exact(speed.fps) for speed in speeds],
        "rates": [exact(rate.fps) for rate in rates],
        "versions": [
            {
                "name": one.name,
                "speed": None if one.speed is None else exact(one.speed.fps),
                "said": one.said,
                "runtime": exact(one.timeline.duration),
            }
            for one in subject.versions
        ],
        "excerpts": [_excerpt(subject, one, made.sizes[one.key]) for one in work.excerpts],
        "delivered": [_delivered(one) for one in work.deliveries],
        "flashes": {"found": made.flashing.found, "said": made.flashing.said},
    }


def _excerpt(subject: Subject, excerpt: Excerpt, size: tuple[int, int]) -> dict[str, Any]:
    scan = subject.scan_named(excerpt.reel)
    if scan is None:
        raise TypeError(excerpt.reel)
    numbers = range(excerpt.first, excerpt.last + 1)
    told: dict[str, Any] = {
        "key": excerpt.key,
        "title": excerpt.title,
        "name": excerpt.name,
        "reel": excerpt.reel,
        "shot": excerpt.shot,
        "kind": None if excerpt.kind is None else str(excerpt.kind),
        "first": scan.told(excerpt.first),
        "place": excerpt.first
        - scan.reel.first,  # in film frames, from the reel's first of picture
        "frames": excerpt.frames,
        "folder": f"pictures/{excerpt.key}",
        "width": size[0],
        "height": size[1],
        "why": excerpt.why,
        "speeds": {
            one.name: _paces(paces)
            for one in subject.versions
            if (paces := paces_of(one.timeline, excerpt)) is not None
        },
    }
    if scan.sifting is not None:
        # Film frames of a transfer bear the numbers of the scan frames in which they begin.
        told["numbers"] = [scan.told(frame) for frame in numbers]
    return told


def _delivered(delivery: Delivery) -> dict[str, Any]:
    showing, method = delivery.showing, delivery.method
    changing = delivery.paces.first != delivery.paces.last
    told: dict[str, Any] = {
        "excerpt": delivery.excerpt.key,
        "version": delivery.version,
        "deliverable": delivery.deliverable,
        "speed": None if changing else exact(delivery.paces.first.fps),
        "speeds": _paces(delivery.paces) if changing else None,
        "rate": exact(delivery.rate.fps),
        "run_change": exact(delivery.run_change),
        "method": str(method),
        "file": delivered_name(delivery),
        "output_first": showing.output,
        "frames": showing.frames,
    }
    if method is Method.BLEND:
        told["mixes"] = [
            [[frame, exact(weight)] for frame, weight in run.mix]
            for run in showing.runs
            for _ in range(run.times)
        ]
    else:
        told["shows"] = [[run.mix[0][0], run.times] for run in showing.runs]
    return told | {"cadence": showing.cadence, "nearest": showing.nearest}


def _paces(paces: Paces) -> str | dict[str, str]:
    first, last = exact(paces.first.fps), exact(paces.last.fps)
    return first if first == last else {"from": first, "to": last}


def exact(x: Fraction) -> str:
    """Return a fraction as an exact text, or to 12 decimals where that is over 100 digits."""
    bits = x.numerator.bit_length() + x.denominator.bit_length()
    if bits <= _LONGEST * 3.33:
        return str(x)
    whole, rest = divmod(half_up(x * 10**_PLACES), 10**_PLACES)
    return f"{whole}.{rest:0{_PLACES}}"
