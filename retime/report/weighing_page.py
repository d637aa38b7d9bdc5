"""A weighing as one page of HTML, to be read on a screen or printed on A4.

The page needs nothing beside it: no script, no style sheet, no font and no picture from elsewhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime import __version__
from retime.film.gauge import Footage, frames_per_foot
from retime.report.paper import pages, style_of
from retime.report.weighing_bars import span_of
from retime.report.weighing_doubts import (
    carrier_said,
    conflict_said,
    settling_purpose,
    settling_said,
    settling_title,
    suspect_said,
)
from retime.report.weighing_drawing import glance, question
from retime.report.weighing_measures import (
    ASKED,
    HAPPENED,
    grouped,
    joined,
    length_frames_said,
    plain,
    ranges_said,
    speed,
)
from retime.report.weighing_rows import candidate_heads, candidate_rows, item_rows, without_rows
from retime.report.weighing_sections import fit_said, section_rows
from retime.report.weighing_words import (
    FACTORS,
    WORDINGS,
    best_said,
    groups_said,
    left_out_said,
    link_said,
    notes_on,
    overall_said,
    presented_said,
    strengths_of,
    verdict_said,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.evidence.model import Evidence, Item
    from retime.evidence.weighing import Answer, Weighing

__all__ = ["weighing_page"]

_ABREAST = 5
"""So many candidates stand side by side on A4 with what was said before them."""


class _Abreast(Struct, frozen=True, kw_only=True):
    """The candidates of one table."""

    first: int
    stop: int
    heads: tuple[str, ...]


def weighing_page(evidence: Evidence, weighing: Weighing) -> str:
    """Return the page; the same weighing gives the same text."""
    span, environment = span_of(evidence, weighing), pages()
    return environment.get_template("weighing.html").render(
        style=style_of(environment, "paper.css", "screen.css", "weighing.css"),
        evidence=evidence,
        version=__version__,
        facts=_facts(evidence),
        overall=overall_said(weighing),
        glance=glance(evidence, weighing, span) if len(weighing.answers) > 1 else "",
        reading=_reading(evidence, weighing),
        links=[link_said(link) for link in evidence.links],
        answers=[_answer(evidence, answer, span) for answer in weighing.answers],
        conflicts=[conflict_said(one, evidence.items) for one in weighing.conflicts],
        suspect=suspect_said(weighing),
        rows=list(item_rows(evidence)),
        remarks=(*groups_said(evidence.items), *left_out_said(evidence.items)),
        abreast=list(_abreast(evidence)),
        scores=[_score(evidence, item) for item in evidence.items if item.score is not None],
        factors=FACTORS,
        wordings=WORDINGS,
    )


def _facts(evidence: Evidence) -> str:
    footage = evidence.footage or Footage.NOMINAL
    per_foot = plain(frames_per_foot(evidence.gauge, footage), 4)
    frames = evidence.length.value
    speeds = joined([speed(one) for one in evidence.candidates], "and")
    count = len(evidence.items)
    return (
        f"{evidence.gauge.name}, {grouped(frames, 0)} film frames: "
        f"{length_frames_said(evidence, frames)}, {per_foot} frames to the foot. "
        f"{count} item{'' if count == 1 else 's'} of evidence; "
        f"candidate{'' if len(evidence.candidates) == 1 else 's'} {speeds} fps."
    )


def _answer(evidence: Evidence, answer: Answer, span: tuple[float, float]) -> dict[str, Any]:
    asked = ASKED[answer.question]
    return {
        "happened": HAPPENED[answer.question],
        "presented": presented_said(answer.verdict),
        "title": asked[0].upper() + asked[1:],
        "verdict": verdict_said(answer),
        "notes": notes_on(answer, evidence.items),
        "figure": question(evidence, answer, span),
        "best": best_said(answer),
        "half": ranges_said(answer.curve.range(0.5)),
        "most": ranges_said(answer.curve.range(0.9)),
        "name": str(answer.question),
        "heads": [head[:1].upper() + head[1:] for head in candidate_heads(answer)],
        "candidates": list(candidate_rows(answer)),
        "strengths": strengths_of(answer),
        "carrier": carrier_said(answer),
        "without": list(without_rows(answer)),
        "settling_title": settling_title(answer),
        "settling_purpose": settling_purpose(answer) if settling_title(answer) else "",
        "settling": settling_said(answer),
    }


def _reading(evidence: Evidence, weighing: Weighing) -> str:
    """Return how the figures are to be read, as far as there is something to read."""
    told = (
        "Above, how much every speed is supported: the strong part is the shortest range that "
        "holds half of the support, the faint part that which holds 90 %. Full lines are the "
        "candidates worth presenting, dotted lines the others. Below, the speeds that each item "
        "allows: the stronger, the more it is trusted; a diamond is what it says, an arrow an "
        "open end."
    )
    about = {item.id: item.question for item in evidence.items}
    if any(
        about[one] is not answer.question
        for answer in weighing.answers
        for one in answer.curve.items
    ):
        told += " What comes over a link is dashed, and as wide as the link makes it."
    if any(item.score is not None for item in evidence.items):
        told += (
            " Last, the sections of a score with one standard uncertainty, hollow where one sticks "
            "out; the grey band is the speed that they have in common, or that a run of them has."
        )
    return told


def _abreast(evidence: Evidence) -> Iterator[_Abreast]:
    """Yield as many candidates as can stand side by side."""
    heads = [speed(one) for one in evidence.candidates]
    for first in range(0, len(heads), _ABREAST):
        stop = min(first + _ABREAST, len(heads))
        yield _Abreast(first=first, stop=stop, heads=tuple(heads[first:stop]))


def _score(evidence: Evidence, item: Item) -> dict[str, Any]:
    fit = item.score
    if fit is None:
        return {}
    return {"id": item.id, "fit": fit_said(fit), "rows": list(section_rows(evidence, fit))}
