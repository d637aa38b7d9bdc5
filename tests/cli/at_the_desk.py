"""Fixtures of the tests of the commands; a test module takes them by ``pytest_plugins``."""

from __future__ import annotations

import shutil
import signal
import sys
from typing import TYPE_CHECKING

import pytest
from numbered import write_scan
from running import LAMP, Ran

from retime.cli.main import run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from running import Program

__all__ = ["own_home", "retime", "scans", "work"]


@pytest.fixture
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give each test a cache and a configuration of its own; return the configuration's folder."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("XDG_CACHE_HOME", str(home / "cache"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(home / "config"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    return home / "config"


@pytest.fixture(scope="session")
def scans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a sound scan of 24 frames in FFV1 and one in ProRes."""
    folder = tmp_path_factory.mktemp("scans")
    write_scan(folder / "lamp.mkv", 24, "ffv1", "gray", {"level": "3", "g": "1", "slicecrc": "1"})
    write_scan(folder / "lamp.mov", 24, "prores_ks", "yuv422p10le", {"profile": "3"})
    return folder


@pytest.fixture
def work(tmp_path: Path, scans: Path, own_home: Path) -> Path:  # noqa: ARG001
    """Return a folder with copies of the sound scans, a map, and an empty folder ``out``."""
    for scan in scans.iterdir():
        shutil.copy(scan, tmp_path)
    (tmp_path / "lamp.yaml").write_text(LAMP)
    (tmp_path / "out").mkdir()
    return tmp_path


@pytest.fixture
def retime(
    own_home: Path,  # noqa: ARG001
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Iterator[Program]:
    """Return the program, run in this process."""

    def here(*arguments: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["retime", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return Ran(code=int(ended.value.code or 0), out=told.out, err=told.err)

    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    yield here
    for number, handler in before.items():
        signal.signal(number, handler)
