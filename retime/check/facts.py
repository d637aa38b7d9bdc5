"""What a file is, held against what the plan says that it should be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.check.fact_desk import Desk
from retime.check.facts_of_company import findings_of_company
from retime.check.facts_of_pictures import findings_of_pictures
from retime.check.facts_of_prores import findings_of_prores
from retime.check.facts_of_time import findings_of_time

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.findings import Finding
    from retime.second.facts import FileFacts

__all__ = ["fact_findings"]


def fact_findings(making: Making, edition: Edition, path: Path, facts: FileFacts) -> list[Finding]:
    """Return what is wrong with a deliverable's file, all but its pictures and its sound.

    What kind of file it is, how its pictures are coded, laid out, coloured and scanned, how fast
    they come and how many there are, its labels, from which map it says it is made, its chapters,
    and how many streams of sound and subtitles there are, inside or beside. A correct file has no
    finding; what a kind of file cannot say is none. Raises DocumentError where the map's own
    subtitles or chapters cannot be read.
    """
    desk = Desk(edition=edition, making=making, path=path, facts=facts)
    return [
        *findings_of_pictures(desk),
        *findings_of_time(desk),
        *findings_of_prores(desk),
        *findings_of_company(desk),
    ]
