"""All that one run of the benchmarks has found: kept as JSON, and read again."""

import json
from collections.abc import Iterator
from pathlib import Path

import msgspec

from benching.curves import Curve
from benching.rows import Row, values
from benching.timing import BenchError

__all__ = ["FORMAT", "Figures", "Found", "Part", "read_figures", "write_figures"]

FORMAT = "retime-measures/1"
Found = Row | Curve


class Part(msgspec.Struct, kw_only=True):
    """What one benchmark found, by its name; ``failed`` says why it did not come to its end."""

    bench: str
    rows: list[Row] = []
    curves: list[Curve] = []
    failed: str | None = None

    def take(self, found: Found) -> None:
        """Add one finding."""
        if isinstance(found, Row):
            self.rows.append(found)
        else:
            self.curves.append(found)


class Figures(msgspec.Struct, kw_only=True):
    """What was found, with the command that found it and what it was measured on and with.

    ``machine`` has names and versions, each by what it is the name of; ``begun`` is the day.
    """

    format: str
    begun: str
    command: str
    scale: str
    runs: int
    machine: dict[str, str]
    parts: list[Part] = []

    @property
    def rows(self) -> Iterator[Row]:
        """All rows, in their order."""
        return (row for part in self.parts for row in part.rows)

    @property
    def is_quick(self) -> bool:
        """Whether it was a quick look, whose figures are not to be relied upon."""
        return self.scale != "full"


def write_figures(figures: Figures, path: Path) -> None:
    """Write figures as JSON, rows with what is reckoned from them; the file is whole or the old.

    Raises BenchError where it cannot be written.
    """
    told = msgspec.to_builtins(figures)
    for part, plain in zip(figures.parts, told["parts"], strict=True):
        plain["rows"] = values(part.rows)
    work = path.with_name(f".{path.name}.unfinished")
    try:
        work.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
        work.replace(path)
    except OSError as error:
        raise BenchError(f"{path}: {error}") from error


def read_figures(path: Path) -> Figures:
    """Read figures again; raises BenchError where they cannot be, saying where it lies."""
    try:
        figures = msgspec.json.decode(path.read_bytes(), type=Figures)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise BenchError(f"{path}: {error}") from error
    if figures.format != FORMAT:
        raise BenchError(f"{path} is of the format {figures.format!r}, not {FORMAT!r}")
    return figures
