"""What sound adds to a copy: to ours, and to that of ``ffmpeg -c copy``."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from benching.bench import Bench
from benching.maps import one_speed
from benching.programs import ffmpeg, retime
from benching.rows import Row
from benching.scans import Scan
from benching.sounding import recording
from benching.timing import BenchError, Run, in_turn, run, settled

__all__ = ["accompany"]

_PROFILE = "prores-mezzanine"
_SPEED = 20  # frames a second of the film, which comes in 24
_OTHER = "125/6 fps"  # 25/24 of it
_SECOND = 48_000 * 2 * 3  # bytes of sound: stereo of 24 bits
_MOST = 10  # per cent


class _Round(NamedTuple):
    """Ours without sound, with it as it is, and resampled; ffmpeg's without sound and with it."""

    silent: Run
    same: Run
    resampled: Run
    bare: Run
    whole: Run

    def added(self, sounding: Run) -> float:
        """Return how many seconds longer ours takes with sound."""
        return sounding.flushed - self.silent.flushed

    @property
    def muxed(self) -> float:
        """How many seconds longer ffmpeg's takes with sound."""
        return self.whole.flushed - self.bare.flushed

    def beyond(self, sounding: Run) -> float:
        """Return what sound adds beyond that, in per cent of ours without."""
        return 100 * (self.added(sounding) - self.muxed) / self.silent.flushed


def accompany(bench: Bench) -> Iterator[Row]:
    """Copy 90 minutes of small pictures, and a few of large ones: more would not fit a disk.

    The one tells what 90 minutes of sound take, the other what that is beside real pictures.
    """
    small = bench.scans.small(frames=_SPEED * 60 * bench.scale.minutes)
    yield from _seconds(f"320x240, {_length(small)}", _measured(bench, small))
    small.path.unlink()  # it would crowd out the others' scans
    large = bench.scans.looped("prores-hq.mov", size=bench.scale.sounding)
    yield from _shares(f"1920x1080, {_length(large)}", _measured(bench, large))


def _length(scan: Scan) -> str:
    return f"{scan.frames / _SPEED / 60:.3g} minutes"


def _measured(bench: Bench, scan: Scan) -> list[_Round]:
    """Copy a scan without sound, with it as it is, and with it resampled.

    What ffmpeg copies are our own pictures without sound, and finished sound of the same length.
    """
    score = recording(bench.folder, scan.frames / _SPEED)
    sounds = ("", f"{{file: {score.name}}}", f"{{file: {score.name}, follows: {_OTHER}}}")
    maps = [
        one_speed(scan.path.with_suffix(f".{number}.yaml"), scan, _PROFILE, sound)
        for number, sound in enumerate(sounds)
    ]
    folder, finished = bench.folder / "pictures", bench.folder / "finished.mov"
    folder.mkdir(exist_ok=True)
    run(retime("render", maps[0], "--force", "-o", folder))
    run(ffmpeg("-i", score, "-c:a", "pcm_s24le", finished))
    (pictures,) = folder.iterdir()
    rounds = in_turn(
        f"accompany, {scan.path.name}",
        bench.runs,
        *(_ours(bench, speed_map) for speed_map in maps),
        _theirs(bench, "-i", pictures, "-map", "0:v"),
        _theirs(bench, "-i", pictures, "-i", finished, "-map", "0:v", "-map", "1:a"),
    )
    for path in (score, pictures, finished):
        path.unlink()
    found = [_Round(*one) for one in rounds]
    for one in (found[0].same, found[0].resampled, found[0].whole):
        _check(one.written - found[0].silent.written, scan.frames / _SPEED)
    return found


def _check(sound: int, seconds: float) -> None:
    if not 0.98 < sound / (seconds * _SECOND) < 1.02:  # noqa: PLR2004 - the container's own
        raise BenchError(f"{sound} bytes are not {seconds:g} s of PCM")


def _ours(bench: Bench, speed_map: Path) -> Callable[[], Run]:
    return lambda: settled(lambda: bench.render(speed_map))


def _theirs(bench: Bench, *arguments: str | Path) -> Callable[[], Run]:
    target = bench.target("copied.mov")
    copying = ffmpeg(*arguments, "-c", "copy", target)
    return lambda: settled(lambda: bench.peer(copying, [target]))


def _seconds(what: str, rounds: list[_Round]) -> Iterator[Row]:
    added = {
        "sound that nothing changes": [one.added(one.same) for one in rounds],
        "sound resampled, 24 to 25": [one.added(one.resampled) for one in rounds],
        "finished sound, by `ffmpeg -c copy`": [one.muxed for one in rounds],
    }
    for sound, figures in added.items():
        yield Row(name=f"a copy of {what}: longer with {sound}", figures=figures, unit="s")


def _shares(what: str, rounds: list[_Round]) -> Iterator[Row]:
    shares = {
        "sound that nothing changes": [one.beyond(one.same) for one in rounds],
        "sound resampled, 24 to 25": [one.beyond(one.resampled) for one in rounds],
    }
    for sound, figures in shares.items():
        yield Row(
            name=f"a copy of {what}: longer with {sound}, beyond what finished sound adds to "
            "`ffmpeg -c copy`",
            figures=figures,
            unit="%",
            most=_MOST,
        )
