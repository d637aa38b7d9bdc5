"""Pieces made by the workers of a Dask cluster that is running already, on shared storage.

The cluster does what it is good at: it hands out tasks, and hands them out again where a worker is
lost. What is ours is the task, and that nobody works on files, or with libraries, other than ours.
"""

from __future__ import annotations

import logging
import pickle
import secrets
import time
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

import msgspec
from msgspec import Struct

from retime.errors import CommandError, Interrupted, RetimeError
from retime.media.writing import writing
from retime.render.decisions import plate_mark, scan_mark, versions
from retime.render.piece_work import Brief, make_piece
from retime.render.witness import stamps_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from retime.render.piece_work import Ended, Task
    from retime.render.progress import Progress

__all__ = ["Cluster", "compare"]

_EXTRA = "install the extra: pip install 'retime[cluster]'"
_ANSWER = 15.0  # seconds in which a scheduler answers
_SILENCE = 20.0  # seconds for which one may be gone
_LOOK = 0.2  # seconds between two looks at what has ended
_ASK = 2.0  # seconds between two questions whether there are workers
_DESERTED = 30.0  # seconds in which one that was lost is started again, by whoever sees to that
_TOLD = 0.5  # seconds between what a worker tells of its progress
_UNDER_WAY = ("pending", "lost")  # what was lost with its worker is made again by another
_TRIES = 2  # how often a task that failed is handed out again
_RUN = "run"  # the file by which workers know that their work is still wanted
_TOPIC = "retime-pictures"


class Cluster:
    """The workers of a scheduler."""

    def __init__(self, brief: bytes, folder: Path, address: str) -> None:
        """Find the scheduler, and hold what its workers see against what we see.

        ``address`` is that of a scheduler, or the file in which one has written it. ``folder`` is
        that of the pieces, which is there. Raises CommandError where none answers, or a worker
        sees other files or has other versions.
        """
        self._address = address
        self._run = folder / _RUN
        self._token = secrets.token_hex(8)
        self._counted, self._lock = 0, Lock()
        self._heard_of: dict[str, int] = {}
        self._asked = self._peopled = 0.0
        self._left: set[Any] = set()
        self._client = _client(address)
        try:
            self._check(brief)
            with writing(self._run):
                self._run.write_text(self._token, encoding="ascii")
            self._client.subscribe_topic(f"{_TOPIC}-{self._token}", self._count)
            # A task, not data: it is there again where the worker that held it is lost.
            self._brief = self._client.submit(_held, brief, pure=False)
        except BaseException:
            self.close()
            raise

    def _check(self, brief: bytes) -> None:
        """Hold versions first: by other ones the rest might not even be understood."""
        found = self._client.run(versions, on_error="return")
        if not found:
            hint = "start some: dask worker " + self._address
            raise CommandError(f"the cluster at {self._address} has no workers", hint)
        compare(versions(), found, "has another version of")
        compare(_look(brief), self._client.run(_look, brief, on_error="return"), "sees another")

    def _count(self, event: tuple[float, tuple[str, int]]) -> None:
        """Take how many pictures of a piece are made; those of one made again count once."""
        piece, pictures = event[1]
        with self._lock:
            before = self._heard_of.get(piece, 0)
            self._heard_of[piece] = max(before, pictures)
            self._counted += max(0, pictures - before)

    def begin(self, tasks: Sequence[Task]) -> None:
        """Hand out what is to be made."""
        run, told = (str(self._run), self._token), tuple(sorted(versions().items()))
        self._left = {
            self._client.submit(_make, self._brief, task, run, told, pure=False, retries=_TRIES)
            for task in tasks
        }

    def ended(self, progress: Progress) -> Iterator[Ended]:
        """Yield each task as it ends; raises RetimeError where scheduler or workers are gone."""
        heard = self._peopled = time.monotonic()
        while self._left:
            time.sleep(_LOOK)
            if self._client.status == "running":
                heard = time.monotonic()
            elif time.monotonic() - heard > _SILENCE or self._client.status == "closed":
                raise self._gone()
            with self._lock:
                counted, self._counted = self._counted, 0
            if counted:
                progress.advance(counted)
            for future in [one for one in self._left if one.status not in _UNDER_WAY]:
                ended = self._result(future)
                if ended is not None:
                    self._left.discard(future)
                    yield ended
            if self._left and self._is_deserted():
                raise RetimeError(f"the cluster at {self._address} has no workers any more")

    def _result(self, future: Any) -> Ended | None:
        """Return what a task has come to, None where that was lost and is being made again."""
        library = _distributed()
        if future.status == "cancelled":
            raise self._gone()
        try:
            ended: Ended = future.result(timeout=_ANSWER)
        except library.KilledWorker as error:
            text = "the workers that tried a piece were lost, one after the other"
            raise RetimeError(f"{text}, perhaps for want of memory") from error
        except (library.CancelledError, TimeoutError, OSError) as error:
            if future.status == "error":  # the piece's own, which will not go away
                raise
            if self._client.status == "running" and future.status != "cancelled":
                return None
            raise self._gone() from error
        return ended

    def _is_deserted(self) -> bool:
        """Tell whether there has been nobody to work for a while."""
        if time.monotonic() - self._asked < _ASK or self._client.status != "running":
            return False
        try:
            workers = self._client.nthreads()
        except (OSError, TimeoutError):  # the scheduler may be gone, which shows soon
            return False
        self._asked = time.monotonic()
        if workers:
            self._peopled = self._asked
        return self._asked - self._peopled > _DESERTED

    def _gone(self) -> RetimeError:
        return RetimeError(f"the scheduler at {self._address} is gone, or let go of our pieces")

    def close(self) -> None:
        """Let workers see that their work is not wanted any more, and the cluster forget it."""
        with suppress(OSError):  # not there, or on a disk that is gone
            self._run.unlink()
        if self._client.status == "running":
            self._client.cancel(list(self._left), force=True)
        self._client.close(timeout=_LOOK)


def _distributed() -> Any:
    """Return the package, which is an extra; raises CommandError where it is not there."""
    try:
        return import_module("distributed")
    except ImportError as error:
        raise CommandError("a cluster needs the package distributed", _EXTRA) from error


def _client(address: str) -> Any:
    library = _distributed()
    for name in ("distributed", *logging.root.manager.loggerDict):
        if name.startswith("distributed"):  # what goes wrong is told by us, once
            logging.getLogger(name).setLevel(logging.CRITICAL)
    where = address if "://" in address else _written(Path(address))
    try:
        return library.Client(where, timeout=_ANSWER, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise CommandError(
            f"no scheduler answers at {address}", "start one: dask scheduler"
        ) from error


class _SchedulerFile(Struct, frozen=True, kw_only=True):
    """What of the file that a scheduler writes is of use to us."""

    address: str


def _written(path: Path) -> str:
    """Return a scheduler's address by the file that it has written; raises CommandError."""
    hint = "name a scheduler, as in tcp://host:8786, or the file that it writes"
    try:
        address = msgspec.json.decode(path.read_bytes(), type=_SchedulerFile).address
    except FileNotFoundError:
        raise CommandError(f"{path}: there is no such file", hint) from None
    except OSError as error:
        raise CommandError(f"{path}: cannot be read ({error.strerror})", hint) from error
    except (msgspec.MsgspecError, ValueError):
        address = ""
    if "://" not in address:
        raise CommandError(f"{path}: is no file that a scheduler has written", hint)
    return address


def compare(
    own: Mapping[str, str], found: Mapping[str, Mapping[str, str] | Exception], text: str
) -> None:
    """Raise CommandError for the first thing that a worker sees and we do not, or otherwise."""
    for worker, seen in sorted(found.items()):
        if isinstance(seen, Exception):
            raise CommandError(f"worker {worker}: {seen}", "see to it that it has what we have")
        for name, mark in own.items():
            if seen.get(name) != mark:
                hint = "workers need the same files under the same names, and the same versions"
                raise CommandError(f"worker {worker} {text} {name}", hint)


def _look(brief: bytes) -> dict[str, str]:
    """Return by what all files are known, as this machine sees them."""
    known: Brief = pickle.loads(brief)  # noqa: S301 - our own, by our own hand
    edition = known.edition
    stamps = stamps_of(edition.scans)
    marks = {
        f"scan, {scan.path}": f"{stamps[scan.reel.name].bytes} {scan_mark(scan)}"
        for scan in edition.scans
    }
    marks |= {f"picture, {one.path}": plate_mark(one) for one in edition.plates.values()}
    return marks | {f"folder, {known.folder}": f"there: {known.folder.is_dir()}"}


def _held(brief: bytes) -> bytes:
    return brief


def _make(
    brief: bytes, task: Task, run: tuple[str, str], told: tuple[tuple[str, str], ...]
) -> Ended:
    """Make a piece on a worker, which may have come since all were looked at."""
    own = tuple(sorted(versions().items()))
    if own != told:
        raise RetimeError("a worker has come that has other versions of libraries")
    progress = _Telling(task.name, Path(run[0]), run[1])
    ended = make_piece(brief, task, progress)
    progress.finish()
    return ended


class _Telling:
    """Tells a worker's progress, and stops it where its work is not wanted any more."""

    def __init__(self, piece: str, run: Path, token: str) -> None:
        self._piece = piece
        self._run = run
        self._token = token
        self._pictures = 0
        self._told = time.monotonic()

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        self._pictures += pictures
        if time.monotonic() - self._told >= _TOLD:
            self.finish()

    def finish(self) -> None:
        """Tell what was not told yet."""
        self._told = time.monotonic()
        try:
            wanted = self._run.read_text(encoding="ascii") == self._token
        except OSError:
            wanted = False
        if not wanted:
            raise Interrupted("the render that this piece is of is not going on")
        told = (self._piece, self._pictures)
        _distributed().get_worker().log_event(f"{_TOPIC}-{self._token}", told)
