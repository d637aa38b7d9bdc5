"""The command line of ``scripts/bench``."""

import argparse
import json
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from benching.accompanying import accompany
from benching.bench import SCALES, Bench
from benching.checking import check
from benching.composing import blend, flags, weave
from benching.copying import copy
from benching.detecting import detect
from benching.machine import machine
from benching.memory import memory
from benching.mixing import mix
from benching.previewing import preview
from benching.rows import Row, table, values
from benching.scans import Scans
from benching.sixfold import six
from benching.sounding import sound
from benching.starting import help_page, page, report
from benching.timing import BenchError, tell
from benching.viewing import h264

_BENCHES: dict[str, Callable[[Bench], Iterator[Row]]] = {
    "help": help_page,
    "report": report,
    "page": page,
    "accompany": accompany,  # first of those that fill the disk: it has nothing left of its own
    "copy": copy,
    "six": six,
    "h264": h264,
    "memory": memory,
    "blend": blend,
    "weave": weave,
    "flags": flags,
    "mix": mix,
    "check": check,
    "detect": detect,
    "sound": sound,
    "preview": preview,
}
_ROOM = 7  # times the bytes of a copied scan: all scans together, and what is made of one


def main() -> int:
    """Measure what is asked for; return 1 if a bound is missed, 2 if it could not be measured."""
    asked = _asked()
    asked.folder.mkdir(parents=True, exist_ok=True)
    folder: Path = asked.folder.resolve() / "retime-bench"
    folder.mkdir(exist_ok=True)
    scale = SCALES[asked.scale]
    bench = Bench(
        folder=folder, runs=asked.runs, scale=scale, scans=Scans(folder, frames=scale.drawn)
    )
    rows: list[Row] = []
    failed = False
    try:
        _check_room(folder, _ROOM * scale.copied)
        for name in asked.only or _BENCHES:
            failed |= not _measured(_BENCHES[name](bench), rows)
    except BenchError as error:
        tell(str(error))
        return 2
    except KeyboardInterrupt:
        return 130
    finally:
        if not asked.keep:
            shutil.rmtree(folder)
    _tell_all(rows, asked.scale, asked.runs, asked.json)
    if failed:
        return 2
    return 1 if any(row.ok is False for row in rows) else 0


def _measured(found: Iterator[Row], rows: list[Row]) -> bool:
    """Add a benchmark's rows and tell whether it came to its end."""
    try:
        for row in found:
            rows.append(row)  # noqa: PERF402 - those before a failure are kept
    except BenchError as error:
        tell(str(error))
        return False
    return True


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
        "--folder", type=Path, default=Path("out"), help="for scans; a disk, please"
    )
    parser.add_argument("--keep", action="store_true", help="keep the scans for the next time")
    asked = parser.parse_args()
    if asked.runs < 1:
        parser.error("--runs is at least 1")
    return asked


_ABOUT = (
    "Measures retime and the ffmpeg program in turn on the same scans, and prints a Markdown "
    "table. Exit codes: 0 every bound is kept, 1 one is missed, 2 it could not be measured."
)


def _tell_all(rows: list[Row], scale: str, runs: int, file: Path | None) -> None:
    about = machine()
    command = " ".join(["scripts/bench", *sys.argv[1:]])
    print(f"Made by `{command}`: medians of {runs} rounds, ours and ffmpeg's in turn.")
    print("Both sides' files are flushed to disk within the time, unless a row says otherwise.")
    if scale != "full":
        print("**A quick look on short scans: these figures are not to be relied upon.**")
    print("\n" + "\n".join(f"- {what}: {name}" for what, name in about.items()) + "\n")
    print(table(rows))
    if file is not None:
        told = {"command": command, "scale": scale, "machine": about, "rows": values(rows)}
        file.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
