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
    """What one benchmark found, by its name, on which day, and in how many rounds.

    ``failed`` says why it did not come to its end.
    """

    bench: str
    begun: str
    runs: int
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

    ``machine`` has names and versions, each by what it is the name of. A run that was broken off
    and gone on with has parts of several days, and the last command.
    """

    format: str
    command: str
    scale: str
    machine: dict[str, str]
    parts: list[Part] = []

    @property
    def rows(self) -> Iterator[Row]:
        """All rows, in their order."""
        return (row for part in self.parts for row in part.rows)

    @property
    def days(self) -> str:
        """The day on which all was measured, or the first and the last."""
        days = sorted({part.begun for part in self.parts})
        return " to ".join(dict.fromkeys((days[0], days[-1])))

    @property
    def rounds(self) -> str:
        """In how many rounds things were measured, or the fewest and the most."""
        runs = sorted({part.runs for part in self.parts})
        told = " to ".join(map(str, dict.fromkeys((runs[0], runs[-1]))))
        return f"{told} round{'' if told == '1' else 's'}"

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
