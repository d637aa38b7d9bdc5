"""One deliverable that fails stops all, or with ``--keep-going`` none but itself."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from piecemeal import a_long_film, known, left_over
from rendering import retime
from sounds import RATE

from retime.errors import ScanError
from retime.media.sound_reader import SoundReader
from retime.render import following

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from retime.media.sound_facts import SoundFacts

WAYS = {"in one": ("--pieces", "1000"), "in pieces": ("--pieces", "9", "--workers", "1")}


@pytest.fixture(params=WAYS)
def way(request: pytest.FixtureRequest) -> tuple[str, ...]:
    return WAYS[request.param]


@pytest.fixture(params=["sound", "encoder"])
def film(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a map of which one deliverable fails: its recording breaks off, or its encoder."""
    speed_map = a_long_film(tmp_path)
    text = speed_map.read_text()
    if request.param == "sound":
        speed_map.write_text(text.replace("file: s.wav", "file: broken.wav", 1))
        shutil.copy(tmp_path / "s.wav", tmp_path / "broken.wav")
        monkeypatch.setattr(following, "SoundReader", Breaking)
    else:
        line = "  once-24: {version: v, profile: prores-mezzanine"
        speed_map.write_text(text.replace(line, line.replace("prores-mezzanine", "broken")))
        shipped = Path(__file__).parents[2] / "profiles" / "prores-mezzanine.yaml"
        own = tmp_path / "retime" / "profiles" / "broken.yaml"
        own.parent.mkdir(parents=True)
        told = shipped.read_text().replace("prores-mezzanine", "broken")
        own.write_text(told + "options: {no_such_option: '1'}\n")
        monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "out").mkdir()
    return speed_map


class Breaking(SoundReader):
    """Reads recordings, of which one breaks off after two seconds."""

    def __init__(self, facts: SoundFacts) -> None:
        """Take the file."""
        super().__init__(facts)
        self._breaks, self._path = facts.path.name == "broken.wav", facts.path

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        """Return samples, but none beyond two seconds of the one that breaks off."""
        if self._breaks and first > 2 * RATE:
            raise ScanError(self._path, "breaks off")
        return super().read(first, count)


def test_a_deliverable_that_fails_stops_all(film: Path, way: tuple[str, ...]) -> None:
    out = film.parent / "out"
    ran = retime("render", film, "-o", out, *way)

    assert 2 == ran.code, ran.messages
    assert "breaks off" in ran.messages or "no_such_option" in ran.messages
    assert {} == known(out)


def test_the_others_go_on_where_they_are_asked_to(film: Path, way: tuple[str, ...]) -> None:
    out = film.parent / "out"
    ran = retime("render", film, "-o", out, "--keep-going", *way)

    assert 2 == ran.code
    assert [line for line in ran.messages.splitlines() if "once-24 failed: " in line]
    assert "Numbers-once-24" not in ran.result
    assert 6 == len(ran.result.splitlines())
    assert [] == left_over(out)

    right = film.read_text().replace("broken.wav", "s.wav")
    film.write_text(right.replace("profile: broken", "profile: prores-mezzanine"))
    (film.parent / "sound").mkdir()
    assert 0 == retime("render", film, "-o", film.parent / "sound", *way).code
    whole = known(film.parent / "sound")
    made = known(out)
    assert {"Numbers-once-24.mov"} == whole.keys() - made.keys()
    for name, one in made.items():
        assert _but_the_map(one) == _but_the_map(whole[name]), name


def _but_the_map(one: dict[str, object]) -> dict[str, object]:
    """Return by what a deliverable is known, without what names the map by its digest."""
    return {side: what for side, what in one.items() if side in {"pictures", "sound", "streams"}}


def test_what_all_deliverables_need_stops_them_all(film: Path, way: tuple[str, ...]) -> None:
    data = bytearray((film.parent / "2.mkv").read_bytes())
    data[len(data) // 2] ^= 0xFF
    (film.parent / "2.mkv").write_bytes(data)
    out = film.parent / "out"
    ran = retime("render", film, "-o", out, "--keep-going", *way)

    assert 2 == ran.code
    assert "2.mkv: frame " in ran.messages
    assert {} == known(out)
