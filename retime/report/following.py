"""What follows the picture, as values of a report and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.report.numbers import decimal, said

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.edition.edition import Edition, Making

__all__ = ["following_said", "following_values", "rows_of"]


def following_values(edition: Edition, making: Making) -> dict[str, Any]:
    """Return what there is of sound, subtitles, chapters and a score to be met."""
    deliverable, told = making.deliverable, {}
    if deliverable.sound:
        told["sound"] = _sound(edition, making)
    if deliverable.subtitles:
        told["subtitles"] = _subtitles(edition, making)
    if deliverable.chapters is not None:
        told["chapters"] = _chapters(edition, making)
    met = edition.met.get(deliverable.version)
    if met is not None:
        told["meet"] = [
            {
                "cue": name,
                **said(speed=one.speed.fps, begins=one.begins, ends=one.ends, late=one.late),
                "bound": None if one.bound is None else str(one.bound),
            }
            for name, one in zip(met.names, met.passages, strict=True)
        ]
    return told


def _sound(edition: Edition, making: Making) -> list[dict[str, Any]]:
    from retime.follow.sound import heard_of, sounding_of  # noqa: PLC0415 - only where there is any

    values = []
    for one in sounding_of(edition, making):
        heard = heard_of(one)
        values.append(
            {
                "file": one.recording.file,
                "follows": one.recording.follows.text if one.recording.follows else None,
                "pitch": str(one.recording.pitch),
                "channels": one.facts.channels,
                "rate": one.track.rate,
                "samples": one.track.samples,
                **said(
                    silence_before=heard.silence_before,
                    silence_between=heard.silence_between,
                    silence_after=heard.silence_after,
                    left_out_before=heard.left_out_before,
                    left_out_after=heard.left_out_after,
                ),
            }
        )
    return values


def _subtitles(edition: Edition, making: Making) -> list[dict[str, Any]]:
    from retime.follow.subtitling import subtitled_of  # noqa: PLC0415 - only where there are any

    values = []
    for one in subtitled_of(edition, making):
        before = [speed.before for speed in one.speeds if speed.before is not None]
        after = [speed.after for speed in one.speeds if speed.after is not None]
        values.append(
            {
                "file": one.subtitles.file,
                "follows": one.subtitles.follows.text if one.subtitles.follows else None,
                "cues": len(one.cues),
                "fastest_before": round(float(max(before)), 2) if before else None,
                "fastest_after": round(float(max(after)), 2) if after else None,
            }
        )
    return values


def _chapters(edition: Edition, making: Making) -> list[dict[str, Any]]:
    from retime.follow.chapters import chapters_of  # noqa: PLC0415 - only where there are any

    return [
        {
            "name": one.name,
            "output": one.output,
            **said(seconds=one.time),
            **({"unasked": True} if one.unasked else {}),
        }
        for one in chapters_of(edition, making)
    ]


def following_said(edition: Edition, making: Making) -> list[tuple[str, str]]:
    """Return the same as rows of a label and a sentence."""
    return rows_of(edition, making, following_values(edition, making))


def rows_of(edition: Edition, making: Making, values: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return what ``following_values`` found as such rows."""
    rows: list[tuple[str, str]] = []
    for one in values.get("sound", ()):
        told = f"{one['file']}, {one['samples']:,} samples"
        if one["follows"]:
            told += f", from {one['follows']}, pitch {one['pitch']}"
        rows.append(("sound", told))
    for one in values.get("subtitles", ()):
        told = f"{one['file']}, {one['cues']} cues"
        if one["fastest_after"] is not None:
            told += f", at most {one['fastest_after']} characters a second"
        if one["fastest_before"] is not None:
            told += f" ({one['fastest_before']} before)"
        rows.append(("subtitles", told))
    if "chapters" in values:
        rows.append(("chapters", _chapters_said(making, values["chapters"])))
    met = edition.met.get(making.deliverable.version)
    if met is not None:
        for name, one in zip(met.names, met.passages, strict=True):
            told = f"{decimal(one.speed.fps, 3)} fps up to {name}"
            if one.bound is not None:
                told += f", which comes {decimal(one.late, 3)} s late"
            rows.append(("meets", told))
    return rows


def _chapters_said(making: Making, chapters: Sequence[Mapping[str, Any]]) -> str:
    """Return how many chapters there are, and which of them nobody asked for."""
    told = str(len(chapters))
    if not any("unasked" in one for one in chapters):
        return told
    return f"{told} (one for the {'head' if making.plan.head else 'opening'})"
