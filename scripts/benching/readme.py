"""The README's table of figures, written anew between two marks."""

from pathlib import Path

from benching.figures import Figures
from benching.rows import Row, cell, short
from benching.timing import BenchError

__all__ = ["BEGIN", "END", "figures_told", "rewrite_readme", "rewritten"]

BEGIN = "<!-- figures: scripts/bench --from FILE.json --readme README.md writes them -->"
END = "<!-- end of figures -->"
_WITH = ("CPU", "memory", "Python", "retime", "av", "ffmpeg program")


def rewrite_readme(figures: Figures, path: Path) -> None:
    """Put figures between a file's marks; raises BenchError where these are not as they should."""
    if figures.is_quick:
        raise BenchError("a quick look's figures do not belong into a README: take --scale full")
    try:
        text = path.read_bytes().decode()
        path.write_bytes(rewritten(text, figures).encode())
    except (OSError, ValueError) as error:
        raise BenchError(f"{path}: {error}") from error


def rewritten(text: str, figures: Figures) -> str:
    """Return a text with what stands between its marks replaced; raises ValueError without them."""
    for mark in (BEGIN, END):
        if (times := text.count(mark)) != 1:
            raise ValueError(f"has the mark {mark!r} {times} times, not once")
    before, _, rest = text.partition(BEGIN)
    _, found, after = rest.partition(END)
    if not found:
        raise ValueError(f"has the mark {END!r} before {BEGIN!r}")
    return f"{before}{BEGIN}\n{figures_told(figures)}\n{END}{after}"


def figures_told(figures: Figures) -> str:
    """Return what stands between the marks: on what it was measured, the table, what is missing.

    The table has the rows that are bounded, and those that are told nevertheless.
    """
    machine = "; ".join(
        f"{what} {figures.machine[what]}" for what in _WITH if what in figures.machine
    )
    lines = [
        f"Measured on {figures.days}, medians of {figures.rounds}, on: {cell(machine)}.",
        "",
        "| what | measured (from least to most) | promised |",
        "|---|---|---|",
        *(_line(row) for row in figures.rows if row.ok is not None or row.told),
    ]
    missing = [part.bench for part in figures.parts if part.failed is not None]
    if missing:
        lines += ["", f"Not measured to the end: {', '.join(missing)}."]
    return "\n".join(lines)


def _line(row: Row) -> str:
    spread = "" if len(row.figures) == 1 else f" ({row.spread})"
    promised = row.bound if row.ok is not None else ""
    missed = ": **missed**" if row.ok is False else ""
    return f"| {cell(row.name)} | {short(row.figure)} {row.unit}{spread} | {promised}{missed} |"
