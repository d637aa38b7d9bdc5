"""The demo film's movements, measured in its pictures: each within 3 % of what it was drawn to be.

The boxes were chosen by eye, as a user would; what is true is in demo_media/truth.yaml.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from retime.light.raster import parse_area
from retime.pace.counting import Paced
from retime.pace.measuring import look_at, measured
from retime.pace.motion import parse_motion

MEDIA = Path(__file__).resolve().parents[2] / "demo_media"
TRUTH = yaml.safe_load((MEDIA / "truth.yaml").read_text(encoding="utf-8"))["movements"]

MOVEMENTS = {
    "abel_walks": (1, (130, 195), "46,200,140,210", "413,200,140,210", "walk", "frames_per_step"),
    "wenna_walks": (2, (221, 280), "440,330,150,90", "161,330,150,90", "walk", "frames_per_step"),
    "pendulum": (1, (196, 275), "230,220,150,240", None, "pendulum 1 m", "frames_per_period"),
    "oil_can_falls": (1, (279, 318), "295,30,80,410", None, "fall 4.9 m", "frames"),
}


def seen(name: str) -> Paced:
    reel, frames, box, box_to, motion, _ = MOVEMENTS[name]
    areas = parse_area(box), None if box_to is None else parse_area(box_to)
    scan = MEDIA / f"tidewatcher-reel-{reel}.mkv"
    paced = measured(look_at(scan, frames, areas, cache=None), parse_motion(motion))
    assert isinstance(paced, Paced), paced
    return paced


@pytest.mark.parametrize("name", MOVEMENTS)
def test_the_demos_movements_are_measured_within_3_per_cent(name: str) -> None:
    truth = TRUTH[name][MOVEMENTS[name][-1]]
    paced = seen(name)

    assert paced.frames == pytest.approx(truth, rel=0.03)
    assert abs(paced.frames - truth) < 3 * paced.uncertainty


def test_abels_stride_is_told_as_what_else_may_be_meant() -> None:
    """He carries a lantern in one hand, so that a step is not quite like the next."""
    strides = [one for one in seen("abel_walks").others if one.strength > 0.8]

    assert [pytest.approx(22, rel=0.03)] == [one.frames for one in strides]


def test_the_fall_is_told_to_begin_and_to_end_where_it_does() -> None:
    told = seen("oil_can_falls")

    assert (TRUTH["oil_can_falls"]["let_go"], TRUTH["oil_can_falls"]["on_the_ground"]) == (289, 309)
    assert "let go at frame 289.0, on the ground at 309." in told.notes[0]
