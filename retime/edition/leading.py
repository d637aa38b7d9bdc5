"""What stands before and after the film of a deliverable, counted in its output frames."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError, NotationError
from retime.film.rounding import half_up
from retime.findings import Finding, Severity
from retime.light.raster import Fit
from retime.picture.fitting import fitted_format, fitting_of
from retime.plan.plan import Lead
from retime.speedmap.assembly import Plate

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.edition.plates import PlateSources
    from retime.film.speed import Rate
    from retime.light.format import PictureFormat
    from retime.speedmap.model import Leader

__all__ = ["check_movies", "leads_of"]

_RULE = "leader"


def leads_of(leaders: Iterable[Leader], rate: Rate, sources: PlateSources) -> tuple[Lead, ...]:
    """Return leaders by output frames: round(seconds x rate), or a movie's frames.

    Raises DocumentError for one that lasts less than half an output frame, and for files that
    are no pictures.
    """
    return tuple(_lead(one, rate, sources) for one in leaders)


def _lead(leader: Leader, rate: Rate, sources: PlateSources) -> Lead:
    if leader.movie is not None:
        source = sources.movie(leader.movie, leader.where.of("movie"))
        return Lead(frames=source.frames, plate=Plate(address=leader.movie, frame=0), moving=True)
    frames = half_up((leader.lasts or 0) * rate.fps)
    if not frames:
        text = "this piece of leader lasts less than half an output frame"
        place = leader.where.of("for" if leader.still else "black")
        raise DocumentError([Finding(place=place, rule=_RULE, text=text)])
    if leader.still is None:
        return Lead(frames=frames)
    sources.still(leader.still, leader.where.of("still"))
    return Lead(frames=frames, plate=Plate(address=leader.still))


def check_movies(
    leaders: Iterable[Leader], rate: Rate, target: PictureFormat | None, sources: PlateSources
) -> Iterator[Finding]:
    """Yield what is wrong with movies before and after the film, or odd.

    They are shown as they are: in the deliverable's raster, unless it fits scans into its own.
    """
    for leader in leaders:
        if leader.movie is None:
            continue
        place = leader.where.of("movie")
        source = sources.movie(leader.movie, place)
        if source.rate is not None and source.rate != rate.fps:
            text = f"{leader.movie} says that it has {source.rate} frames a second"
            hint = f"it runs at {rate} here, a frame to an output frame"
            severity = Severity.WARNING
            yield Finding(place=place, rule=_RULE, text=text, hint=hint, severity=severity)
        if target is None:
            continue
        text, hint = _misfit(source.picture, target)
        if text:
            yield Finding(place=place, rule=_RULE, text=f"{leader.movie} {text}", hint=hint)


def _misfit(movie: PictureFormat, target: PictureFormat) -> tuple[str, str]:
    """Say why a movie's pictures cannot stand in a deliverable, nothing where they can."""
    sizes = [f"{one.width}x{one.height}" for one in (movie, target)]
    aspects = [one.sample_aspect or 1 for one in (movie, target)]
    if target.fit is Fit.KEEP:
        if sizes[0] != sizes[1]:
            hint = "have it made in that raster, or give the deliverable raster: pad"
            return f"is {sizes[0]}, and the deliverable is {sizes[1]}", hint
        if aspects[0] != aspects[1]:
            text = f"has a sample aspect of {aspects[0]}, and the deliverable {aspects[1]}"
            return text, "have it made with that aspect"
    for what in ("primaries", "transfer"):
        one, other = getattr(movie, what), getattr(target, what)
        if one != other and 2 not in {one, other}:  # noqa: PLR2004 - H.273's code for unspecified
            text = f"has colour {what} {one}, and the deliverable {other} (codes of ITU-T H.273)"
            return text, "have it made in the deliverable's colour"
    try:
        if fitting_of(movie, target) is not None:
            fitted_format(movie, target)
    except NotationError as error:
        return f"cannot stand in the deliverable: {error.text}", error.hint
    return "", ""
