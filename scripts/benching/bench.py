"""What every benchmark is given: how often, how long, and where."""

import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from benching.programs import retime
from benching.scans import Scans
from benching.timing import Run, run

__all__ = ["SCALES", "Bench", "Scale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How long the scans are.

    ``drawn`` pictures differ; ``copied`` is how many bytes a copied scan has at least, and
    ``sounding`` one that has sound beside it; ``short`` and ``long`` are the frames of the scans
    that memory is measured on; a film with sound lasts ``minutes``. Pieces are of ``piece`` frames
    where workers are compared. ``step`` frames are what lengths are multiples of, in pieces
    of half of it; a whole ``feature`` is held against a ``part`` of it.
    """

    drawn: int
    copied: int
    sounding: int
    short: int
    long: int
    minutes: int
    piece: int
    step: int
    part: int
    feature: int


SCALES = {
    "full": Scale(
        drawn=240,
        copied=1_000_000_000,
        sounding=4_000_000_000,
        short=500,
        long=2_500,
        minutes=90,
        piece=60,
        step=1_920,
        part=10_000,
        feature=130_000,
    ),
    "small": Scale(
        drawn=24,
        copied=50_000_000,
        sounding=200_000_000,
        short=48,
        long=96,
        minutes=2,
        piece=2,
        step=96,
        part=480,
        feature=6_240,
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A folder to work in and how thoroughly to; ``core`` is the only one that both sides have."""

    folder: Path
    runs: int
    scale: Scale
    scans: Scans
    core: int | None = None

    def render(self, speed_map: Path, *options: str) -> Run:
        """Render all deliverables of a map into an empty folder, which goes again."""
        folder = self.emptied()
        command = retime("render", speed_map, "-o", folder, *options)
        return self._made(command, lambda: [*folder.iterdir()])

    def peer(self, command: Sequence[str | Path], files: Sequence[Path]) -> Run:
        """Run a command of ffmpeg's that writes ``files`` into ``emptied``."""
        self.emptied()
        return self._made(command, lambda: files)

    def target(self, name: str) -> Path:
        """Return a path for a file that is made and goes again."""
        return self.folder / "made" / name

    def emptied(self) -> Path:
        """Return the folder for what is made, with nothing in it."""
        folder = self.folder / "made"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        return folder

    def _made(self, command: Sequence[str | Path], files: Callable[[], Sequence[Path]]) -> Run:
        pinned = () if self.core is None else ("taskset", "-c", str(self.core))
        try:
            return run([*pinned, *command], files)
        finally:
            self.emptied()
