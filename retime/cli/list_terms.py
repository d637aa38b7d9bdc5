"""The options of ``retime shots`` as what has to be known beside its lists."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from retime.film.speed import Speed
    from retime.lists.terms import OurReel, Terms
    from retime.speedmap.model import SpeedMap

__all__ = ["terms_of"]

_Value = TypeVar("_Value")


def terms_of(  # noqa: PLR0913 - as many as the command has options
    map_path: Path | None,
    reels: Iterable[str],
    *,
    rate: str | None,
    times: str,
    speed: str | None,
    starts: Iterable[str],
    zeros: Iterable[str],
    gauge: str | None,
    footage: str | None,
) -> Terms:
    """Read the options into what is known beside the lists."""
    from retime.errors import CommandError
    from retime.film.gauge import Footage, gauge_named
    from retime.film.notation import parse_rate
    from retime.lists.labels import frame_at, marked_drop
    from retime.lists.terms import Side, Terms

    speed_map = _map(map_path) if map_path else None
    ours = _our_reels(speed_map) if speed_map else {}
    called, only = _reel_names(reels, ours)
    counted = _read("--rate", parse_rate, rate)
    if counted is not None and counted.nominal.fps.denominator != 1:
        hint = "labels count whole frames: 24, 25, 29.97"
        raise CommandError(f"--rate: a rate of {counted} has no labels", hint)
    if speed is not None and counted is None:
        raise CommandError("--speed needs --rate: the rate of the transfer", "give both")
    said = Footage(footage) if footage else (speed_map.footage if speed_map else None)
    terms = Terms(
        rate=counted,
        side=Side(times),
        speed=_read("--speed", _steady, speed),
        footage=said or Footage.NOMINAL,
        gauge=_read("--gauge", gauge_named, gauge) or (speed_map.gauge if speed_map else None),
        reels=ours,
        called=called,
        only=only,
        starts=dict(_by_reel("--start", one, ours) for one in starts),
        zeros={
            reel: _frame(text) for reel, text in (_by_reel("--zero", one, ours) for one in zeros)
        },
    )
    for text in terms.starts.values():
        if counted is None:
            raise CommandError("--start needs --rate: what labels count", "give both")
        _read("--start", lambda one: frame_at(one, counted, drop=marked_drop(one)), text)
    return terms


def _map(path: Path) -> SpeedMap:
    """Read a map for its reels; that its table of shots is not there yet is no fault here."""
    from retime.errors import DocumentError
    from retime.speedmap.drafting import draft
    from retime.yamldoc.reading import load

    drafted = draft(load(path))
    found = [one for one in drafted.findings if one.rule != "unreadable"]
    if drafted.speed_map is None or found:
        raise DocumentError(found or drafted.findings)
    return drafted.speed_map


def _our_reels(speed_map: SpeedMap) -> dict[str, OurReel]:
    from retime.lists.terms import OurReel

    return {
        reel.name: OurReel(
            name=reel.name,
            first=reel.first,
            last=None if (stop := reel.stop()) is None else stop - 1,
            gauge=reel.gauge or speed_map.gauge,
        )
        for reel in speed_map.reels
    }


def _reel_names(said: Iterable[str], ours: dict[str, OurReel]) -> tuple[dict[str, str], str | None]:
    """Return our reels by the names that the list uses, and the one that all of it is of."""
    from retime.errors import CommandError

    called: dict[str, str] = {}
    only: str | None = None
    for text in said:
        listed, equals, name = text.rpartition("=")
        if not name.strip() or (equals and not listed.strip()):
            raise CommandError(f"--reel {text!r} names no reel", "write 001=1, or 1")
        _known(name.strip(), ours, "--reel")
        if equals:
            called[listed.strip()] = name.strip()
        elif only is not None:
            raise CommandError("--reel names two reels for the whole list", "write LISTED=REEL")
        else:
            only = name.strip()
    if called and only is not None:
        raise CommandError("--reel says both that all is of one reel and which is which")
    return called, only


def _by_reel(option: str, text: str, ours: dict[str, OurReel]) -> tuple[str | None, str]:
    reel, equals, value = text.rpartition("=")
    if not equals:
        return None, value.strip()
    _known(reel.strip(), ours, option)
    return reel.strip(), value.strip()


def _known(name: str, ours: dict[str, OurReel], option: str) -> None:
    from retime.errors import CommandError
    from retime.yamldoc.quoting import suggestion

    if ours and name not in ours:
        raise CommandError(f"{option}: the map has no reel {name!r}", suggestion(name, ours))


def _frame(text: str) -> int:
    from retime.errors import CommandError

    if not (text.isascii() and text.isdecimal() and len(text) < 10):  # noqa: PLR2004
        raise CommandError(f"--zero: {text!r} is no frame", "write a scan frame, such as 18")
    return int(text)


def _steady(text: str) -> Speed:
    from retime.film.notation import parse_speed

    return parse_speed(text).on(None, None)


def _read(option: str, reader: Callable[[str], _Value], text: str | None) -> _Value | None:
    """Read an option's text, if it was given; a mistake is told with the option's name."""
    from retime.errors import CommandError, NotationError

    try:
        return None if text is None else reader(text)
    except NotationError as error:
        raise CommandError(f"{option}: {error.text}", error.hint) from error
