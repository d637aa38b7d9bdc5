"""The film, shot by shot: what is drawn, for how many frames, and where it lies in the scans."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from demofilm import motion, reel_one, reel_two
from demofilm.cards import card, leader
from demofilm.raster import Picture
from demofilm.wear import printed

__all__ = ["FILM", "REELS", "Reel", "Shot", "film_frame"]

FILM = "The Tidewatcher's Lamp"
_MAIN_TITLE = ("The Tidewatcher\N{RIGHT SINGLE QUOTATION MARK}s", "Lamp")
_WRITTEN = " ".join(_MAIN_TITLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A shot: its name within the reel, its length and the drawing of each of its frames."""

    shot: str
    kind: str  # action or title
    name: str
    frames: int
    draw: Callable[[int], Picture]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """A reel as it was scanned: leader, shots, leader."""

    reel: str
    taken_at: int  # film frames per second, its hand-cranked shot apart
    head: tuple[Picture, ...]
    shots: tuple[Shot, ...]
    tail: tuple[Picture, ...]

    @property
    def scan(self) -> str:
        """The scan's file name."""
        return f"tidewatcher-reel-{self.reel}.mkv"

    @property
    def first(self) -> int:
        """The first frame of picture, counted from 0 in the scan."""
        return len(self.head)

    @property
    def last(self) -> int:
        """The last frame of picture, inclusive."""
        return self.first + sum(shot.frames for shot in self.shots) - 1

    @property
    def frames(self) -> int:
        """How many frames the scan holds."""
        return self.last + 1 + len(self.tail)

    def spans(self) -> list[tuple[Shot, int, int]]:
        """Every shot with its first and last frame in the scan."""
        spans, first = [], self.first
        for shot in self.shots:
            spans.append((shot, first, first + shot.frames - 1))
            first += shot.frames
        return spans


def film_frame(number: int, frame: int) -> NDArray[np.uint8]:
    """A frame of a reel's scan, worn, as luma code values; reels are counted from 0."""
    reel = REELS[number]
    return printed(_drawn(reel, frame), number + 1, frame)


def _drawn(reel: Reel, frame: int) -> Picture:
    if frame < reel.first:
        return reel.head[frame]
    for shot, first, last in reel.spans():
        if frame <= last:
            return shot.draw(frame - first)
    return reel.tail[frame - reel.last - 1]


def _title(
    *lines: str, size: float = 25, opening: str = "", foot: str = ""
) -> Callable[[int], Picture]:
    return partial(_still, lines, size, opening, foot)


def _still(lines: tuple[str, ...], size: float, opening: str, foot: str, _frame: int) -> Picture:
    return card(lines, size, opening, foot)


def _leader(*parts: tuple[int, tuple[str, ...], float, float]) -> tuple[Picture, ...]:
    """Frames of leader: how many, what is written, ground and ink."""
    return tuple(
        leader(lines, ground, ink) for count, lines, ground, ink in parts for _ in range(count)
    )


REELS = (
    Reel(
        reel="1",
        taken_at=20,
        head=_leader(
            (4, (), 0.78, 0.1),
            (9, (_WRITTEN, "Reel 1 - head"), 0.04, 0.7),
            (1, ("Start",), 0.7, 0.05),
            (4, (), 0.02, 0.5),
        ),
        shots=(
            Shot(shot="1", kind="title", name="main title", frames=40,
                 draw=_title(*_MAIN_TITLE, size=34, opening="Pellow and Thrale present",
                             foot="with Tobit Lanyard and Ida Merrowe")),
            Shot(shot="2", kind="action", name="Skarrow Point at dusk", frames=36,
                 draw=reel_one.dusk),
            Shot(shot="3", kind="title", name="Abel Quorn had kept the lamp", frames=36,
                 draw=_title("Abel Quorn had kept the lamp", "at Skarrow Point",
                             "for one and thirty years.")),
            Shot(shot="4", kind="action", name="Abel on the sea wall", frames=66,
                 draw=reel_one.sea_wall),
            Shot(shot="5", kind="action", name="the long-case clock", frames=80,
                 draw=reel_one.clock),
            Shot(shot="6", kind="title", name="flash title: high water", frames=3,
                 draw=_title("High water at nine.")),
            Shot(shot="7", kind="action", name="the oil can falls", frames=40, draw=reel_one.fall),
            Shot(shot="8", kind="title", name="The oil!", frames=16,
                 draw=_title("“The oil!”", size=30)),
        ),
        tail=_leader(
            (3, (), 0.02, 0.5),
            (5, ("End of Reel 1",), 0.04, 0.7),
            (2, (), 0.78, 0.1),
        ),
    ),
    Reel(
        reel="2",
        taken_at=22,
        head=_leader(
            (3, (), 0.78, 0.1),
            (8, (_WRITTEN, "Reel 2 - head"), 0.04, 0.7),
            (1, ("Start",), 0.7, 0.05),
            (2, (), 0.02, 0.5),
        ),
        shots=(
            Shot(shot="1", kind="title", name="That night the Constancy", frames=32,
                 draw=_title("That night the “Constancy”", "lay in the bay",
                             "without a light to steer by.")),
            Shot(shot="2", kind="action", name="the mate rows ashore (hand-cranked)",
                 frames=motion.CRANK.frames, draw=reel_two.rowing),
            Shot(shot="3", kind="action", name="Wenna lights the lamp", frames=34,
                 draw=reel_two.lamp_room),
            Shot(shot="4", kind="action", name="the light turns", frames=55,
                 draw=reel_two.beam_at_night),
            Shot(shot="5", kind="title", name="A light on Skarrow", frames=22,
                 draw=_title("“A light!", "A light on Skarrow!”", size=28)),
            Shot(shot="6", kind="action", name="Wenna on the cliff path", frames=60,
                 draw=reel_two.cliff_path),
            Shot(shot="7", kind="action", name="morning", frames=42, draw=reel_two.dawn),
            Shot(shot="8", kind="title", name="The End", frames=20,
                 draw=_title("The End", size=36, foot="A Pellow - Thrale Photoplay")),
        ),
        tail=_leader(
            (2, (), 0.02, 0.5),
            (4, ("End of Reel 2",), 0.04, 0.7),
            (2, (), 0.78, 0.1),
        ),
    ),
)  # fmt: skip
