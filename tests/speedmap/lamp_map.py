"""A map that many tests read or spoil; a test module takes it by ``pytest_plugins``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

LAMP = """\
format: retime-map/1
film: The Tidewatcher's Lamp        # invented
gauge: 35mm
footage: nominal
reels:
  - reel: 1
    scan: scans/reel-1.mkv
    first: 24
    last: 323
    frames: 348
  - reel: 2
    scan: scans/reel-2/%06d.tif
    missing: hold
    gauge: 16mm
    frames: 300
shots:
  - {reel: 1, first: 24, last: 123, shot: 13}
  - {reel: 1, first: 124, last: 223, shot: 14, name: The jetty}
  - {reel: 1, first: 224, last: 323, shot: 14A, kind: title}
  - {reel: 2, first: 0, last: 99, shot: 3}
  - {reel: 2, first: 100, last: 199, shot: 5, kind: title}
  - {reel: 2, first: 200, last: 299, shot: 7}
versions:
  restrained:
    speed: 20 fps
    reels: {2: 22 fps}
    shots:
      1/14: {speed: 18 fps, at most: 0:06}
      2/3-2/7: 16 fps -> 18 fps
    titles: {speed: 20 fps, at least: 4 s}
  brisk:
    speed: 24 fps
  matched:
    runtime of: brisk-25
deliverables:
  restrained-24:
    version: restrained
    profile: prores-mezzanine
    rate: 23.976
    conform-at: 24
  brisk-25:
    version: brisk
    profile: h264-viewing
    rate: 25
    phase: per-shot
    file: brisk.mp4
    drop-frame: no
"""


@pytest.fixture
def lamp() -> str:
    """Return a sound map of an invented film: two reels, six shots, three versions."""
    return LAMP


@pytest.fixture
def lamp_path(tmp_path: Path) -> Path:
    """Return where that map would stand."""
    return tmp_path / "lamp.yaml"
