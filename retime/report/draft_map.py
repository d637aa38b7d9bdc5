"""A speed map to start from: a version for every speed that the evidence makes worth presenting.

It decides what a weighing says and no more: one speed for the whole film. Reels, trims and shots
are those of the map that the evidence names, their paths told from the new file's folder.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import yaml

from retime.errors import CommandError
from retime.film.rounding import half_up
from retime.report.numbers import measured
from retime.report.weighing_measures import joined, plain
from retime.report.weighing_words import verdict_said
from retime.speedmap.document import FORMAT
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from retime.evidence.model import Evidence, Question
    from retime.evidence.weighing import Answer, Weighing
    from retime.film.speed import Speed
    from retime.speedmap.model import SpeedMap

__all__ = ["draft_map"]

_PROFILE, _RATE = "prores-mezzanine", "24"
_ASSEMBLED = ("order", "omit", "insert", "replace")
_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_./-]*(?: [A-Za-z0-9_./-]+)*")
_SWITCHES = {"y", "n", "yes", "no", "on", "off", "true", "false", "null"}
_SHORT = re.compile(r"\d{1,9}(?:\.\d{1,6}|/\d{1,9})?")
_COMMENT = 98
_ENDLESS = 10**9


def draft_map(evidence: Evidence, weighing: Weighing, path: Path) -> str:
    """Return the text of a ``retime-map/1`` that is to stand at ``path``.

    Raises:
        CommandError: no candidate is worth presenting.
    """
    versions = _versions(weighing)
    if not versions:
        raise CommandError(
            "no map can be drafted: none of the candidates is worth presenting",
            "name other candidates in the evidence",
        )
    names = _names(versions)
    head = (
        f"Drafted by retime weigh from {quoted(evidence.tree.path.name)}: a version for every "
        "speed that is worth presenting. Each is one speed for the whole film; which titles, reels "
        "and shots run at others is still to be decided."
    )
    lines = [*_comment(head), "", f"format: {FORMAT}", f"film: {_text(evidence.film)}"]
    lines.append(f"gauge: {_text(evidence.gauge.name)}")
    if evidence.footage is not None:
        lines.append(f"footage: {evidence.footage}")
    lines += _bare_reel(evidence) if evidence.speed_map is None else _film(evidence.speed_map, path)
    lines += ["", "versions:"]
    for speed, answers in versions.items():
        for answer in answers:
            lines += _comment(f"{verdict_said(answer)} Weighed: {_speaking(answer)}.", "  ")
        lines += [f"  {names[speed]}:", f"    speed: {_fps(speed)} fps"]
    lines += ["", "deliverables:"]
    for speed in versions:
        what = f"version: {names[speed]}, profile: {_PROFILE}, rate: {_RATE}"
        lines.append(f"  {names[speed]}-at-{_RATE}: {{{what}}}")
    return "\n".join(lines) + "\n"


def _versions(weighing: Weighing) -> dict[Speed, list[Answer]]:
    """Return the speeds worth presenting with the answers that present them."""
    found: dict[Speed, list[Answer]] = {}
    for answer in weighing.answers:
        for speed in answer.verdict.presentable:
            found.setdefault(speed, []).append(answer)
    return found


def _names(versions: Mapping[Speed, Iterable[Answer]]) -> dict[Speed, str]:
    """Return the versions' names, ``taking-and-showing-20``, told apart by decimals if need be."""
    places = 2
    while len({plain(speed.fps, places) for speed in versions}) < len(versions):
        places += 1
    return {
        speed: f"{_together(answer.question for answer in answers)}-{plain(speed.fps, places)}"
        for speed, answers in versions.items()
    }


def _together(questions: Iterable[Question]) -> str:
    return joined([str(one) for one in questions], "and").replace(", ", "-").replace(" ", "-")


def _speaking(answer: Answer) -> str:
    return ", ".join(one.item for one in answer.without)


def _fps(speed: Speed) -> str:
    """Return a speed as a map takes it: exactly, but for fractions of very long terms."""
    told = measured(speed.fps)
    return told if _SHORT.fullmatch(told) else str(speed.fps.limit_denominator(10**6))


def _bare_reel(evidence: Evidence) -> Iterator[str]:
    """Yield a reel of the print's length, to be filled in."""
    yield "reels:"
    yield "  - reel: 1"
    yield "    scan: reel-1.mkv    # to be filled in: the file, and its first and last of picture"
    counted = "" if evidence.length.low == evidence.length.high else "    # about: to be counted"
    yield f"    frames: {half_up(evidence.length.value)}{counted}"


def _film(speed_map: SpeedMap, path: Path) -> Iterator[str]:
    """Yield the reels and shots of a map, in its own words."""
    written = speed_map.tree.plain()
    there = _Paths(speed_map.folder, path.parent)
    if "transfer" in written:
        yield f"transfer: {_text(written['transfer'])}"
    left = [key for key in _ASSEMBLED if key in written]
    if left:
        told = f"{joined(left, 'and')} of {quoted(speed_map.tree.path.name)}"
        yield from _comment(f"Not taken over: {told}.")
    yield "reels:"
    for reel in written["reels"]:
        yield f"  - {_flow({**reel, 'scan': there.told(reel['scan'])})}"
    shots = written.get("shots")
    if isinstance(shots, str):
        yield f"shots: {_text(there.told(shots))}"
    elif shots:
        yield "shots:"
        yield from (f"  - {_flow(shot)}" for shot in shots)


class _Paths:
    """Paths that were told from one folder and are to be told from another."""

    def __init__(self, old: Path, new: Path) -> None:
        """Take both folders for what they are, links resolved."""
        self._old, self._new = old.resolve(), new.resolve()

    def told(self, address: str) -> str:
        """Return a path as it is told from the new folder; a whole path stays."""
        if Path(address).is_absolute():
            return address
        return Path(os.path.relpath(self._old / address, self._new)).as_posix()


def _flow(written: Mapping[str, str]) -> str:
    return f"{{{', '.join(f'{key}: {_text(value)}' for key, value in written.items())}}}"


def _text(text: str) -> str:
    """Return a text as YAML, in quotes where it could be taken for anything else."""
    if _PLAIN.fullmatch(text) and text.lower() not in _SWITCHES:
        return text
    return yaml.dump(text, default_style='"', width=_ENDLESS, allow_unicode=True).strip()


def _comment(text: str, indent: str = "") -> list[str]:
    lines = wrap(text, _COMMENT - len(indent), break_on_hyphens=False)
    return [f"{indent}# {line}" for line in lines]
