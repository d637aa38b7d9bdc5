"""The cadences of a whole transfer at once: patterns one after the other, at the least cost.

Every pattern in every phase is a state. A picture costs a state what its measures speak against it,
and going over from one state to another costs too, less at a cut. The cheapest way through all
pictures (Viterbi's algorithm, IEEE Transactions on Information Theory, 1967, from memory) bears
misjudged pictures, and yet tells where a cadence breaks. Phases are those at picture 0, so that a
state stays the same while its cadence goes on, through stills as well.
"""

from __future__ import annotations

from enum import StrEnum
from math import log
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from retime.signal.expecting import ANSWERS, answers_at
from retime.signal.mixtures import Mixture
from retime.signal.patterns import NEW_EVERY_TIME, Pattern

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.signal.changes import Flags
    from retime.signal.expecting import Asked

    Numbers = NDArray[np.float32]
    Places = NDArray[np.intp]

__all__ = ["Free", "Gained", "Laid", "Piece", "State", "Trellis"]

_BREAK, _BREAK_AT_CUT, _MIXED_AT_CUT = 10.0, 5.0, 3.0
_UNLIKELY_FREE = 6.0
_HAIR = 1e-3  # between equals, a pattern goes before none
_BOTH_NEW = [0, 2]  # the answers that say so


class Free(StrEnum):
    """States without a pattern."""

    IRREGULAR = "irregular"
    STANDING = "standing"
    """Every picture is the one before."""


class State(NamedTuple):
    """A pattern with its place at picture 0, or a mixture, or neither."""

    shape: Pattern | Mixture | Free
    place: int = 0


class Gained(NamedTuple):
    """A mixture, and how much speaks for it at each picture, in nats."""

    mixture: Mixture
    gains: NDArray[np.float64]


class Piece(NamedTuple):
    """Pictures that one state governs, both ends included."""

    first: int
    last: int
    state: State

    @property
    def length(self) -> int:
        """How many pictures it has."""
        return self.last - self.first + 1


class Trellis:
    """All states: patterns in every phase, none, and mixtures, whose pictures are all new."""

    def __init__(self, patterns: Sequence[Pattern], gained: Sequence[Gained] = ()) -> None:
        """Make the states."""
        ways: dict[tuple[int, ...], int] = {}
        answers: list[int] = []
        self.states: list[State] = []
        rows: list[tuple[int, int, int, float]] = []  # base, cycle, step, unlikely
        shapes = [*patterns, *(NEW_EVERY_TIME for _ in gained)]
        for number, shape in enumerate(shapes):
            base = len(answers)
            answers += [
                ways.setdefault(answers_at(shape, place), len(ways))
                for place in range(shape.outputs)
            ]
            mixed = gained[number - len(patterns)].mixture if number >= len(patterns) else None
            for place in range(shape.outputs):
                self.states.append(State(shape, place) if mixed is None else State(mixed))
                unlikely = shape.unlikely if mixed is None else log(mixed.outputs)
                rows.append((base, shape.outputs, shape.step, unlikely))
        self.patterned = len(rows)
        self.mixed = self.patterned - len(gained)
        self.states += [State(Free.IRREGULAR), State(Free.STANDING)]
        self.bases, self.cycles, steps = (
            np.array([row[column] for row in rows], np.intp) for column in range(3)
        )
        self.steps = steps % self.cycles
        self.places = np.array([state.place for state in self.states[: len(rows)]], np.intp)
        self.answers = np.array(answers, np.intp)
        self.ways = [*ways]
        weights = [row[3] for row in rows] + [_UNLIKELY_FREE, _UNLIKELY_FREE]
        self.unlikely = np.array(weights, np.float32)
        self.gains = np.array([one.gains for one in gained], np.float32)

    def laid(self, asked: Asked) -> Laid:
        """Return the states laid over measures."""
        return Laid(self, asked)


class Laid:
    """States laid over measures: what each costs, and the cheapest way through."""

    def __init__(self, trellis: Trellis, asked: Asked) -> None:
        """Reckon what each set of answers costs at each picture."""
        self._trellis, self._asked = trellis, asked
        chosen = np.zeros((ANSWERS, len(trellis.ways)))
        for way, answers in enumerate(trellis.ways):
            chosen[list(answers), way] = 1
        self._costs = np.asarray(asked.costs @ chosen, np.float32)
        free = [asked.irregular + _HAIR, asked.standing + 2 * _HAIR]
        self._free = np.asarray(np.stack(free, axis=1), np.float32)
        self._numbers = {state: number for number, state in enumerate(trellis.states)}

    def pieces(self) -> list[Piece]:
        """Return the cheapest pieces, in order."""
        count, states = len(self._costs), self._trellis
        best, begun_by_best = np.zeros(count, np.intp), np.zeros(count, np.intp)
        begun = np.zeros(len(states.states), np.intp)
        paid = states.unlikely.copy()
        begins = self.beginning(0, count - 1).astype(np.float32)
        eased = self._eased(slice(0, count)).astype(np.float32)
        mixed = slice(states.mixed, states.patterned)
        met = _Meeting(states, self._costs, self._free)
        entered, changed = np.empty_like(paid), np.empty(len(paid), np.bool_)
        for picture in range(1, count):
            leaves = int(paid.argmin())
            best[picture - 1], begun_by_best[picture - 1] = leaves, begun[leaves]
            # A stretch begins with a picture that is new; whatever else it is, is left open.
            np.add(states.unlikely, paid[leaves] + begins[picture], out=entered)
            if eased[picture]:
                entered[mixed] -= eased[picture]
            met.pay(paid, picture)
            np.less(entered, paid, out=changed)
            np.copyto(paid, entered, where=changed)
            np.copyto(begun, picture, where=changed)
        leaves = int(paid.argmin())
        best[-1], begun_by_best[-1] = leaves, begun[leaves]
        return self._followed_back(best, begun_by_best)

    def _followed_back(self, best: Places, begun: Places) -> list[Piece]:
        pieces: list[Piece] = []
        last = len(best) - 1
        while last >= 0:
            first = int(begun[last])
            pieces.append(Piece(first, last, self._trellis.states[int(best[last])]))
            last = first - 1
        return pieces[::-1]

    def cost(self, first: int, last: int, state: State) -> float:
        """Return what a state costs from one picture to another, but for the first of them.

        What it costs to go over to it is left out too.
        """
        return float(self.along(first, last, state).sum())

    def along(self, first: int, last: int, state: State) -> Numbers:
        """Return what a state costs at each picture after the first, up to the last."""
        number = self._numbers[state]
        states = self._trellis
        pictures = np.arange(first + 1, last + 1)
        if number >= states.patterned:
            free: Numbers = self._free[pictures, number - states.patterned]
            return free
        paid: Numbers = self._costs[pictures, self.ways(first + 1, last, state)]
        if number >= states.mixed:
            paid = paid - states.gains[number - states.mixed, pictures]
        return paid

    def beginning(self, first: int, last: int, state: State | None = None) -> NDArray[np.float64]:
        """Return what it costs to have a stretch begin at each picture, phases apart.

        A mixture's begins more easily.
        """
        pictures = slice(first, last + 1)
        breaks = np.where(self._asked.cuts[pictures], _BREAK_AT_CUT, _BREAK)
        begins: NDArray[np.float64] = breaks + self._asked.costs[pictures][:, _BOTH_NEW].sum(axis=1)
        mixed = state is not None and isinstance(state.shape, Mixture)
        return begins - self._eased(pictures) if mixed else begins

    def _eased(self, pictures: slice) -> NDArray[np.float64]:
        """Return how much less than others a mixture pays to begin at each picture.

        Where everything changes nothing speaks for one phase going on, for there are no sums.
        """
        asked = self._asked
        breaks = np.where(asked.cuts[pictures], _BREAK_AT_CUT, _BREAK)
        eased: NDArray[np.float64] = np.where(
            asked.upheavals[pictures], breaks - _MIXED_AT_CUT, 0.0
        )
        return eased

    def ways(self, first: int, last: int, state: State) -> Places:
        """Return which sets of answers a pattern's state has, picture by picture."""
        states, number = self._trellis, self._numbers[state]
        pictures = np.arange(first, last + 1)
        places = states.places[number] + states.steps[number] * pictures
        ways: Places = states.answers[states.bases[number] + places % states.cycles[number]]
        return ways

    @property
    def answers(self) -> tuple[tuple[int, ...], ...]:
        """All sets of answers, by their numbers."""
        return tuple(self._trellis.ways)

    @property
    def states(self) -> tuple[State, ...]:
        """All states."""
        return tuple(self._trellis.states)

    @property
    def upheavals(self) -> Flags:
        """Before which pictures everything changes."""
        return self._asked.upheavals

    def rivals(self, state: State) -> tuple[State, ...]:
        """Return all states but those that are the same thing as one: it, and its like in name."""
        rivals = [one for one in self._trellis.states if one != state]
        if isinstance(state.shape, Mixture):
            rivals = [one for one in rivals if not isinstance(one.shape, Mixture)]
        return tuple(rivals)


class _Meeting:
    """All states meet one picture after the other, and pay for it."""

    def __init__(self, states: Trellis, costs: Numbers, free: Numbers) -> None:
        self._states, self._costs, self._free = states, costs, free
        self._at = states.bases + states.places
        self._ends = states.bases + states.cycles
        self._over = np.empty(len(self._at), np.bool_)
        self._ways = np.empty(len(self._at), np.intp)
        self._paid = np.empty(len(self._at), np.float32)

    def pay(self, paid: Numbers, picture: int) -> None:
        """Add what the next picture costs; pictures are met in order, from picture 1 on."""
        states = self._states
        self._at += states.steps
        np.greater_equal(self._at, self._ends, out=self._over)
        np.subtract(self._at, states.cycles, out=self._at, where=self._over)
        np.take(states.answers, self._at, out=self._ways)
        np.take(self._costs[picture], self._ways, out=self._paid)
        paid[: states.patterned] += self._paid
        paid[states.patterned :] += self._free[picture]
        if states.mixed < states.patterned:
            paid[states.mixed : states.patterned] -= states.gains[:, picture]
