"""The report as one page of HTML, to be read on a screen or printed on A4.

The page needs nothing beside it: no script, no style sheet, no font and no picture from elsewhere,
and its content security policy says so. What it tells is what the report's values tell.
"""

from __future__ import annotations

import re
from fractions import Fraction
from platform import python_version
from typing import TYPE_CHECKING, Any

from retime import __version__
from retime.film.clock import clock
from retime.report.edition_cadences import cadences_of
from retime.report.edition_drift import drift_figure
from retime.report.edition_holds import drops_of, holds_of
from retime.report.edition_speeds import speed_figures
from retime.report.edition_sums import figures_of, kind_said, rows_of_making
from retime.report.edition_versions import shots_of, version_rows
from retime.report.numbers import decimal, milliseconds, signed
from retime.report.paces import paces_by_reel
from retime.report.paper import pages, style_of
from retime.report.plotting import HIGH, WIDE
from retime.report.stretches import passages
from retime.report.values import report_values
from retime.report.words import cadences_said, speeds_said

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from retime.edition.edition import Edition, Making
    from retime.report.paces import ReelPaces

__all__ = ["edition_page"]

_PLAIN = re.compile(r"\w[\w.-]{0,60}", re.ASCII)  # names that a shell takes as they are
_LIBRARIES = ("av", "jinja2", "msgspec", "pydantic", "pyyaml")


def edition_page(edition: Edition) -> str:
    """Return the page; the same edition gives the same text.

    What cannot be written in UTF-8, as in the name of a file of another coding, becomes a question
    mark.
    """
    environment, values = pages(), report_values(edition)
    paces = {name: paces_by_reel(timeline) for name, timeline in edition.timelines.items()}
    pairs = list(zip(edition.makings, values["deliverables"], strict=True))
    versions, name = version_rows(edition), edition.speed_map.tree.path.name
    page = environment.get_template("edition.html").render(
        film=values["film"],
        facts=_facts(edition),
        style=style_of(environment, "paper.css", "screen.css", "edition.css"),
        map_name=name,
        map_argument=name if _PLAIN.fullmatch(name) else "MAP",
        digest=values["map_sha256"],
        versions=versions,
        unmade=[name for name in edition.speed_map.versions if name not in edition.timelines],
        warnings=edition.warnings,
        compared=[_compared(making, told) for making, told in pairs],
        speeds=speed_figures({one.name: edition.timelines[one.name] for one in versions}),
        deliverables=[
            _deliverable(edition, making, told, paces[making.deliverable.version])
            for making, told in pairs
        ],
        shots=[(one.name, list(shots_of(edition, one.name))) for one in versions],
        box=f"0 0 {WIDE} {HIGH}",
        made_by=_made_by(),
    )
    return page.encode("utf-8", "replace").decode("utf-8")


def _facts(edition: Edition) -> str:
    speed_map = edition.speed_map
    reels, versions = len(speed_map.reels), len(edition.timelines)
    return (
        f"{speed_map.gauge.name}, {reels} reel{'' if reels == 1 else 's'}; "
        f"{versions} version{'' if versions == 1 else 's'}, "
        f"{len(edition.makings)} deliverable{'' if len(edition.makings) == 1 else 's'}."
    )


def _compared(making: Making, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a deliverable's row among all."""
    plan = making.plan
    return {
        **told,
        "late": signed(milliseconds(plan.runtime - plan.timeline.duration), 3),
        "drift_ms": f"{told['drift']['max_ms']:.3f}" if told["drift"] else "",
    }


def _deliverable(
    edition: Edition, making: Making, told: Mapping[str, Any], paces: Sequence[ReelPaces]
) -> dict[str, Any]:
    found = list(passages(making.plan))
    return {
        "name": told["name"],
        "kind": kind_said(making, told),
        "sums": list(figures_of(making, told)),
        "rows": list(rows_of_making(edition, making, told)),
        "reels": list(_reels(making, told, paces)),
        "cadences": cadences_of(making, told["stretches"], found),
        "in_fields": making.plan.carry.in_fields,
        "drift": drift_figure(making.plan),
        "drift_said": _drift_said(told),
        "holds": list(holds_of(making.plan, told["stretches"], found)),
        "drops": list(drops_of(making.plan)),
        "dropped": told["dropped"],
        "chapters": [
            {**one, "time": clock(Fraction(one["seconds"]))} for one in told.get("chapters", ())
        ],
    }


def _reels(
    making: Making, told: Mapping[str, Any], paces: Sequence[ReelPaces]
) -> Iterator[dict[str, Any]]:
    plan = making.plan
    for reel, values, own in zip(plan.timeline.reels, told["reels"], paces, strict=True):
        end = values["drift_end_ms"]
        yield {
            "name": reel.name,
            "frames": reel.positions,
            "outputs": f"{values['output_first']:,} to {values['output_last']:,}",
            "feet": decimal(Fraction(values["length"]["feet"]), 1),
            "fps": speeds_said(own, plan),
            "cadences": cadences_said(own, plan).split("\n"),
            "end": "" if end is None else signed(end, 3),
        }


def _drift_said(told: Mapping[str, Any]) -> str:
    drift = told["drift"]
    if drift is None:
        return ""
    ends = ", ".join(
        f"{signed(one['drift_end_ms'], 3)} ms at the end of reel {one['reel']}"
        for one in told["reels"]
    )
    return f"At most {drift['max_ms']:.3f} ms, rms {drift['rms_ms']:.3f} ms; {ends}."


def _made_by() -> str:
    from importlib.metadata import version  # noqa: PLC0415 - costs more than the page's words

    told = [f"{name} {version(name)}" for name in _LIBRARIES]
    return f"retime {__version__}, Python {python_version()}, {', '.join(told)}"
