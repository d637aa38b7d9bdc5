"""Figures of invented benchmarks, for the tests of what is made of them."""

from __future__ import annotations

from benching.curves import Curve, Point
from benching.figures import FORMAT, Figures, Part
from benching.rows import Row

__all__ = ["HOSTILE", "measured"]

HOSTILE = "</td><script>alert(1)</script> | `a & b`"


def measured(*, scale: str = "full") -> Figures:
    """Return figures of three benchmarks, one of which did not come to its end.

    Of four bounds two are missed, one of either kind.
    """
    rows = [
        Row(name="the lamp lit", figures=[3.0, 1.0, 2.0], unit="x", most=1.5),
        Row(name="the same: on one core", figures=[2.0], unit="s"),
        Row(name="the stair climbed", figures=[1.5, 1.75, 2.5], unit="x", least=1.7),
        Row(name=HOSTILE, figures=[0.5, -0.25, 4.0], unit="x", least=1),
        Row(name="steps counted, to be read", figures=[1234.5], unit="MB", told=True),
    ]
    curve = Curve(
        name="a `tide` watched",
        across="waves",
        unit="s",
        points=[
            Point(at=100, figures=[1.5, 1.25, 2.0]),
            Point(at=200, figures=[2.5]),
            Point(at=1600, figures=[16.5, 16.0]),
        ],
        start=0.5,
    )
    return Figures(
        format=FORMAT,
        command="scripts/bench --only 'a & b'",
        scale=scale,
        machine={"machine": "lighthouse", "CPU": "Lamp <7>, 2 cores", "Python": "3.11"},
        parts=[
            Part(bench="lamp", begun="2026-11-29", runs=3, rows=rows[:3], curves=[curve]),
            Part(bench="fog", begun="2026-11-29", runs=3, failed="the horn failed: <hoarse>"),
            Part(
                bench="stair",
                begun="2026-11-30",
                runs=1,
                rows=[*rows[3:], Row(name="memory", figures=[1], unit="MB", most=400)],
            ),
        ],
    )
