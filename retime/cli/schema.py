"""``retime schema``: the JSON Schema of each format, for editors."""

from __future__ import annotations

import json
from importlib import import_module
from typing import Annotated

import typer

from retime.errors import CommandError

__all__ = ["FORMATS", "schema"]

FORMATS = {
    "map": "retime.speedmap.schema:map_schema",
    "evidence": "retime.evidence.schema:evidence_schema",
    "cadence": "retime.signal.cadence_file:cadence_schema",
    "check": "retime.report.check_schema:check_schema",
    "damage": "retime.edition.damage_file:damage_schema",
    "comparison": "retime.report.comparison_schema:comparison_schema",
    "detection": "retime.report.detected_values:detection_schema",
    "flashes": "retime.report.flash_schema:flash_schema",
    "pace": "retime.report.pace_schema:pace_schema",
    "profile": "retime.profile.schema:profile_schema",
    "report": "retime.report.schema:report_schema",
    "weighing": "retime.report.weighing_schema:weighing_schema",
}
"""Where each format's schema is made: module and function, imported when asked for."""


def schema(
    name: Annotated[
        str,
        typer.Argument(
            metavar="FORMAT",
            help="map, evidence, profile, report, comparison, weighing, pace, detection, cadence, "
            "check, damage or flashes.",
        ),
    ] = "map",
) -> None:
    """Print the JSON Schema of a format, for editors.

    It is that of the speed map unless another format is named.
    """
    if name not in FORMATS:
        raise CommandError(f'there is no format "{name}"', f"known are {', '.join(FORMATS)}")
    module, _, function = FORMATS[name].partition(":")
    made = getattr(import_module(module), function)()
    typer.echo(json.dumps(made, indent=2, ensure_ascii=False))
