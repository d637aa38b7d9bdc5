"""An interrupt ends a render at once: exit code 130, one line, nothing left, nothing spoilt."""

from __future__ import annotations

import signal
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import av
import pytest
from running import LAMP, Ran, command, contents, program, unfinished, write_noise

if TYPE_CHECKING:
    from collections.abc import Callable

pytest_plugins = ["at_the_desk"]

FFV1 = {"level": "3", "g": "1", "slicecrc": "1", "slices": "4"}
PATIENCE = 60.0  # seconds, after which a render is taken to hang


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A scan that takes a route some seconds: its codec, how many frames, the profile."""

    scan: str
    codec: str
    pixel_format: str
    frames: int
    profile: str
    route: str


WAYS = {
    "copy": Way(
        scan="long.mov", codec="rawvideo", pixel_format="uyvy422", frames=2500,
        profile="as-scanned", route="copy",
    ),
    "encode-once": Way(
        scan="long.mkv", codec="ffv1", pixel_format="gray", frames=1500,
        profile="prores-mezzanine", route="encode-once",
    ),
    "stream": Way(
        scan="long.mkv", codec="ffv1", pixel_format="gray", frames=1500,
        profile="h264-viewing", route="stream",
    ),
    "files": Way(
        scan="long.mkv", codec="ffv1", pixel_format="gray", frames=1500,
        profile="tiff-sequence", route="encode-once",
    ),
}  # fmt: skip


@pytest.fixture(scope="session")
def long_scans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with scans that take a while: some 300 MB uncompressed, and FFV1."""
    folder = tmp_path_factory.mktemp("long")
    for way in (WAYS["copy"], WAYS["stream"]):
        options = FFV1 if way.codec == "ffv1" else {}
        write_noise(folder / way.scan, way.frames, way.codec, way.pixel_format, options)
    return folder


def _map(work: Path, long_scans: Path, way: Way) -> Path:
    head, tail = LAMP[: LAMP.index("shots:")], LAMP[LAMP.index("versions:") :]
    source = (head + tail).replace("h264-viewing", way.profile)
    source = source.replace("lamp.mkv", str(long_scans / way.scan))
    source = source.replace("frames: 24", f"frames: {way.frames}")
    path = work / "long.yaml"
    path.write_text(source.replace("last: 23", f"last: {way.frames - 1}"))
    return path


def interrupted(
    arguments: list[object],
    when: Callable[[int], bool],
    *signals: signal.Signals,
    between: float = 0,
) -> Ran:
    """Run the program, send it signals once ``when`` says so of its process, await its end."""
    running = subprocess.Popen(
        command(*arguments), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    with running:
        until = time.monotonic() + PATIENCE
        while not when(running.pid):
            assert running.poll() is None, "the render ended before it could be interrupted"
            assert time.monotonic() < until, "the render never began"
            time.sleep(0.002)
        for one in signals:
            running.send_signal(one)
            time.sleep(between)
        try:
            out, err = running.communicate(timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            running.kill()
            pytest.fail("the interrupt did not end the render")
    return Ran(code=running.returncode, out=out, err=err)


@pytest.mark.parametrize("signals", [(signal.SIGINT,), (signal.SIGTERM,)], ids=["INT", "TERM"])
@pytest.mark.parametrize("name", WAYS)
def test_an_interrupt_leaves_nothing_behind_on_any_route(
    name: str, signals: tuple[signal.Signals, ...], work: Path, long_scans: Path
) -> None:
    way = WAYS[name]
    arguments = ["render", _map(work, long_scans, way), "-o", work / "out"]
    before = contents(work)
    ran = interrupted(arguments, lambda _: _grown(work / "out"), *signals)

    assert (130, "") == (ran.code, ran.out)
    assert f"viewing: {way.route}, " in ran.err
    assert "interrupted; nothing unfinished is left behind" == ran.err.splitlines()[-1]
    assert "Traceback" not in ran.err
    assert before == contents(work)


def _heeds_signals(pid: int) -> bool:
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii", errors="replace")
    caught = int(status.partition("SigCgt:")[2].split()[0], 16)
    return bool(caught >> (signal.SIGTERM - 1) & 1)


def _grown(out: Path) -> bool:
    """Tell whether something unfinished holds some pictures already."""
    begun = [out / name for name in unfinished(out)]
    return any(
        len(list(one.iterdir())) > 1 if one.is_dir() else one.stat().st_size > 0 for one in begun
    )


def test_several_interrupts_do_not_disturb_the_tidying_up(work: Path, long_scans: Path) -> None:
    arguments = ["render", _map(work, long_scans, WAYS["files"]), "-o", work / "out"]
    many = [signal.SIGINT, signal.SIGTERM] * 5
    ran = interrupted(arguments, lambda _: _grown(work / "out"), *many, between=0.005)

    assert 130 == ran.code
    assert "Traceback" not in ran.err
    assert [] == list((work / "out").iterdir())


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
def test_an_interrupt_before_anything_is_written_ends_as_well(work: Path, long_scans: Path) -> None:
    """As early as the program can heed one: it alone catches SIGTERM, Python does not."""
    arguments = ["render", _map(work, long_scans, WAYS["stream"]), "-o", work / "out"]
    ran = interrupted(arguments, _heeds_signals, signal.SIGINT)

    # Interrupted inside exec() (as dataclasses are made), CPython ends itself by the same signal
    # whatever the exit code; a shell says 130 of either.
    assert ran.code in {130, -signal.SIGINT}
    assert "interrupted; nothing unfinished is left behind" == ran.err.splitlines()[-1]
    assert "Traceback" not in ran.err
    assert [] == list((work / "out").iterdir())


@pytest.mark.parametrize("name", ["copy", "files"])
def test_an_interrupted_replacement_keeps_what_was_there(
    name: str, work: Path, long_scans: Path
) -> None:
    way = WAYS[name]
    final = work / "out" / ("Lamp-viewing.mov" if name == "copy" else "Lamp-viewing")
    if name == "copy":
        final.write_text("the one made yesterday")
    else:
        final.mkdir()
        (final / "Lamp-viewing.0000000.tif").write_text("the one made yesterday")
    arguments = ["render", _map(work, long_scans, way), "-o", work / "out", "--force"]
    before = contents(work)
    ran = interrupted(arguments, lambda _: _grown(work / "out"), signal.SIGINT)

    assert 130 == ran.code
    assert before == contents(work)


def test_after_an_interrupt_the_same_render_works(work: Path) -> None:
    write_noise(work / "long.mkv", 150, "ffv1", "gray", FFV1)
    way = Way(
        scan="long.mkv", codec="ffv1", pixel_format="gray", frames=150,
        profile="h264-viewing", route="stream",
    )  # fmt: skip
    arguments = ["render", _map(work, work, way), "-o", work / "out"]
    ran = interrupted(list(arguments), lambda _: _grown(work / "out"), signal.SIGINT)
    again = program(*arguments)
    final = work / "out" / "Lamp-viewing.mp4"

    assert 130 == ran.code
    assert (0, f"{final}\n") == (again.code, again.out)
    with av.open(str(final)) as container:
        assert 200 == container.streams.video[0].frames
