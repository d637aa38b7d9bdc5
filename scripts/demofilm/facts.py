"""What is known of the film because it was drawn so: the truth file and the list of shots."""

import csv
import io
from typing import Any

import yaml

from demofilm import motion
from demofilm.raster import HEIGHT, WIDTH
from demofilm.scan import HEADER_RATE
from demofilm.story import FILM, REELS, Reel

__all__ = ["shots_csv", "truth", "truth_yaml"]

_HEADING = """\
# What is known of the demo film because it was drawn so. Made by scripts/draw-demo.
# Frames are counted from 0 in the reel's scan, first and last inclusive. taken_at is in film
# frames per second: the speed at which the movements look and measure as they do in life.
"""


def shots_csv() -> str:
    """The shots in the columns of a speed map's list."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("reel", "first", "last", "shot", "kind", "name"))
    for reel in REELS:
        for shot, first, last in reel.spans():
            table.writerow((reel.reel, first, last, shot.shot, shot.kind, shot.name))
    return text.getvalue()


def truth_yaml() -> str:
    """The truth file's text."""
    return _HEADING + yaml.safe_dump(truth(), sort_keys=False, allow_unicode=True, width=100)


def truth() -> dict[str, Any]:
    """Reels, cuts and movements as plain values."""
    return {
        "film": FILM,
        "raster": f"{WIDTH}x{HEIGHT}",
        "header_rate": HEADER_RATE,
        "reels": [_reel(reel) for reel in REELS],
        "movements": _movements(),
        "ramp": {
            "shot": "2/2",
            "frames": motion.CRANK.frames,
            "first": f"{motion.CRANK.first} fps",
            "last": f"{motion.CRANK.last} fps",
            "even_at_that_ramp": "the boat's mean pace and the stroke of its oars",
            "stroke_seconds": motion.ROWING.seconds,
        },
    }


def _reel(reel: Reel) -> dict[str, Any]:
    spans = reel.spans()
    return {
        "reel": reel.reel,
        "scan": reel.scan,
        "frames": reel.frames,
        "first": reel.first,
        "last": reel.last,
        "taken_at": reel.taken_at,
        "cuts": [first for _, first, _ in spans[1:]],
        "titles": {shot.shot: shot.frames for shot in reel.shots if shot.kind == "title"},
    }


def _movements() -> dict[str, Any]:
    return {
        "abel_walks": _walk("1/4", motion.ABEL),
        "wenna_walks": _walk("2/6", motion.WENNA),
        "pendulum": {
            "shot": "1/5",
            "frames_per_period": motion.PENDULUM.frames_per_period,
            "taken_at": motion.PENDULUM.taken_at,
            "seconds_per_period": float(motion.PENDULUM.seconds),
            "metres": round(motion.PENDULUM.metres, 4),
        },
        "oil_can_falls": {
            "shot": "1/7",
            "let_go": _frame("1", "7", motion.FALL.let_go),
            "on_the_ground": _frame("1", "7", motion.FALL.let_go + round(motion.FALL.frames)),
            "frames": round(motion.FALL.frames, 3),
            "metres": motion.FALL.metres,
            "taken_at": motion.FALL.taken_at,
        },
        "light_turns": {
            "shot": "2/4",
            "frames_per_turn": motion.LIGHT.frames_per_turn,
            "beams": 2,
            "taken_at": motion.LIGHT.taken_at,
        },
    }


def _walk(shot: str, walk: motion.Walk) -> dict[str, Any]:
    return {
        "shot": shot,
        "frames_per_step": walk.frames_per_step,
        "taken_at": walk.taken_at,
        "steps_per_minute": round(float(walk.steps_per_minute), 2),
    }


def _frame(reel_name: str, shot_name: str, frame: int) -> int:
    """A frame of a shot as a frame of its reel's scan."""
    reel = next(reel for reel in REELS if reel.reel == reel_name)
    return next(first for shot, first, _ in reel.spans() if shot.shot == shot_name) + frame
