"""The scans that are measured on: drawn once, and made long by playing them over and over."""

import subprocess
from dataclasses import dataclass
from pathlib import Path

from benching.drawing import HEIGHT, PIXEL_FORMAT, WIDTH
from benching.programs import PYTHON, encoder, ffmpeg
from benching.timing import BenchError, run, tell

__all__ = ["Scan", "Scans"]

# ProRes 422 (not HQ) is what prores-mezzanine has to encode; a scan in HQ it would copy.
_ENCODERS: dict[str, tuple[str, dict[str, str]]] = {
    "prores-hq.mov": ("prores-mezzanine", {}),
    "prores-422.mov": ("prores-mezzanine", {"profile": "2"}),
    "ffv1.mkv": ("ffv1-master", {}),
}
_SMALL = 320, 240


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """A movie of ``frames`` pictures, 1920x1080 unless they are small, 10 bits 4:2:2."""

    path: Path
    frames: int

    @property
    def bytes(self) -> int:
        """The size of its file."""
        return self.path.stat().st_size


class Scans:
    """Makes scans in a folder when they are asked for; one that is there already is taken."""

    def __init__(self, folder: Path, frames: int) -> None:
        """Take how many pictures are drawn."""
        self._folder = folder
        self._frames = frames

    def drawn(self, name: str) -> Scan:
        """Return a scan of pictures that all differ; ``name`` is a key of the table above."""
        scan = Scan(path=self._folder / f"{self._frames}-{name}", frames=self._frames)
        if not scan.path.exists():
            self._draw()
        return scan

    def looped(self, name: str, *, frames: int = 0, size: int = 0) -> Scan:
        """Return a drawn scan played over until it has so many frames, or bytes, at least."""
        drawn = self.drawn(name)
        times = max(-(-frames // drawn.frames), -(-size // drawn.bytes), 1)
        return self._played(drawn, times, name)

    def small(
        self, *, frames: int, name: str = "prores-hq.mov", raster: tuple[int, int] = _SMALL
    ) -> Scan:
        """Return a scan of small pictures with so many frames at least, played over."""
        drawn, (width, height) = self.drawn(name), raster
        kind = f"{width}x{height}-{name}"
        less = Scan(path=self._folder / f"{drawn.frames}-small-{kind}", frames=drawn.frames)
        if not less.path.exists():
            scaled = ("-vf", f"scale={width}:{height}", *encoder(*_ENCODERS[name]))
            run(ffmpeg("-i", drawn.path, *scaled, less.path))
        return self.played(less, frames=frames, name=f"small-{kind}")

    def played(self, drawn: Scan, *, frames: int, name: str) -> Scan:
        """Return a scan played over until it has so many frames at least."""
        return self._played(drawn, -(-frames // drawn.frames), name)

    def _played(self, drawn: Scan, times: int, name: str) -> Scan:
        """Return a scan played so many times."""
        frames = times * drawn.frames
        scan = Scan(path=self._folder / f"{frames}-looped-{name}", frames=frames)
        if not scan.path.exists():
            tell(f"{scan.path.name} is made")
            again = ("-stream_loop", str(times - 1), "-i", drawn.path, "-c", "copy")
            run(ffmpeg(*again, scan.path))
        return scan

    def _draw(self) -> None:
        """Draw all kinds of scans at once."""
        tell(f"{self._frames} pictures are drawn and coded")
        raw = ("-f", "rawvideo", "-pix_fmt", PIXEL_FORMAT, "-s", f"{WIDTH}x{HEIGHT}", "-r", "25")
        outputs: list[str | Path] = []
        unfinished = {}
        for name, (profile, changed) in _ENCODERS.items():
            path = self._folder / f"{self._frames}-{name}"
            unfinished[path.with_name(f"unfinished-{name}")] = path
            outputs += ["-map", "0:v", *encoder(profile, changed), [*unfinished][-1]]
        drawing = [PYTHON, "-m", "benching.drawing", str(self._frames)]
        with subprocess.Popen(drawing, stdout=subprocess.PIPE) as pictures:
            coding = ffmpeg(*raw, "-i", "pipe:0", *outputs)
            coded = subprocess.run(coding, stdin=pictures.stdout, check=False)
        if coded.returncode or pictures.returncode:
            raise BenchError("the scans could not be made")
        for work, path in unfinished.items():
            work.replace(path)
