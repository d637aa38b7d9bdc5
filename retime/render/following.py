"""What follows the picture into a deliverable: chapters, sound and subtitles, inside and beside."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.film.clock import clock
from retime.film.timecode import label
from retime.follow.chapters import Chapter, chapters_of
from retime.follow.loudness import Meter
from retime.follow.sound import sounding_of
from retime.follow.subtitling import subtitled_of
from retime.follow.track_samples import blocks_of
from retime.media.movie_writer import NamedPlace
from retime.media.sound_reader import SoundReader
from retime.media.sound_writer import SoundSettings, SoundTrack, write_sound
from retime.media.subtitle_track import HOLDS_SUBTITLES, ShownText, SubtitleTrack
from retime.profile.model import Container
from retime.render.beside import beside
from retime.render.flagging import with_chapters

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.follow.sound import Sounding
    from retime.follow.subtitling import Subtitled
    from retime.media.movie_writer import Companion
    from retime.profile.sound import SoundSpec
    from retime.render.order import Order

__all__ = ["accompanied"]

_WITH_CHAPTERS = {Container.MKV, Container.MOV, Container.MP4}


def accompanied(edition: Edition, making: Making, order: Order) -> Order:
    """Return an order with what follows its pictures; that of a part is cut to it."""
    order = _with_sound(edition, making, order)
    order = _with_subtitles(edition, making, order)
    chapters = _within(chapters_of(edition, making), order)
    if not chapters:
        return order
    inside: tuple[NamedPlace, ...] = ()
    if order.container in _WITH_CHAPTERS:
        inside = tuple(NamedPlace(one.name, one.time) for one in chapters)
    disc = order.profile.disc
    if order.flags is not None and disc is not None:
        fields = [2 * one.output for one in chapters]
        order = replace(order, flags=with_chapters(order.flags, disc, fields))
    marks = frozenset(one.output for one in chapters)
    listed = beside(order.final, "chapters.txt", partial(_write_list, order, chapters))
    return replace(order, chapters=inside, marks=marks, beside=(*order.beside, listed))


def _with_subtitles(edition: Edition, making: Making, order: Order) -> Order:
    """Return an order with its subtitles, beside and, where the container holds them, inside."""
    rate = order.rate.fps
    part = None if order.whole else (order.outputs.start / rate, order.outputs.stop / rate)
    found = subtitled_of(edition, making, part)
    if not found:
        return order
    files = [
        beside(order.final, one.ending, partial(one.document.write, cues=one.cues)) for one in found
    ]
    order = replace(order, beside=(*order.beside, *files))
    if order.container not in HOLDS_SUBTITLES:
        return order
    return replace(order, company=partial(_with_texts, order.container, found, order.company))


def _with_texts(
    container: str,
    found: Sequence[Subtitled],
    others: Callable[[], tuple[Companion, ...]],
) -> tuple[Companion, ...]:
    return (
        *others(),
        *(
            SubtitleTrack(
                container,
                [ShownText(cue.begin, cue.end, cue.text) for cue in one.cues if not cue.hidden],
                one.subtitles.language,
            )
            for one in found
        ),
    )


def _with_sound(edition: Edition, making: Making, order: Order) -> Order:
    """Return an order with its tracks of sound, inside or beside."""
    spec = order.profile.sound
    soundings = sounding_of(edition, making)
    if not soundings or spec is None:
        return order
    if not order.whole:
        rate = order.rate.fps
        begin, end = order.outputs.start / rate, order.outputs.stop / rate
        soundings = tuple(
            replace(one, track=replace(one.track, time_map=one.track.time_map.part(begin, end)))
            for one in soundings
        )
    heard = [(one, Meter(spec.rate, one.facts.layout)) for one in soundings]
    order = replace(order, meters=tuple((one.recording.file, meter) for one, meter in heard))
    if spec.inside(order.container):
        return replace(order, company=partial(_tracks, spec, heard))
    files = []
    for number, (one, meter) in enumerate(heard, 1):
        ending = spec.ending if len(heard) == 1 else f"{number}.{spec.ending}"
        files.append(beside(order.final, ending, partial(_write_track, spec, one, meter)))
    return replace(order, beside=(*order.beside, *files))


def _tracks(spec: SoundSpec, heard: Sequence[tuple[Sounding, Meter]]) -> tuple[SoundTrack, ...]:
    return tuple(_track(spec, one, meter) for one, meter in heard)


def _track(spec: SoundSpec, sounding: Sounding, meter: Meter) -> SoundTrack:
    settings = SoundSettings(
        codec=str(spec.codec),
        rate=spec.rate,
        layout=sounding.facts.layout,
        bits=spec.bits,
        bit_rate=spec.bit_rate,
        language=sounding.recording.language,
    )
    blocks = meter.passing(blocks_of(sounding.track, SoundReader(sounding.facts)))
    return SoundTrack(settings, blocks)


def _write_track(spec: SoundSpec, sounding: Sounding, meter: Meter, path: Path) -> None:
    write_sound(path, spec.ending, _track(spec, sounding, meter))


def _within(chapters: Sequence[Chapter], order: Order) -> tuple[Chapter, ...]:
    """Return the chapters of a part, counted from its first output frame."""
    first, rate = order.outputs.start, order.rate.fps
    begun: dict[int, Chapter] = {}
    for one in chapters:
        if one.output < order.outputs.stop:
            output = max(0, one.output - first)
            begun[output] = one._replace(output=output, time=output / rate)
    return tuple(begun.values())


def _write_list(order: Order, chapters: Sequence[Chapter], path: Path) -> None:
    """Write each chapter's label (where the rate has labels), its time and its name in a line."""
    labelled = order.rate.nominal.fps.denominator == 1
    lines = []
    for one in chapters:
        told = [clock(one.time), " ".join(one.name.split())]
        if labelled:
            told.insert(0, label(order.start + one.output, order.rate, drop=order.drop_frame))
        lines.append("\t".join(told))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
