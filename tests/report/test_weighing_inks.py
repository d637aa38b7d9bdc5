"""What matplotlib writes as style becomes attributes and classes, and nothing of it is lost."""

from __future__ import annotations

import re

import pytest
from weighings import everything, weighed

from retime.report.weighing_bars import span_of
from retime.report.weighing_drawing import glance, question
from retime.report.weighing_inks import inked


def test_measures_become_attributes_and_colours_the_classes_of_what_they_are_for() -> None:
    # Presentation attributes: SVG 2, 6.6, of the same names as the properties.
    drawn = '<path d="M 0 0" style="fill: none; stroke: #1a1a1a; stroke-width: 1.1"/>'
    shaded = '<path style="fill: #1a1a1a; fill-opacity: 0.5; stroke: #737373"/>'

    assert '<path d="M 0 0" class="stroke-ink" fill="none" stroke-width="1.1"/>' == inked(drawn)
    assert '<path class="fill-ink stroke-dim" fill-opacity="0.5"/>' == inked(shaded)


@pytest.mark.parametrize(
    ("style", "attributes"),
    [
        ("font-size: 8px; font-family: 'DejaVu Sans'; text-anchor: end", "font-size text-anchor"),
        ("font: 8px 'DejaVu Sans'; text-anchor: end", "font-size text-anchor"),
        ("font: bold 8px 'DejaVu Sans'", "font-weight font-size"),
        ("font: italic 700 8px 'DejaVu Sans'", "font-style font-weight font-size"),
    ],
)
def test_a_font_is_told_in_one_or_in_parts(style: str, attributes: str) -> None:
    found = dict(re.findall(r'([\w-]+)="([^"]*)"', inked(f'<text style="{style}">')))

    assert attributes.split() == list(found)
    assert "8px" == found["font-size"]


def test_a_colour_that_the_page_does_not_know_is_refused() -> None:
    with pytest.raises(KeyError, match="#123456"):
        inked('<path style="fill: #123456"/>')


def test_no_figure_has_a_colour_or_a_style_of_its_own() -> None:
    told, found = everything(), weighed(everything())
    span = span_of(told, found)
    figures = [glance(told, found, span), *(question(told, one, span) for one in found.answers)]

    for figure in figures:
        assert " style=" not in figure
        assert [] == re.findall(r'(?:fill|stroke)="(?!none")[^"]*"', figure)
        assert 'class="stroke-ink"' in figure
