"""All figures as one page of HTML: tables, and plots of what grows.

The page needs nothing beside it, and its content security policy lets in its own style alone.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path

from jinja2 import ChoiceLoader, FileSystemLoader

from benching.figures import Figures
from benching.plots import plots, strip
from benching.rows import Row, short
from retime.report.paper import pages, style_of

__all__ = ["page_of"]

_LEANING = ("the same", "on one core, the same")


def page_of(figures: Figures) -> str:
    """Return the page; the same figures give the same text."""
    environment = pages()
    mine = FileSystemLoader(Path(__file__).parent)
    environment.loader = ChoiceLoader([loader for loader in (mine, environment.loader) if loader])
    bounded = [row for row in figures.rows if row.ok is not None]
    page = environment.get_template("page.html").render(
        figures=figures,
        style=style_of(environment, "paper.css", "page.css"),
        bounded=bounded,
        missed=[*_missed(figures.rows)],
        plots=plots(curve for part in figures.parts for curve in part.curves),
        strip=strip,
        short=short,
    )
    return page.encode("utf-8", "replace").decode("utf-8")


def _missed(rows: Iterable[Row]) -> Iterator[tuple[str, Row]]:
    """Yield rows whose bound is missed, with a name that tells of what also where it stands alone.

    In a table, "the same: our peak memory" goes on from the row above it.
    """
    above = ""
    for row in rows:
        leaning = row.name.startswith(_LEANING)
        above = above if leaning else row.name
        if row.ok is False:
            yield f"{above}; {row.name}" if leaning else row.name, row
