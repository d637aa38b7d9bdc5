"""Two renders into one folder refuse each other, whoever they are of, and a dead one no other."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from retime.errors import OutputError
from retime.render.lock import sole_render

if TYPE_CHECKING:
    from collections.abc import Iterator

HELD = """\
import sys, time
from pathlib import Path
from retime.render.lock import sole_render
with sole_render(Path(sys.argv[1]), print):
    print("held", flush=True)
    time.sleep(600)
"""
BUSY = "is being rendered into; wait for the other render"


def unsaid(text: str) -> None:
    raise AssertionError(text)


@contextmanager
def holding(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """Give a process that keeps others out of a folder."""
    with subprocess.Popen(
        [sys.executable, "-c", HELD, str(folder)], stdout=subprocess.PIPE, text=True
    ) as running:
        try:
            assert running.stdout is not None
            assert "held\n" == running.stdout.readline()
            yield running
        finally:
            running.kill()


def test_another_process_is_refused_until_the_first_is_gone_even_by_a_kill(tmp_path: Path) -> None:
    """Nothing is to be removed by hand after a kill, though the lock's file is still there."""
    with holding(tmp_path) as running:
        with pytest.raises(OutputError, match=BUSY), sole_render(tmp_path, unsaid):
            pass
        running.send_signal(signal.SIGKILL)
        running.wait()
    assert [tmp_path / ".retime-lock"] == list(tmp_path.iterdir())

    with sole_render(tmp_path, unsaid):
        pass
    assert [] == list(tmp_path.iterdir())


def test_one_folder_by_two_names_is_one_folder(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "link").symlink_to("out")
    with (
        sole_render(tmp_path / "out", unsaid),
        pytest.raises(OutputError, match=BUSY),
        sole_render(tmp_path / "link", unsaid),
    ):
        pass


@pytest.fixture
def another_s(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder whose lock is another user's: it may be read, not written or removed."""
    opened = os.open

    def refusing(path: Any, flags: int, mode: int = 0o777) -> int:
        if Path(path).name == ".retime-lock" and flags & os.O_RDWR:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return opened(path, flags, mode)

    def kept(self: Path, **_: bool) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted", str(self))

    (tmp_path / ".retime-lock").touch()
    monkeypatch.setattr(os, "open", refusing)
    monkeypatch.setattr(Path, "unlink", kept)
    return tmp_path


def test_another_user_s_render_is_heeded_in_a_folder_of_several_users(another_s: Path) -> None:
    with (
        holding(another_s),
        pytest.raises(OutputError, match=BUSY),
        sole_render(another_s, unsaid),
    ):
        pass


def test_what_another_user_s_killed_render_left_keeps_nobody_out(another_s: Path) -> None:
    went = False
    with sole_render(another_s, unsaid):
        went = True
    assert went
    assert (another_s / ".retime-lock").exists()


def test_a_lock_that_may_not_even_be_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody can tell then whether it is held."""

    def refusing(path: Any, *_: int) -> int:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    (tmp_path / ".retime-lock").touch()
    monkeypatch.setattr(os, "open", refusing)
    with (
        pytest.raises(OutputError, match=r"\.retime-lock: cannot be opened \(Permission denied\)"),
        sole_render(tmp_path, unsaid),
    ):
        pass
