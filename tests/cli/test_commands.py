"""Every command: its help, exit codes, where it prints, pipes, colours and progress."""

from __future__ import annotations

import csv
import importlib.metadata
import io
import json
import os
import pty
import re
import select
import subprocess
import time
from pathlib import Path
from typing import TYPE_CHECKING

import jsonschema
import pytest
from running import LAMP, Ran, command, program, write_noise

from retime import __version__
from retime.cli.main import app

if TYPE_CHECKING:
    from running import Program

pytest_plugins = ["at_the_desk"]

COMMANDS = [
    info.name or info.callback.__name__.replace("_", "-")
    for info in app.registered_commands
    if info.callback
]
FULL = Path("/dev/full")
ESCAPE = "\x1b"


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_every_command_explains_itself(name: str, retime: Program) -> None:
    ran = retime(*name.split(), "--help")

    assert (0, "") == (ran.code, ran.err)
    assert ran.out.startswith(f"Usage: retime {name}")
    assert ESCAPE not in ran.out
    assert "..." not in ran.out.partition("Commands:")[2], "a summary is cut short"


def test_the_list_of_commands_is_whole() -> None:
    judging = ["new", "weigh", "pace", "preview", "lint", "set", "merge-shots", "split-shot"]
    telling = ["report", "compare", "frames"]
    making = ["render", "check", "detect", "sheet", "lists", "shots"]

    assert [*judging, *telling, *making, "reckon", "profiles", "schema"] == COMMANDS


def test_every_option_is_explained(retime: Program) -> None:
    for name in COMMANDS:
        options = retime(name, "--help").out.partition("Options:")[2].splitlines()
        named = [line.split() for line in options if line.strip().startswith("-")]

        assert all(len(words) > 2 for words in named), name


def test_the_version_is_told(retime: Program) -> None:
    ran = retime("--version")

    assert (0, f"retime {__version__}\n", "") == (ran.code, ran.out, ran.err)
    assert importlib.metadata.version("retime") == __version__


def test_without_a_command_the_program_explains_itself_and_ends_with_2(retime: Program) -> None:
    ran = retime()

    assert (2, "") == (ran.code, ran.out)
    assert ran.err.startswith("Usage: retime [OPTIONS] COMMAND")


# Results and messages.


def _warned(work: Path) -> Path:
    """Write a map with one warning: frames in no shot."""
    path = work / "warned.yaml"
    path.write_text(LAMP.replace("first: 12, last: 23", "first: 13, last: 23"))
    return path


WARNING = "warning: frame 12 is in no shot of reel 1; it takes the reel's speed"


def test_lint_ends_with_0_1_or_2(work: Path, retime: Program) -> None:
    sound, warned = retime("lint", work / "lamp.yaml"), retime("lint", _warned(work))
    (work / "lamp.yaml").write_text(LAMP.replace("18 fps", "fast"))
    wrong = retime("lint", work / "lamp.yaml")

    assert (0, "") == (sound.code, sound.out)
    assert "nothing to find fault with" in sound.err
    assert (1, "") == (warned.code, warned.err)
    assert f"{work}/warned.yaml:12:5: {WARNING}\n" == warned.out
    assert (2, "") == (wrong.code, wrong.err)
    assert wrong.out.startswith(f"{work}/lamp.yaml:15:12: 'fast' is no speed")


def test_lint_tells_warnings_beside_errors(work: Path, retime: Program) -> None:
    path = _warned(work)
    path.write_text(path.read_text().replace("version: slow", "version: solw"))
    ran = retime("lint", path)

    assert 2 == ran.code
    assert WARNING in ran.out
    assert '18:14: there is no version "solw"' in ran.out


@pytest.mark.parametrize("name", ["report", "frames", "render"])
def test_results_go_to_standard_output_and_warnings_to_standard_error(
    name: str, work: Path, retime: Program
) -> None:
    more: dict[str, list[object]] = {
        "frames": ["viewing"],
        "render": ["-o", work / "out", "--force"],
    }

    def arguments(path: Path) -> list[object]:
        return [name, path, *more.get(name, [])]

    loud = retime(*arguments(_warned(work)))
    quiet = retime("--quiet", *arguments(_warned(work)))

    assert (0, 0) == (loud.code, quiet.code)
    assert WARNING in loud.err
    assert "warning" not in loud.out
    assert (loud.out, "") == (quiet.out, quiet.err)


def test_quiet_does_not_silence_errors(work: Path, retime: Program) -> None:
    ran = retime("--quiet", "report", work / "no.yaml")

    assert 2 == ran.code
    assert "no such file" in ran.err


def test_a_render_names_what_it_made_one_a_line(work: Path, retime: Program) -> None:
    (work / "lamp.yaml").write_text(
        LAMP + "  master:\n    version: slow\n    profile: ffv1-master\n    rate: 24\n"
    )
    every = retime("render", work / "lamp.yaml", "-o", work / "out")
    one = retime("render", work / "lamp.yaml", "master", "-o", work / "out", "--force")

    assert [f"{work}/out/Lamp-viewing.mp4", f"{work}/out/Lamp-master.mkv"] == every.out.split()
    assert "viewing: stream, pictures of h264 lean on each other" in every.err
    assert "master: copy, ffv1 is intra-only and is what ffv1-master asks for" in every.err
    assert f"{work}/out/Lamp-master.mkv\n" == one.out


def test_links_are_told_before_they_are_made(work: Path, own_home: Path, retime: Program) -> None:
    path = own_home / "retime" / "profiles" / "linked.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(
        "format: retime-profile/1\nprofile: linked\npromises: Linked files\ncodec: tiff\n"
        "container: sequence\npixel-formats: [gray]\nrates: any\nlinks: yes\n"
    )
    (work / "lamp.yaml").write_text(LAMP.replace("h264-viewing", "linked"))
    ran = retime("render", work / "lamp.yaml", "-o", work / "out")

    assert 0 == ran.code
    assert "viewing: repeats are links; repairing one file repairs all of them" in ran.err


def test_reports_and_lists_for_programs_can_be_read_by_them(work: Path, retime: Program) -> None:
    report = json.loads(retime("report", work / "lamp.yaml", "--format", "json").out)
    schema = json.loads(retime("schema", "report").out)
    frames = json.loads(retime("frames", work / "lamp.yaml", "viewing", "--format", "json").out)
    rows = list(csv.DictReader(io.StringIO(retime("frames", work / "lamp.yaml", "viewing").out)))

    jsonschema.validate(report, schema)
    assert ["viewing"] == [one["name"] for one in report["deliverables"]]
    assert 32 == len(rows) == len(frames)
    assert [row["frame"] for row in rows] == [str(one["frame"]) for one in frames]
    # 18 in 24 shows 0, 1, 1, 2 and then 3, 4, 4, 5 (written by hand from the rule of repeat).
    assert ["0", "1", "1", "2", "3", "4", "4", "5"] == [row["frame"] for row in rows[:8]]


@pytest.mark.parametrize("name", ["map", "profile", "report"])
def test_every_schema_is_a_schema(name: str, retime: Program) -> None:
    schema = json.loads(retime("schema", name).out)

    jsonschema.Draft202012Validator.check_schema(schema)


# Pipes, full disks and closed ends.


@pytest.mark.parametrize(
    "arguments",
    [
        ["frames", "lamp.yaml", "viewing"],
        ["frames", "lamp.yaml", "viewing", "--format", "json"],
        ["report", "lamp.yaml"],
        ["report", "lamp.yaml", "--format", "json"],
        ["profiles"],
        ["schema"],
        ["--version"],
    ],
)
@pytest.mark.parametrize("taken", [0, 1])
def test_whoever_reads_a_result_may_stop_reading(
    taken: int, arguments: list[str], work: Path
) -> None:
    read, write = os.pipe()
    with subprocess.Popen(
        command(*arguments), stdout=write, stderr=subprocess.PIPE, text=True, cwd=work
    ) as running:
        os.close(write)
        if taken:
            os.read(read, taken)
        os.close(read)
        _, err = running.communicate()

    assert (0, "") == (running.returncode, err)


def test_a_render_goes_on_when_nobody_reads_its_messages(work: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    arguments = command("render", "lamp.yaml", "-o", "out")
    done = subprocess.run(arguments, stdout=write, stderr=write, check=False, cwd=work)
    os.close(write)

    assert 0 == done.returncode
    assert (work / "out" / "Lamp-viewing.mp4").exists()


@pytest.mark.skipif(not FULL.exists(), reason="the system has no /dev/full")
@pytest.mark.parametrize(
    "arguments", [["frames", "lamp.yaml", "viewing"], ["report", "lamp.yaml"], ["--version"]]
)
def test_a_result_that_cannot_be_printed_is_told(arguments: list[str], work: Path) -> None:
    with FULL.open("w", encoding="utf-8") as full:
        done = subprocess.run(
            command(*arguments), stdout=full, stderr=subprocess.PIPE, text=True, check=False,
            cwd=work,
        )  # fmt: skip

    assert 2 == done.returncode
    assert "the result cannot be printed: No space left on device\n" == done.stderr


def test_a_fault_of_our_own_ends_with_3_and_without_a_traceback(
    work: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise LookupError("the shelf fell down")

    monkeypatch.delenv("RETIME_TRACEBACK", raising=False)
    monkeypatch.setattr("retime.edition.join.join", broken)
    ran = retime("report", work / "lamp.yaml")

    assert (3, "") == (ran.code, ran.out)
    assert ran.err.startswith("retime failed: LookupError: the shelf fell down\n")
    assert "Traceback" not in ran.err


# Terminals.

STYLE = re.compile(r"\x1b\[[0-9;]*m")
"""What sets a colour, bold or the like (ECMA-48: select graphic rendition)."""


def at_a_terminal(*arguments: object, cwd: Path, **env: str) -> Ran:
    """Run the program with a terminal as standard error and standard output."""
    main, side = pty.openpty()
    whole = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "100", **env}
    with subprocess.Popen(
        command(*arguments), stdout=side, stderr=side, stdin=side, env=whole, cwd=cwd
    ) as running:
        os.close(side)
        shown = b""
        until = time.monotonic() + 60
        while time.monotonic() < until:
            ready, _, _ = select.select([main], [], [], 0.1)
            if not ready:
                continue
            try:
                data = os.read(main, 65536)
            except OSError:  # the other side is closed
                break
            if not data:
                break
            shown += data
    os.close(main)
    return Ran(code=running.returncode, out=shown.decode(), err="")


def _noisy(work: Path) -> None:
    """Put a scan in the place of the sound one that takes long enough for a bar to be seen."""
    write_noise(work / "lamp.mkv", 24, "ffv1", "gray", {"level": "3", "g": "1"})


def test_a_terminal_shows_a_bar_with_count_speed_and_time_left(work: Path) -> None:
    _noisy(work)
    ran = at_a_terminal("render", "lamp.yaml", "-o", "out", cwd=work)

    assert 0 == ran.code
    assert "viewing, in one pass over the scans" in ran.out
    assert "━" in ran.out
    assert "24/24" in ran.out
    assert "/s" in ran.out
    assert "0:00:0" in ran.out


def test_a_pipe_is_told_in_plain_lines(work: Path) -> None:
    ran = program("render", work / "lamp.yaml", "-o", work / "out")

    assert "viewing, in one pass over the scans: 24 pictures\n" in ran.err
    assert "24 pictures in " in ran.err
    assert ESCAPE not in ran.said
    assert "━" not in ran.err


@pytest.mark.parametrize("way", ["--no-color", "NO_COLOR"])
@pytest.mark.parametrize("name", ["report", "profiles", "render"])
def test_no_colour_means_none(name: str, way: str, work: Path) -> None:
    more = {"report": ["lamp.yaml"], "render": ["lamp.yaml", "-o", "out", "--force"]}.get(name, [])
    options, env = (["--no-color"], {}) if way == "--no-color" else ([], {"NO_COLOR": "1"})
    coloured = at_a_terminal(name, *more, cwd=work)
    plain = at_a_terminal(*options, name, *more, cwd=work, **env)

    assert STYLE.search(coloured.out)
    assert not STYLE.search(plain.out)
    assert name == "render" or ESCAPE not in plain.out


def test_a_terminal_that_can_only_print_is_told_in_plain_lines(work: Path) -> None:
    ran = at_a_terminal("render", "lamp.yaml", "-o", "out", cwd=work, TERM="dumb")

    assert "24 pictures in " in ran.out
    assert ESCAPE not in ran.out


def test_a_quiet_render_shows_no_bar(work: Path) -> None:
    ran = at_a_terminal("--quiet", "render", "lamp.yaml", "-o", "out", cwd=work)

    assert "out/Lamp-viewing.mp4" == ran.out.strip()
