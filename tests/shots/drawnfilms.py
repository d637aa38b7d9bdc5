"""Films drawn by chance, with what is known of them because they were drawn so.

A film is a row of shots: scenes in which something moves, seen by a camera that stands, pans or is
held in the hand, and titles, some of them a few frames long. They meet in cuts, dissolves and
fades. Over them lies what years leave on film, and what a finder of shots may stumble over: dirt,
scratches, grain, weave, strong flicker, flashes, tints that change, colour that was painted on by
hand, and splices at which frames are lost and the picture jumps.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from retime.picture.glyphs import font_path

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.random import Generator
    from numpy.typing import NDArray

    Picture = NDArray[np.float32]
    Scene = Callable[[int], Picture]

__all__ = ["HEIGHT", "WIDTH", "Film", "Join", "Known", "drawn"]

WIDTH, HEIGHT = 160, 120
_BROAD, _TALL = 300, 220  # the world that a camera sees a part of
_WORDS = (
    *("the", "lamp", "was", "lit", "and", "nobody", "came", "that", "night", "over", "water"),
    *("Abel", "Wenna", "Quorn", "Skarrow", "a", "ship", "without", "light", "years", "keeper"),
    *("of", "home", "Constancy", "who", "saw", "it", "morning", "storm", "letter", "again"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A shot as it was drawn: its frames, both included, and whether it is a title."""

    first: int
    last: int
    title: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """How two shots meet: ``cut``, ``dissolve`` or ``fade``, over these frames.

    A cut's ``first`` is the frame after it; the others' frames are those that are mixed with
    another picture or with black, both included.
    """

    kind: str
    first: int
    last: int


@dataclass(slots=True)
class Film:
    """Pictures of shape (frames, rows, columns) in codes of 0 to 255, and what is known of them."""

    pictures: NDArray[np.uint8]
    shots: list[Known] = field(default_factory=list)
    joins: list[Join] = field(default_factory=list)

    @property
    def cuts(self) -> list[int]:
        """The first frames after cuts."""
        return [join.first for join in self.joins if join.kind == "cut"]


def drawn(seed: int, shots: int = 8) -> Film:
    """Return a film of so many shots; the same seed gives the same film."""
    chance = np.random.default_rng(seed)
    film = Film(np.zeros((0, HEIGHT, WIDTH), np.uint8))
    wear = _Wear(chance)
    made: list[Picture] = []
    before: Scene | None = None
    stop = 0  # how many frames of the shot before there were, for a dissolve to go on from
    was_title, join = True, "begin"
    for number in range(shots):
        title = not was_title and chance.random() < 0.45
        flash = title and chance.random() < 0.3
        length = int(chance.integers(2, 6) if flash else chance.integers(16, 56))
        scene = _title(chance) if title else _scene(chance, length + 40)
        if number and (flash or join == "after flash"):
            join = "cut"
        elif number:
            join = str(chance.choice(["cut", "cut", "cut", "dissolve", "fade"]))
        at = len(made)
        if join == "dissolve" and before is not None:
            span = int(chance.integers(8, 29))
            for step in range(span):
                part = np.float32((step + 1) / (span + 1))
                made.append((1 - part) * before(stop + step) + part * scene(step))
            film.joins.append(Join(kind="dissolve", first=at, last=at + span - 1))
            film.shots[-1] = Known(
                first=film.shots[-1].first, last=at + span // 2 - 1, title=was_title
            )
            begin, taken = at + span // 2, span
        elif join == "fade":
            begin, taken = _fade(chance, made, film, scene)
        else:
            begin, taken = at, 0
            if number:
                film.joins.append(Join(kind="cut", first=at, last=at))
        shot = [scene(taken + step) for step in range(length)]
        if not title:
            shot = _troubled(chance, shot)
        made += shot
        film.shots.append(Known(first=begin, last=len(made) - 1, title=title))
        before, stop, was_title = scene, taken + length, title
        join = "after flash" if flash else ""
    film.pictures = np.stack([wear.worn(picture) for picture in made])
    return film


def _fade(chance: Generator, made: list[Picture], film: Film, scene: Scene) -> tuple[int, int]:
    """Fade out what was made last and the next scene in; return where it begins, and its frame.

    One of the two may be a cut to or from black.
    """
    kind = chance.choice(["both", "both", "out", "in"])
    out = min(int(chance.integers(7, 22)), film.shots[-1].last - film.shots[-1].first - 3)
    comes = int(chance.integers(7, 22))
    black = int(chance.integers(2, 9))
    end = len(made)
    if kind != "in":
        for step in range(out):
            made[end - out + step] = made[end - out + step] * np.float32(1 - (step + 1) / (out + 1))
        film.joins.append(Join(kind="fade", first=end - out, last=end - 1))
    if kind == "in":
        black = 0
        # A cut to black: what fades in belongs to the later shot from its first dark frame on.
        film.joins.append(Join(kind="cut", first=end, last=end))
    made += [np.zeros((HEIGHT, WIDTH), np.float32)] * black
    if kind == "out":
        film.shots[-1] = Known(
            first=film.shots[-1].first, last=len(made) - 1, title=film.shots[-1].title
        )
        film.joins.append(Join(kind="cut", first=len(made), last=len(made)))
        return len(made), 0
    begin = end + black // 2
    film.shots[-1] = Known(first=film.shots[-1].first, last=begin - 1, title=film.shots[-1].title)
    start = len(made)
    for step in range(comes):
        made.append(scene(step) * np.float32((step + 1) / (comes + 1)))
    film.joins.append(Join(kind="fade", first=start, last=start + comes - 1))
    return begin, comes


# Scenes.


def _scene(chance: Generator, length: int) -> Scene:
    """Return a scene: a world, a camera that sees a part of it, and what moves in it."""
    world = _world(chance)
    track = _track(chance, length)
    movers = [_mover(chance) for _ in range(int(chance.integers(1, 5)))]

    def picture(frame: int) -> Picture:
        seen = world.copy()
        for mover in movers:
            mover(seen, frame)
        return _cropped(seen, *track[min(frame, length - 1)])

    return picture


def _world(chance: Generator) -> Picture:
    rows, columns = np.mgrid[0:_TALL, 0:_BROAD].astype(np.float32)
    low, high = chance.uniform(15, 70), chance.uniform(110, 225)
    world = np.full((_TALL, _BROAD), low, np.float32)
    horizon = chance.uniform(0.35, 0.75) * _TALL
    sky = high - (high - low) * chance.uniform(0.1, 0.6) * rows / _TALL
    world = np.where(rows < horizon, sky, low + 0.3 * (high - low) * rows / _TALL)
    world += chance.uniform(4, 22) * _soft_noise(chance, int(chance.integers(6, 30)))
    for _ in range(int(chance.integers(3, 12))):
        left, top = chance.uniform(0, _BROAD), chance.uniform(0.1, 0.9) * _TALL
        wide, tall = chance.uniform(8, 90), chance.uniform(8, 90)
        tone = np.float32(chance.uniform(10, 230))
        if chance.random() < 0.5:
            inside = (abs(columns - left) < wide / 2) & (abs(rows - top) < tall / 2)
        else:
            inside = ((columns - left) / wide) ** 2 + ((rows - top) / tall) ** 2 < 0.25
        world = np.where(inside, 0.15 * world + 0.85 * tone, world)
    world += chance.uniform(1, 9) * _soft_noise(chance, int(chance.integers(2, 6)))
    return np.asarray(np.clip(world, 4, 250), np.float32)


def _soft_noise(chance: Generator, grain: int) -> Picture:
    coarse = chance.normal(0, 1, (_TALL // grain + 3, _BROAD // grain + 3)).astype(np.float32)
    rows = np.arange(_TALL) / grain
    columns = np.arange(_BROAD) / grain
    top, left = rows.astype(int), columns.astype(int)
    down = (rows - top).astype(np.float32)[:, None]
    across = (columns - left).astype(np.float32)[None, :]
    upper = coarse[top][:, left] * (1 - across) + coarse[top][:, left + 1] * across
    lower = coarse[top + 1][:, left] * (1 - across) + coarse[top + 1][:, left + 1] * across
    return np.asarray(upper * (1 - down) + lower * down, np.float32)


def _track(chance: Generator, length: int) -> NDArray[np.float64]:
    """Return where the camera looks, its top left corner in the world, frame by frame."""
    start = np.array([chance.uniform(25, _TALL - HEIGHT - 25), chance.uniform(30, 110)])
    track = np.tile(start, (length, 1))
    kind = chance.choice(["standing", "standing", "held", "pan"])
    if kind == "held":
        steps = chance.normal(0, 1, (length, 2)).cumsum(axis=0)
        steps -= np.linspace(0, 1, length)[:, None] * steps[-1]
        track += np.clip(steps * chance.uniform(0.4, 1.3), -22, 22)
        track += chance.normal(0, chance.uniform(0.3, 1.5), (length, 2))
    elif kind == "pan":
        pace = chance.uniform(0.3, 1.8) * chance.choice([-1, 1])
        track[:, 1] = np.clip(start[1] + pace * np.arange(length), 0, _BROAD - WIDTH - 2)
    else:
        track += chance.normal(0, 0.25, (length, 2))
    limits = (_TALL - HEIGHT - 2, _BROAD - WIDTH - 2)
    return np.asarray(np.clip(track, 0, limits), np.float64)


def _cropped(world: Picture, top: float, left: float) -> Picture:
    """Return a part of the world from a corner that may lie between samples."""
    row, column = int(top), int(left)
    down, across = np.float32(top - row), np.float32(left - column)
    part = world[row : row + HEIGHT + 1, column : column + WIDTH + 1]
    part = part[:-1] * (1 - down) + part[1:] * down
    return np.asarray(part[:, :-1] * (1 - across) + part[:, 1:] * across, np.float32)


def _mover(chance: Generator) -> Callable[[Picture, int], None]:
    """Return what draws somebody who walks, or now and then something large that goes by."""
    large = chance.random() < 0.12
    tall = chance.uniform(60, 110) if large else chance.uniform(12, 55)
    wide = tall * chance.uniform(0.25, 0.6)
    x, y = chance.uniform(40, _BROAD - 40), chance.uniform(0.35, 0.8) * _TALL
    pace = chance.uniform(2, 7) if large else chance.uniform(0, 2.2)
    pace *= chance.choice([-1, 1])
    swing, beat = chance.uniform(0, 6), chance.uniform(6, 16)
    tone = np.float32(chance.uniform(5, 240))

    def draw(seen: Picture, frame: int) -> None:
        at = (x + pace * frame) % _BROAD
        low = y + swing * np.sin(frame * 2 * np.pi / beat)
        top, bottom = int(max(low - tall / 2, 0)), int(min(low + tall / 2 + 1, _TALL))
        left, right = int(max(at - wide / 2, 0)), int(min(at + wide / 2 + 1, _BROAD))
        if top >= bottom or left >= right:
            return
        rows, columns = np.mgrid[top:bottom, left:right]
        inside = ((rows - low) / tall) ** 2 + ((columns - at) / wide) ** 2 < 0.25
        seen[top:bottom, left:right][inside] = tone

    return draw


# Titles.


@cache
def _font(size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_path(), size)


def _title(chance: Generator) -> Scene:
    """Return a title: lettering on a ground, with or without a border; it weaves a little."""
    scale = 4
    light = chance.random() < 0.12
    ground, ink = (chance.uniform(8, 40), chance.uniform(150, 245))
    if light:
        ground, ink = ink, ground
    sheet = Image.new("F", (WIDTH * scale, HEIGHT * scale), float(ground))
    pen = ImageDraw.Draw(sheet)
    size = int(chance.integers(8, 15))
    lines = int(chance.integers(1, 5))
    top = HEIGHT / 2 - lines * size * 0.75
    for line in range(lines):
        words = ""
        while len(words) * size * 0.6 < chance.uniform(0.3, 0.7) * WIDTH:
            words = f"{words} {chance.choice(_WORDS)}".strip()
        middle = (WIDTH / 2 * scale, (top + (line + 0.5) * size * 1.5) * scale)
        pen.text(middle, words[: int(1.4 * WIDTH / size)], float(ink), _font(size * scale), "mm")
    if chance.random() < 0.5:
        edge = chance.uniform(6, 14) * scale
        box = (edge, edge, WIDTH * scale - edge, HEIGHT * scale - edge)
        pen.rectangle(box, outline=float(0.5 * (ink + ground)), width=int(chance.integers(3, 9)))
    card = np.asarray(sheet).reshape(HEIGHT, scale, WIDTH, scale).mean(axis=(1, 3))
    card = np.pad(card, ((2, 3), (2, 3)), "edge").astype(np.float32)
    weave = chance.normal(0, chance.uniform(0.05, 0.45), (200, 2))

    def picture(frame: int) -> Picture:
        down, across = np.clip(weave[frame % 200] + 2, 0, 3.9)
        return _cropped(card, float(down), float(across))

    return picture


# What happens to a shot, and to all film.


def _troubled(chance: Generator, shot: list[Picture]) -> list[Picture]:
    """Give a scene up to two of the troubles that are no cuts."""
    for _ in range(2):
        if len(shot) < 14 or chance.random() < 0.4:
            continue
        at = int(chance.integers(5, len(shot) - 7))
        trouble = chance.choice(["flash", "white", "tint", "painted", "splice", "splice"])
        if trouble == "flash":
            for step in range(int(chance.integers(1, 4))):
                shot[at + step] = np.clip(shot[at + step] * 2 + 70, 0, 255)
        elif trouble == "white":
            for step in range(int(chance.integers(1, 3))):
                shot[at + step] = np.full_like(shot[at], 252)
        elif trouble == "tint":
            gain, lift = np.float32(chance.uniform(0.6, 0.9)), np.float32(chance.uniform(0, 35))
            shot[at:] = [gain * one + lift for one in shot[at:]]
        elif trouble == "painted":
            shot = _painted(chance, shot)
        else:
            _spliced(chance, shot, at)
    return shot


def _spliced(chance: Generator, shot: list[Picture], at: int) -> None:
    """Let a picture or two jump, and lose a few frames after them."""
    jump = int(chance.integers(8, 45)) * (1 if chance.random() < 0.5 else -1)
    for step in range(int(chance.integers(1, 3))):
        rolled = np.roll(shot[at + step], jump, axis=0)
        rolled[jump - 2 if jump > 0 else jump : jump + 3 or None] = 3
        shot[at + step] = rolled
    lost = int(chance.integers(0, 5))
    if len(shot) - lost > at + 10:
        del shot[at + 3 : at + 3 + lost]


def _painted(chance: Generator, shot: list[Picture]) -> list[Picture]:
    """Paint a part of each picture by hand: it is never quite the same part or the same tone."""
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH]
    y, x = chance.uniform(20, 100), chance.uniform(20, 140)
    tall, wide = chance.uniform(15, 50), chance.uniform(15, 60)
    found = []
    for one in shot:
        dy, dx = chance.normal(0, 2.5, 2)
        inside = ((rows - y - dy) / tall) ** 2 + ((columns - x - dx) / wide) ** 2 < 1
        found.append(np.where(inside, one * np.float32(chance.uniform(0.55, 0.95)), one))
    return found


class _Wear:
    """What lies over the whole film."""

    def __init__(self, chance: Generator) -> None:
        self._chance = chance
        self._flicker = chance.choice([0.02, 0.08, 0.22])
        self._slanted = chance.random() < 0.4
        self._grain = chance.uniform(1.5, 5)
        self._dirt = chance.choice([0.2, 1.5, 5])
        self._scratch = int(chance.integers(10, WIDTH - 10)) if chance.random() < 0.3 else None
        self._lift = chance.uniform(0, 12)
        self._noise = chance.normal(0, 1, (HEIGHT * 2, WIDTH * 2)).astype(np.float32)

    def worn(self, picture: Picture) -> NDArray[np.uint8]:
        chance = self._chance
        gain = 1 + np.float32(np.clip(chance.normal(0, self._flicker), -0.45, 0.5))
        worn = picture * gain
        if self._slanted:
            slant = chance.normal(0, self._flicker / 2)
            worn *= (1 + slant * np.linspace(-1, 1, WIDTH)).astype(np.float32)
        row, column = chance.integers(0, HEIGHT), chance.integers(0, WIDTH)
        grain = self._noise[row : row + HEIGHT, column : column + WIDTH]
        worn = worn * np.float32(0.95) + np.float32(self._lift) + np.float32(self._grain) * grain
        for _ in range(chance.poisson(self._dirt)):
            self._speck(worn)
        if self._scratch is not None:
            side = self._scratch + int(chance.integers(-1, 2))
            worn[:, side] += 60
        return np.asarray(np.clip(worn, 0, 255), np.uint8)

    def _speck(self, worn: Picture) -> None:
        chance = self._chance
        big = chance.random() < 0.04
        tall, wide = chance.integers(8, 30, 2) if big else chance.integers(1, 6, 2)
        top, left = chance.integers(0, HEIGHT), chance.integers(0, WIDTH)
        worn[top : top + tall, left : left + wide] = chance.choice([5, 245])
