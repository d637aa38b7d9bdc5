"""What a benchmark finds: figures held against bounds, and the table that they are told in."""

from collections.abc import Iterable, Sequence
from statistics import median
from typing import Any

import msgspec

__all__ = ["Row", "cell", "short", "table", "values"]


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One figure: the median of ``figures``, one a run.

    ``unit`` is what follows the number. At most one of ``most`` and ``least`` bounds the median;
    a row without a bound is there to be read, in the README too if it is ``told``.
    """

    name: str
    figures: Sequence[float]
    unit: str
    most: float | None = None
    least: float | None = None
    told: bool = False

    def __post_init__(self) -> None:
        """Refuse to have nothing to tell."""
        if not self.figures:
            raise ValueError("there is no figure")

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
        return f"{short(min(self.figures))} to {short(max(self.figures))}"


def table(rows: Iterable[Row]) -> str:
    """Return the rows as a Markdown table."""
    lines = ["| what | figure | runs | bound | kept |", "|---|---|---|---|---|"]
    words = {True: "yes", False: "**no**", None: ""}
    for row in rows:
        figure = f"{short(row.figure)} {row.unit}"
        lines.append(
            f"| {cell(row.name)} | {figure} | {row.spread} | {row.bound} | {words[row.ok]} |"
        )
    return "\n".join(lines)


def values(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Return the rows as plain values, with what is reckoned from them, for JSON."""
    return [
        {
            "name": row.name,
            "figure": row.figure,
            "figures": list(row.figures),
            "unit": row.unit,
            "most": row.most,
            "least": row.least,
            "bound": row.bound,
            "ok": row.ok,
            "told": row.told,
        }
        for row in rows
    ]


def cell(text: str) -> str:
    """Return a text as it stands in a cell of a Markdown table."""
    return " ".join(text.split()).replace("|", "\\|")


def short(figure: float) -> str:
    """Return a number with three figures, or all of them before the point."""
    return f"{figure:,.0f}" if abs(figure) >= 100 else f"{figure:.3g}"  # noqa: PLR2004
