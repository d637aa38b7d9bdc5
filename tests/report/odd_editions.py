"""Maps for the tests of the report's page: all kinds of deliverables, and names that mean harm.

Their scans are away, which a report need not mind where the frames are stated.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from retime.edition.join import join

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from retime.edition.edition import Edition

__all__ = ["HOSTILE", "LONG", "RIGHT_TO_LEFT", "hostile", "long_film", "plain"]

HOSTILE = "<script>alert(1)<!-- \"'&amp; {{ 7*7 }} {% raw %} ]]> <b onclick=x>"
RIGHT_TO_LEFT = "\N{RIGHT-TO-LEFT OVERRIDE}מגדלור \N{HEBREW LETTER ALEF}"
LONG = "lamp" * 500

_MAP = """\
format: retime-map/1
film: {film}
gauge: 35mm
reels:
  - {{reel: {reel}, scan: {scan}, frames: 120}}
  - {{reel: 2, scan: b.mkv, frames: 160}}
shots:
  - {{reel: {reel}, first: 0, last: 49, shot: A, name: {name}}}
  - {{reel: {reel}, first: 50, last: 69, shot: B, kind: title, name: {title}}}
  - {{reel: {reel}, first: 70, last: 119, shot: {shot}}}
  - {{reel: 2, first: 0, last: 79, shot: A}}
  - {{reel: 2, first: 80, last: 159, shot: B}}
versions:
  slow: {{speed: 18 fps, titles: {{at least: 3 s}}}}
  film speed: {{speed: 24 fps}}
  fast: {{speed: 30 fps}}
  odd: {{speed: 17.3 fps, reels: {{2: 16 fps -> 20 fps}}}}
deliverables:
  slow-24: {{version: slow, profile: prores-mezzanine, rate: 24, chapters: shots}}
  slow-50i: {{version: slow, profile: prores-mezzanine, rate: 25, scanning: top-first}}
  carried: {{version: film speed, profile: prores-mezzanine, rate: 29.97, scanning: top-first,
    pulldown: "2:3"}}
  mixed: {{version: slow, profile: prores-mezzanine, rate: 24, method: blend}}
  dropping: {{version: fast, profile: prores-mezzanine, rate: 24}}
  sold: {{version: odd, profile: prores-mezzanine, rate: 25, conform-at: 24}}
  by-shot: {{version: odd, profile: prores-mezzanine, rate: 23.976, phase: per-shot}}
"""


def _edition(path: Path, wanted: Collection[str] = (), **names: str) -> Edition:
    path.write_text(
        _MAP.format(**{key: json.dumps(name) for key, name in names.items()}), encoding="utf-8"
    )
    return join(path, wanted)


def plain(folder: Path, *wanted: str) -> Edition:
    """Return an edition of an invented film, of all deliverables or of those wanted."""
    return _edition(
        folder / "lamp.yaml",
        wanted,
        film="Lamp",
        reel="1",
        scan="a.mkv",
        name="the quay",
        title="Evening",
        shot="C",
    )


def hostile(folder: Path) -> Edition:
    """Return the same with names that are markup, run the other way, or are very long."""
    return _edition(
        folder / "a <img src=x>\n&amp;.yaml",
        film=f"{HOSTILE} {RIGHT_TO_LEFT}",
        reel='1<i>"',
        scan="<svg onload=x>.mkv",
        name=HOSTILE,
        title=LONG,
        shot=RIGHT_TO_LEFT,
    )


def long_film(path: Path, *, frames: int, shots: int) -> Edition:
    """Return six deliverables of a film whose shots have each a speed of their own."""
    bounds = [frames * n // shots for n in range(shots + 1)]
    lines = ["format: retime-map/1", "film: Long", "gauge: 35mm"]
    lines += [f"reels: [{{reel: 1, scan: a.mkv, frames: {frames}}}]", "shots:"]
    for n in range(shots):
        kind = "title" if n % 5 == 0 else "action"
        span = f"first: {bounds[n]}, last: {bounds[n + 1] - 1}"
        lines.append(f"  - {{reel: 1, {span}, shot: {n + 1}, kind: {kind}, name: scene {n + 1}}}")
    lines.append("versions:")
    for name, speed in (("slow", 20), ("fast", 24)):
        lines += [f"  {name}:", f"    speed: {speed} fps", "    titles: {at least: 4 s}"]
        lines.append("    shots:")
        lines += [f"      1/{n + 1}: {16 + n * 7 % 7900 / 1000:.3f} fps" for n in range(shots)]
    lines.append("deliverables:")
    for name in ("slow", "fast"):
        for rate in (24, 25, 30):
            lines.append(
                f"  {name}-{rate}: {{version: {name}, profile: prores-mezzanine, rate: {rate}}}"
            )
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return join(path)
