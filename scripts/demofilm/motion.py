"""The known movements of the film: what a map's speeds can be judged by.

Each is a function of film frames or of seconds before the camera, so that its period in film
frames is exact and does not depend on how it is drawn.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import cos, pi, sin, sqrt, tau

__all__ = [
    "ABEL",
    "CRANK",
    "FALL",
    "GRAVITY",
    "LIGHT",
    "PENDULUM",
    "ROWING",
    "WENNA",
    "Crank",
    "Fall",
    "Stroke",
    "Swing",
    "Turn",
    "Walk",
]

GRAVITY = 9.80665  # m/s2, standard gravity


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """A walk of even steps; feet land at whole steps and do not slide."""

    frames_per_step: int
    taken_at: int  # film frames per second

    def steps(self, frame: int) -> Fraction:
        """Steps taken at a frame of the shot."""
        return Fraction(frame, self.frames_per_step)

    @property
    def steps_per_minute(self) -> Fraction:
        """Cadence before the camera."""
        return Fraction(60 * self.taken_at, self.frames_per_step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """A pendulum of small swing: its angle is a cosine of the frame."""

    frames_per_period: int
    taken_at: int
    degrees: float

    def angle(self, frame: int) -> float:
        """Degrees from the plumb line; the shot opens at the end of a swing."""
        return self.degrees * cos(tau * frame / self.frames_per_period)

    @property
    def seconds(self) -> Fraction:
        """The period before the camera, there and back."""
        return Fraction(self.frames_per_period, self.taken_at)

    @property
    def metres(self) -> float:
        """The length of the simple pendulum that has this period: g (T / 2 pi)^2."""
        return GRAVITY * (float(self.seconds) / tau) ** 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """A free fall from rest, let go at a frame of the shot."""

    metres: float
    taken_at: int
    let_go: int

    def dropped(self, frame: int) -> float:
        """Metres fallen at a frame of the shot, at most the whole height."""
        seconds = max(frame - self.let_go, 0) / self.taken_at
        return min(GRAVITY / 2 * seconds**2, self.metres)

    @property
    def frames(self) -> float:
        """Film frames from letting go to the ground: v sqrt(2 h / g)."""
        return self.taken_at * sqrt(2 * self.metres / GRAVITY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crank:
    """A hand-cranked shot: the time between frames changes evenly from first to last."""

    first: int  # film frames per second
    last: int
    frames: int

    def elapsed(self, frame: int) -> Fraction:
        """Seconds before the camera when a frame is taken, from the first one."""
        slow, fast = Fraction(1, self.first), Fraction(1, self.last)
        return frame * slow + (fast - slow) * Fraction(frame * (frame - 1), 2 * (self.frames - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """Rowing at an even stroke and an even mean pace, in seconds before the camera."""

    seconds: float
    metres_a_second: float

    def blade(self, seconds: float) -> tuple[float, float]:
        """Fore-and-aft sweep and lift of the blade, each from -1 to 1."""
        phase = tau * seconds / self.seconds
        return cos(phase), sin(phase)

    def surge(self, seconds: float) -> float:
        """How far the boat runs ahead of its mean place, from -1 to 1."""
        return sin(tau * seconds / self.seconds - pi / 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A light that turns evenly."""

    frames_per_turn: int  # of the lens, which throws two opposite beams
    taken_at: int

    def turns(self, frame: int) -> float:
        """Turns at a frame of the shot; it opens looking sideways."""
        return 0.25 + frame / self.frames_per_turn


ABEL = Walk(frames_per_step=11, taken_at=20)
WENNA = Walk(frames_per_step=12, taken_at=22)
PENDULUM = Swing(frames_per_period=40, taken_at=20, degrees=6)
FALL = Fall(metres=4.9, taken_at=20, let_go=10)
CRANK = Crank(first=16, last=20, frames=64)
ROWING = Stroke(seconds=2, metres_a_second=1.6)
LIGHT = Turn(frames_per_turn=44, taken_at=22)
