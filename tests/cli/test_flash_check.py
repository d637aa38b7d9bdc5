"""The flash check as a command: what it prints, what it writes, and how it ends."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
import typer
from flashing_files import write_flashing

from retime.cli.flashing import check_flashes
from retime.errors import Exit, RetimeError

if TYPE_CHECKING:
    from pathlib import Path

MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
reels: [{reel: 1, scan: flicker.mkv}]
versions:
  slow: {speed: 16 fps}
  fast: {speed: 24 fps}
deliverables:
  slow-24: {version: slow, profile: ffv1-master, rate: 24}
  fast-24: {version: fast, profile: ffv1-master, rate: 24}
"""


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with a still film, one that flickers every sixth frame, and its map."""
    folder = tmp_path_factory.mktemp("films")
    write_flashing(folder / "still.mkv", "128", frames=24)
    write_flashing(folder / "flicker.mkv", "if(mod(N,6),235,16)", frames=48)
    (folder / "lamp.yaml").write_text(MAP)
    return folder


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def code_of(target: Path, *how: object, **more: object) -> int:
    """Run the check, and return the exit code that it asks for."""
    try:
        check_flashes(target, *(how or ("table",)), **more)  # type: ignore[arg-type]
    except typer.Exit as ended:
        return ended.exit_code
    return Exit.DONE


def test_a_film_that_passes_ends_with_0_and_one_that_fails_with_1(
    films: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert Exit.DONE == code_of(films / "still.mkv")
    assert "passes" in capsys.readouterr().out
    assert Exit.FOUND == code_of(films / "flicker.mkv")
    assert "fails" in capsys.readouterr().out


def test_a_map_ends_with_1_if_any_version_fails_and_tells_all(
    films: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # A dark frame in six: 2.67 flashes a second at 16, and 4 at 24.
    code = code_of(films / "lamp.yaml", "json")
    told = json.loads(capsys.readouterr().out)

    assert Exit.FOUND == code
    assert [("slow-24", True), ("fast-24", False)] == [
        (one["name"], one["passes"]) for one in told["checked"]
    ]
    assert "Lamp" == told["film"]
    assert Exit.DONE == code_of(films / "lamp.yaml", "json", wanted=["slow-24"])


def test_a_chart_is_written_and_nothing_is_overwritten_unasked(
    films: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chart = tmp_path / "chart.svg"
    code_of(films / "flicker.mkv", "table", chart)
    drawn = chart.read_text()

    assert "<svg" in drawn
    assert "flicker.mkv, 24 fps: fails" in drawn
    with pytest.raises(RetimeError, match="exists already"):
        code_of(films / "still.mkv", "table", chart)
    code_of(films / "still.mkv", "table", chart, force=True)
    assert "still.mkv, 24 fps: passes" in chart.read_text()
    assert "general flashes" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("target", "how", "said"),
    [
        ("still.mkv", ("junit",), "not told as junit"),
        ("still.mkv", ("table", "chart.gif"), "no SVG file"),
        ("still.mkv", ("table", "away/chart.svg"), "folder that is not there"),
        ("away.mkv", ("table",), "is not there"),
        ("away.yaml", ("table",), "away.yaml"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_line_and_ends_with_2(
    target: str, how: tuple[str, ...], said: str, films: Path, tmp_path: Path
) -> None:
    charts = [tmp_path / name for name in how[1:]]
    with pytest.raises(RetimeError, match=said) as refused:
        code_of(films / target, how[0], *charts)

    assert Exit.INPUT == refused.value.exit_code
    assert not any(chart.exists() for chart in charts)


def test_a_movie_has_no_deliverables_to_choose_from(films: Path) -> None:
    with pytest.raises(RetimeError, match="no deliverables"):
        code_of(films / "still.mkv", "table", wanted=["fast-24"])
