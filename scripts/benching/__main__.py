"""The command line of ``scripts/bench``."""

import argparse
import shlex
import shutil
import sys
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from time import perf_counter

from benching.accompanying import accompany
from benching.bench import SCALES, Bench
from benching.checking import check
from benching.composing import blend, flags, weave
from benching.copying import copy
from benching.detecting import detect
from benching.figures import FORMAT, Figures, Found, Part, read_figures, write_figures
from benching.finding import new
from benching.lengths import lengths, shots
from benching.machine import machine
from benching.memory import memory
from benching.mixing import mix
from benching.previewing import preview
from benching.rating import rates
from benching.readme import rewrite_readme
from benching.rows import table
from benching.scans import Scans
from benching.single import single
from benching.sixfold import six
from benching.sounding import sound
from benching.starting import help_page, page, report
from benching.timing import BenchError, tell
from benching.viewing import h264
from benching.whole import feature
from benching.working import workers

_BENCHES: dict[str, Callable[[Bench], Iterator[Found]]] = {
    "help": help_page,
    "report": report,
    "shots": shots,
    "page": page,
    "accompany": accompany,  # first of those that fill the disk: it has nothing left of its own
    "feature": feature,  # likewise
    "lengths": lengths,
    "copy": copy,
    "six": six,
    "rates": rates,
    "h264": h264,
    "workers": workers,
    "memory": memory,
    "blend": blend,
    "weave": weave,
    "flags": flags,
    "mix": mix,
    "check": check,
    "detect": detect,
    "new": new,
    "sound": sound,
    "preview": preview,
    "single": single,
}
_ROOM = 8  # times the bytes of the largest scan: all scans together, and what is made of one


def main() -> int:
    """Measure what is asked for; return 1 if a bound is missed, 2 if it could not be measured."""
    asked = _asked()
    try:
        figures = read_figures(asked.source) if asked.source else _measured(asked)
        _tell_all(figures)
        _write_all(figures, asked)
    except BenchError as error:
        tell(str(error))
        return 2
    except KeyboardInterrupt:
        return 130
    if any(part.failed is not None for part in figures.parts):
        return 2
    return 1 if any(row.ok is False for row in figures.rows) else 0


def _measured(asked: argparse.Namespace) -> Figures:
    """Measure; what is found is kept as JSON after each benchmark, so that no hours are lost."""
    asked.folder.mkdir(parents=True, exist_ok=True)
    folder: Path = asked.folder.resolve() / "retime-bench"
    folder.mkdir(exist_ok=True)
    scale = SCALES[asked.scale]
    bench = Bench(
        folder=folder, runs=asked.runs, scale=scale, scans=Scans(folder, frames=scale.drawn)
    )
    figures = Figures(
        format=FORMAT,
        command=shlex.join(["scripts/bench", *sys.argv[1:]]),
        scale=asked.scale,
        machine=machine(),
        parts=_kept(asked),
    )
    there = {part.bench for part in figures.parts}
    try:
        _check_room(folder, _ROOM * scale.sounding)
        for name in asked.only or _BENCHES:
            if name not in there:
                figures.parts.append(_part(name, bench))
                figures.parts.sort(key=lambda part: [*_BENCHES].index(part.bench))
            if asked.json:
                write_figures(figures, asked.json)
    finally:
        if not asked.keep:
            shutil.rmtree(folder)
    return figures


def _kept(asked: argparse.Namespace) -> list[Part]:
    """Return what an earlier run has measured to the end; what is named now is measured anew.

    Raises BenchError where that was another kind of run.
    """
    if not asked.go_on or not asked.json.exists():
        return []
    earlier = read_figures(asked.json)
    if (earlier.scale, earlier.machine) != (asked.scale, machine()):
        text = "was measured at another scale, on another machine or with other versions"
        raise BenchError(f"{asked.json} {text}: begin anew, without --go-on")
    anew = asked.only or ()
    known = [part for part in earlier.parts if part.bench in _BENCHES and part.failed is None]
    return [part for part in known if part.bench not in anew]


def _part(name: str, bench: Bench) -> Part:
    """Return what a benchmark finds, and why it did not come to its end if it does not."""
    today = date.today().isoformat()  # noqa: DTZ011 - the day where it is measured
    part = Part(bench=name, begun=today, runs=bench.runs)
    started = perf_counter()
    try:
        for found in _BENCHES[name](bench):
            part.take(found)
    except BenchError as error:
        tell(str(error))
        part.failed = str(error).splitlines()[-1]
    tell(f"{name} has taken {(perf_counter() - started) / 60:.1f} minutes")
    return part


def _check_room(folder: Path, needed: int) -> None:
    if shutil.disk_usage(folder).free < needed:
        raise BenchError(f"{folder} needs {needed / 1e9:.0f} GB of free disk")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="scripts/bench", description=_ABOUT)
    parser.add_argument("--only", action="append", choices=_BENCHES, help="may be given again")
    parser.add_argument("--runs", type=int, default=5, help="rounds, 5 if not given")
    parser.add_argument("--scale", choices=SCALES, default="full", help="small: a quick look")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there too")
    parser.add_argument(
        "--go-on",
        action="store_true",
        help="keep what that file has of an earlier run, and measure what is missing or named",
    )
    parser.add_argument(
        "--page", type=Path, metavar="FILE.html", help="and a page with all of them, and plots"
    )
    parser.add_argument(
        "--readme", type=Path, metavar="FILE.md", help="and the table between that file's marks"
    )
    parser.add_argument(
        "--from",
        dest="source",
        type=Path,
        metavar="FILE.json",
        help="measure nothing: take the figures that --json wrote",
    )
    parser.add_argument(
        "--folder", type=Path, default=Path("out"), help="for scans; a disk, please"
    )
    parser.add_argument("--keep", action="store_true", help="keep the scans for the next time")
    asked = parser.parse_args()
    if asked.runs < 1:
        parser.error("--runs is at least 1")
    if asked.source and (asked.only or asked.json):
        parser.error("--from measures nothing, and takes neither --only nor --json")
    if asked.go_on and not asked.json:
        parser.error("--go-on needs --json, the file that the figures are in")
    for path in (asked.json, asked.page, asked.readme):
        if path is not None and not path.parent.is_dir():
            parser.error(f"{path.parent} is no folder")  # said now, not after hours
    return asked


_ABOUT = (
    "Measures retime and the ffmpeg program in turn on the same scans, and prints a Markdown "
    "table. Exit codes: 0 every bound is kept, 1 one is missed, 2 it could not be measured."
)


def _tell_all(figures: Figures) -> None:
    print(
        f"Made by `{figures.command}` on {figures.days}: medians of {figures.rounds}, ours and "
        "ffmpeg's in turn."
    )
    print("Both sides' files are flushed to disk within the time, unless a row says otherwise.")
    if figures.is_quick:
        print("**A quick look on short scans: these figures are not to be relied upon.**")
    print("\n" + "\n".join(f"- {what}: {name}" for what, name in figures.machine.items()) + "\n")
    print(table(figures.rows))


def _write_all(figures: Figures, asked: argparse.Namespace) -> None:
    """Write what is asked for beside the table; raises BenchError where it cannot be."""
    if asked.page:
        from benching.page import page_of  # noqa: PLC0415 - not in memory while others are measured

        try:
            asked.page.write_text(page_of(figures), encoding="utf-8")
        except OSError as error:
            raise BenchError(f"{asked.page}: {error}") from error
    if asked.readme:
        rewrite_readme(figures, asked.readme)


if __name__ == "__main__":
    sys.exit(main())
