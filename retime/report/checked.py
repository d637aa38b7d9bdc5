"""What checking came to: a table for people, JSON, JUnit XML and annotations for CI services."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from rich import box
from rich.console import Group
from rich.table import Table
from rich.text import Text

from retime.check.place import FilePlace
from retime.edition.damage_file import stand_in_values

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from retime.check.result import Checked
    from retime.edition.damage import StandIn
    from retime.edition.edition import Edition
    from retime.findings import Finding

__all__ = ["annotated", "checked_json", "checked_table", "checked_values", "junit"]


def checked_table(edition: Edition, checked: Sequence[Checked]) -> RenderableType:
    """Return one row a deliverable, and below it what was found."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("deliverable")
    for name in ("planned", "seen", "right", "to the sample", "cannot tell", "wrong", "findings"):
        table.add_column(name, justify="right")
    for one in checked:
        unit = " fields" if one.in_fields else ""
        table.add_row(
            one.name,
            f"{one.planned:,}{unit}",
            f"{one.seen:,}{unit}",
            f"{one.right:,}",
            f"{one.exact:,}",
            _untold(one),
            f"{one.wrong:,}",
            f"{len(one.findings)}",
        )
    lines = [Text(told) for one in checked for told in _stand_ins(one)]
    lines += [Text(str(found)) for one in checked for found in one.findings]
    found = sum(len(one.findings) for one in checked)
    listed = " but what is listed as damaged" if any(one.damaged for one in checked) else ""
    sure = (
        f"nothing was found{listed}" if not found else f"{found} finding{'' if found == 1 else 's'}"
    )
    return Group(Text(edition.speed_map.film, "bold"), table, *lines, Text(f"{sure}"))


def _stand_ins(one: Checked) -> list[str]:
    """Return a line for each damaged frame that something else is shown for."""
    return [f"{one.path}, {_stand_in(damaged)}" for damaged in one.damaged]


def _stand_in(one: StandIn) -> str:
    runs = [
        f"{run.first}{'' if run.first == run.last else f' to {run.last}'}"
        f"{f' ({run.timecode})' if run.timecode else ''}"
        for run in one.outputs
    ]
    shows = "black is shown" if one.held is None else f"frame {one.held} of the scan is held"
    scan = "" if one.scan_frame == one.frame else f" (scan frame {one.scan_frame})"
    many = "" if len(runs) == 1 and one.outputs[0].first == one.outputs[0].last else "s"
    text = f"output frame{many} {', '.join(runs)}, reel {one.reel}, frame {one.frame}{scan}"
    return f"{text}: damaged ({one.wrong}), {shows}, as listed"


def _untold(one: Checked) -> str:
    """Return how many cannot be told, and how many of those that move."""
    if not one.untold:
        return "0"
    return f"{one.untold:,} ({one.moving_untold:,} moving)"


def checked_values(edition: Edition, checked: Sequence[Checked]) -> dict[str, Any]:
    """Return ``retime-check/1``: counts and findings by deliverable."""
    return {
        "format": "retime-check/1",
        "film": edition.speed_map.film,
        "map_sha256": edition.speed_map.sha256,
        "deliverables": [
            {
                "name": one.name,
                "file": str(one.path),
                "unit": "field" if one.in_fields else "frame",
                "planned": one.planned,
                "seen": one.seen,
                "right": one.right,
                "exact": one.exact,
                "wrong": one.wrong,
                "cannot_tell": one.untold,
                "moving": one.moving,
                "moving_cannot_tell": one.moving_untold,
                "sound_told": one.sound_told,
                "damaged": [stand_in_values(damaged) for damaged in one.damaged],
                "findings": [_finding(found) for found in one.findings],
            }
            for one in checked
        ],
    }


def _finding(found: Finding) -> dict[str, Any]:
    place = found.place
    values: dict[str, Any] = {
        "rule": found.rule,
        "severity": str(found.severity),
        "text": found.text,
        "hint": found.hint,
        "place": str(place),
    }
    if isinstance(place, FilePlace):
        values |= {"output": place.output, "timecode": place.timecode, "film": place.film}
    return values


def checked_json(edition: Edition, checked: Sequence[Checked]) -> str:
    """Return the values as JSON."""
    return json.dumps(checked_values(edition, checked), indent=1, ensure_ascii=False)


def junit(edition: Edition, checked: Sequence[Checked]) -> str:
    """Return JUnit XML: a suite a map, a case a deliverable, a failure for all that it has."""
    failed = sum(1 for one in checked if one.findings)
    suite = ET.Element(
        "testsuite",
        name=f"retime check {edition.speed_map.film}",
        tests=str(len(checked)),
        failures=str(failed),
        errors="0",
    )
    for one in checked:
        case = ET.SubElement(suite, "testcase", classname="retime.check", name=one.name)
        if one.findings:
            first = one.findings[0]
            failure = ET.SubElement(case, "failure", type=first.rule, message=first.text)
            failure.text = "\n".join(str(found) for found in one.findings)
        if one.damaged:
            ET.SubElement(case, "system-out").text = "\n".join(_stand_ins(one))
    whole = ET.Element("testsuites", tests=str(len(checked)), failures=str(failed))
    whole.append(suite)
    ET.indent(whole)
    return ET.tostring(whole, encoding="unicode", xml_declaration=True)


def annotated(checked: Sequence[Checked]) -> str:
    """Return a line a finding, as CI services take them: ``::error file=...,title=...::text``."""
    return "\n".join(
        f"::{found.severity} file={_property(str(one.path))},title={_property(found.rule)}::"
        f"{_data(f'{found.place}: {found.text}')}"
        for one in checked
        for found in one.findings
    )


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
