"""What a benchmark finds: figures held against bounds, and the table that they are told in."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

__all__ = ["Row", "table", "values"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One figure: the median of ``figures``, one a run.

    ``unit`` is what follows the number. At most one of ``most`` and ``least`` bounds the median;
    a row without a bound is there to be read.
    """

    name: str
    figures: Sequence[float]
    unit: str
    most: float | None = None
    least: float | None = None

    @property
    def figure(self) -> float:
        """The median of the runs."""
        return median(self.figures)

    @property
    def ok(self) -> bool | None:
        """Whether the bound is kept; None where there is none."""
        if self.most is not None:
            return self.figure <= self.most
        if self.least is not None:
            return self.figure >= self.least
        return None

    @property
    def bound(self) -> str:
        """The bound in words."""
        if self.most is not None:
            return f"at most {self.most:g} {self.unit}"
        if self.least is not None:
            return f"at least {self.least:g} {self.unit}"
        return "none"

    @property
    def spread(self) -> str:
        """The least and the greatest figure of the runs."""
        if len(self.figures) == 1:
            return "one run"
        return f"{_short(min(self.figures))} to {_short(max(self.figures))}"


def table(rows: Iterable[Row]) -> str:
    """Return the rows as a Markdown table."""
    lines = ["| what | figure | runs | bound | kept |", "|---|---|---|---|---|"]
    words = {True: "yes", False: "**no**", None: ""}
    for row in rows:
        figure = f"{_short(row.figure)} {row.unit}"
        lines.append(f"| {row.name} | {figure} | {row.spread} | {row.bound} | {words[row.ok]} |")
    return "\n".join(lines)


def values(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Return the rows as plain values, for JSON."""
    return [
        {
            "name": row.name,
            "figure": row.figure,
            "figures": list(row.figures),
            "unit": row.unit,
            "bound": row.bound,
            "ok": row.ok,
        }
        for row in rows
    ]


def _short(figure: float) -> str:
    """Return a number with three figures, or all of them before the point."""
    return f"{figure:.0f}" if abs(figure) >= 100 else f"{figure:.3g}"  # noqa: PLR2004
