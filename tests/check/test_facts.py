"""Files of every profile held against their plan, and every fault that is put into one.

Files are changed by the ffmpeg program, or byte by byte where the format's own specification says
what a byte means; each is named beside the change.
"""

from __future__ import annotations

import json
import re
import struct
from itertools import chain, cycle
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from holding import Held, program, rendered, speech, spoil
from numbered import write_scan
from sounds import write_wav

from retime.check.facts import fact_findings
from retime.check.place import FilePlace
from retime.film.notation import parse_rate
from retime.film.scanning import Scanning
from retime.findings import Finding, Severity
from retime.profile.shelf import load_profile, shipped_folder
from retime.second.facts import file_facts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

TAGS = {"color_primaries": 6, "color_trc": 1, "colorspace": 5, "color_range": 1}
REELS = "  - {reel: 1, scan: one.mkv}\n  - {reel: 2, scan: two.mkv}"
COMPANY = "chapters: reels, subtitles: {file: en.srt, follows: 18 fps, language: eng}"
SOUND = ", sound: {file: sound.wav, follows: 18 fps, language: eng}"
_RATES = ("24", "25", "24000/1001", "30000/1001", "30")


def _deliverables() -> Iterator[tuple[str, str]]:
    """Yield every shipped profile in each of its scannings, at rates that it takes in turn."""
    turn = cycle(_RATES)
    for path in sorted(shipped_folder().glob("*.yaml")):
        profile = load_profile(path)
        for scanning in profile.scannings:
            fit = (
                rate
                for rate in chain((next(turn),), _RATES)
                if profile.allows(parse_rate(rate))
                and not (scanning.interlaced and rate.startswith("24"))
            )
            rate = next(fit)
            name = f"{profile.name}_{scanning}"
            head = "" if profile.codec is None else "head: {black: 0.1 s}, "
            what = f"{{version: v, profile: {profile.name}, scanning: {scanning}, rate: {rate}, "
            what += f'{head}timecode: "{LABELS.get(rate, "01:00:00:00")}", {COMPANY}'
            yield name, f"{what}{SOUND if profile.sound else ''}}}"


LABELS = {"30000/1001": "01:00:00;02"}
DELIVERABLES = dict(_deliverables())


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Held:
    """Render a short film in two reels to every profile and scanning."""
    folder = tmp_path_factory.mktemp("facts")
    options = {"level": "3", "g": "1", "slicecrc": "1"}
    for name, numbers in (("one", range(8)), ("two", range(100, 108))):
        path = folder / f"{name}.mkv"
        write_scan(path, numbers, "ffv1", "yuv422p10le", options, (320, 240), attributes=TAGS)
    sound = np.stack([speech(2, 1), speech(2, 2)], axis=1)
    write_wav(folder / "sound.wav", np.rint(sound * 32767).astype(np.int64))
    (folder / "en.srt").write_text(
        "1\n00:00:00,100 --> 00:00:00,300\nThe tide\n\n2\n00:00:00,400 --> 00:00:00,700\nThe lamp\n"
    )
    text = "format: retime-map/1\nfilm: Numbers\ngauge: 35mm\n"
    text += f"reels:\n{REELS}\nversions:\n  v: {{speed: 20 fps}}\ndeliverables:\n"
    text += "".join(f"  {name}: {what}\n" for name, what in DELIVERABLES.items())
    (folder / "map.yaml").write_text(text, encoding="utf-8")
    return rendered(folder / "map.yaml", folder / "out")


def found(held: Held, name: str, path: Path | None = None) -> list[Finding]:
    """Return what is found in a deliverable's file, or in another held against its plan."""
    where = path or held.paths[name]
    return fact_findings(held.makings[name], held.edition, where, file_facts(where))


def rules(findings: list[Finding]) -> set[str]:
    return {one.rule for one in findings}


@pytest.mark.parametrize("name", DELIVERABLES)
def test_a_correct_file_of_every_profile_has_no_finding(name: str, made: Held) -> None:
    assert [] == [str(one) for one in found(made, name)]


def test_every_profile_was_held_in_every_scanning() -> None:
    profiles = [load_profile(path) for path in shipped_folder().glob("*.yaml")]

    assert {f"{one.name}_{how}" for one in profiles for how in one.scannings} == set(DELIVERABLES)
    assert len(profiles) > 15
    assert any(Scanning.BOTTOM_FIRST in one.scannings for one in profiles)


MASTER, PRORES, VIEWING = (
    "ffv1-master_progressive",
    "prores-mezzanine_progressive",
    "h264-viewing_progressive",
)


@pytest.mark.parametrize("name", [MASTER, PRORES, VIEWING, "prores-mezzanine_top-first"])
def test_a_file_that_another_program_copied_has_no_finding(
    name: str, made: Held, tmp_path: Path
) -> None:
    """What is found below is found in what was changed, and not in that it was copied."""
    assert [] == [str(one) for one in found(made, name, spoil(made.paths[name], tmp_path))]


class Fault(NamedTuple):
    """A fault: into which deliverable it is put, how, and what must be said of it."""

    name: str
    changes: tuple[str, ...]
    rule: str
    said: str
    beside: frozenset[str] = frozenset()


FAULTS = {
    "one frame late": Fault(
        MASTER, ("-bsf:v", r"setts=pts=PTS+20*eq(N\,9)"), "rate", "do not come evenly"
    ),
    "retagged": Fault(
        MASTER, ("-bsf:v", "setts=pts=N*55:dts=N*55:duration=55"), "rate", "200/11 (18.182)"
    ),
    "too few": Fault(
        MASTER,
        ("-frames:v", "12"),
        "length",
        "it has 12 frames, and the plan",
        frozenset({"sound length", "subtitles"}),
    ),
    "aspect": Fault(MASTER, ("-aspect", "16:9"), "aspect", "sample aspect is 4/3, and not 1"),
    "size": Fault(
        MASTER, ("-c:v", "ffv1", "-vf", "scale=160:120"), "size", "160x120, and not 320x240"
    ),
    "samples": Fault(
        MASTER,
        ("-c:v", "ffv1", "-pix_fmt", "yuv420p"),
        "pixel format",
        "yuv420p, and not yuv422p10",
    ),
    "codec": Fault(MASTER, ("-c:v", "ffvhuff"), "codec", "ffvhuff, and not in ffv1"),
    "variant": Fault(
        PRORES, ("-c:v", "prores_ks", "-profile:v", "lt"), "codec", "prores is LT, and not HQ"
    ),
    # Rec. ITU-T H.264, E.2.1, by the program's own bitstream filter. Versions of the program differ
    # in whether they then believe the container or the pictures; one of the two is wrong.
    "range": Fault(
        VIEWING, ("-bsf:v", "h264_metadata=video_full_range_flag=1"), "range", "full, and it is"
    ),
    "primaries": Fault(
        VIEWING,
        ("-bsf:v", "h264_metadata=colour_primaries=9"),
        "colour",
        "colour primaries is ",
    ),
    "matrix": Fault(
        VIEWING,
        ("-bsf:v", "h264_metadata=matrix_coefficients=1"),
        "colour",
        "colour matrix is ",
    ),
    "coded rate": Fault(
        VIEWING,
        ("-bsf:v", "h264_metadata=tick_rate=100"),
        "rate",
        "coded pictures say a rate of 50",
        frozenset({"length"}),
    ),
    "frames' colour": Fault(
        PRORES,
        ("-bsf:v", "prores_metadata=color_trc=arib-std-b67"),
        "colour",
        "colour transfer is ",
    ),
    "frames' order": Fault(
        "prores-mezzanine_top-first",
        ("-c:v", "prores_ks", "-profile:v", "hq", "-flags", "+ildct", "-vf", "setfield=bff"),
        "fields",
        "bottom-first",
    ),
    "timecode": Fault(
        MASTER,
        ("-metadata:s:v", "timecode=10:00:00:00"),
        "timecode",
        "begins with 10:00:00:00, and not with",
    ),
    "no timecode": Fault(MASTER, ("-metadata:s:v", "timecode="), "timecode", "it has no timecode"),
    "another map": Fault(
        MASTER,
        (
            "-metadata",
            f"comment=version v, deliverable {MASTER}, map sha256 {'0' * 64}, retime 0.1.0",
        ),
        "another map",
        "from another map",
    ),
    "no origin": Fault(MASTER, ("-metadata", "comment="), "metadata", "does not say which map"),
    "title": Fault(PRORES, ("-metadata", "title=Letters"), "metadata", "Letters"),
    "no chapters": Fault(MASTER, ("-map_chapters", "-1"), "chapters", "no chapters, and should"),
    "no sound": Fault(MASTER, ("-an",), "sound", "no streams of sound, and should have 1"),
    "sound twice": Fault(PRORES, ("-map", "0:a"), "sound", "2 streams of sound, and should have 1"),
    "short sound": Fault(
        PRORES,
        ("-c:a", "pcm_s24le", "-af", "atrim=end_sample=30000"),
        "sound length",
        "has 30000 samples, and should have",
    ),
    "sound's codec": Fault(
        PRORES, ("-c:a", "pcm_s16le"), "sound", "pcm_s16le, and not in pcm_s24le"
    ),
    "sound's rate": Fault(
        PRORES, ("-c:a", "pcm_s24le", "-ar", "44100"), "sound", "44100 samples a second, and not"
    ),
    "mono": Fault(PRORES, ("-c:a", "pcm_s24le", "-ac", "1"), "sound", "1 channel, and sound.wav 2"),
    "no subtitles": Fault(VIEWING, ("-sn",), "subtitles", "no streams of subtitles, and should"),
    "subtitles' language": Fault(
        MASTER, ("-metadata:s:s", "language=ger"), "language", "the subtitles is said to be ger"
    ),
    "sound's language": Fault(
        VIEWING, ("-metadata:s:a", "language=ger"), "language", "the sound is said to be ger"
    ),
    "late subtitles": Fault(
        MASTER, ("-bsf:s", r"setts=pts=PTS+40*eq(N\,1)"), "subtitles", "a cue of en.srt comes at"
    ),
}


@pytest.mark.parametrize("kind", FAULTS)
def test_every_fault_put_into_a_correct_file_is_found_and_named(
    kind: str, made: Held, tmp_path: Path
) -> None:
    fault = FAULTS[kind]
    findings = found(made, fault.name, spoil(made.paths[fault.name], tmp_path, *fault.changes))
    told = [one for one in findings if one.rule == fault.rule]

    assert any(fault.said in one.text for one in told), findings
    warned = kind in {"another map", "no origin", "title"}
    assert {Severity.WARNING if warned else Severity.ERROR} == {one.severity for one in told}
    assert {fault.rule} <= rules(findings) <= {fault.rule} | fault.beside


def test_a_frame_that_comes_late_is_told_at_its_place(made: Held, tmp_path: Path) -> None:
    path = spoil(made.paths[MASTER], tmp_path, *FAULTS["one frame late"].changes)
    (finding,) = (one for one in found(made, MASTER, path) if one.rule == "rate")

    assert isinstance(finding.place, FilePlace)
    assert 9 == finding.place.output


def _patched(path: Path, folder: Path, change: Callable[[bytearray], None]) -> Path:
    data = bytearray(path.read_bytes())
    change(data)
    (folder / path.name).write_bytes(data)
    return folder / path.name


def test_a_rate_that_only_the_headers_clock_changed_is_told_as_such(
    made: Held, tmp_path: Path
) -> None:
    """QuickTime File Format Specification, media header atom: the time scale is its fourth word.

    The first track's is that of the pictures.
    """

    def faster(data: bytearray) -> None:
        at = data.index(b"mdhd") + 4 + 12
        (scale,) = struct.unpack_from(">I", data, at)
        struct.pack_into(">I", data, at, scale * 25 // 24)

    plan = made.makings[PRORES].plan
    findings = found(made, PRORES, _patched(made.paths[PRORES], tmp_path, faster))
    told = [one for one in findings if one.rule == "rate"]

    assert f"its {plan.total} frames are all there, and come at another rate" in told[0].text
    assert f"not at {plan.conform.rate}" in told[0].text


@pytest.mark.parametrize("ending", ["mov", "mkv"])
def test_prores_pictures_that_say_another_rate_are_counted_and_the_first_is_named(
    ending: str, made: Held, tmp_path: Path
) -> None:
    """SMPTE RDD 36, frame_rate_code, as read in public implementations: 8 is 60, 0 unknown."""

    def other(data: bytearray) -> None:
        heads = [found.start() for found in re.finditer(b"icpf", data)]
        for at in heads:
            assert data[at + 17] & 0x0F == 0
        for at in heads[3], heads[5]:
            data[at + 17] |= 8

    path = _patched(made.paths[PRORES], tmp_path, other)
    if ending != "mov":
        path = tmp_path / f"copied.{ending}"
        program("-i", tmp_path / made.paths[PRORES].name, "-map", "0:v", "-c", "copy", path)
    (finding,) = (one for one in found(made, PRORES, path) if one.rule == "rate")

    assert isinstance(finding.place, FilePlace)
    assert 3 == finding.place.output
    assert "2 of its coded pictures say a rate of their own, this one 60, and it is " in str(
        finding
    )


def test_a_container_that_says_the_other_field_first_is_found(made: Held, tmp_path: Path) -> None:
    """QuickTime File Format Specification, ``fiel``: 2 fields, and 6 for bottom first, not 1."""
    name = "prores-mezzanine_top-first"

    def other(data: bytearray) -> None:
        at = data.index(b"fiel\2") + 5
        assert data[at] == 1
        data[at] = 6

    findings = found(made, name, _patched(made.paths[name], tmp_path, other))

    assert {"fields"} == rules(findings)
    assert "said to be bottom-first, and is top-first" in findings[0].text


def test_the_other_field_first_is_found_where_repeat_flags_carry_the_film(made: Held) -> None:
    findings = found(made, "disc-sd-525_top-first", made.paths["disc-sd-525_bottom-first"])

    assert {"fields"} == rules(findings)
    assert "bottom-first, and they are top-first" in findings[0].text


@pytest.mark.parametrize(
    ("change", "rule", "said"),
    [
        ("frame_rate=25", "rate", "25"),
        ("display_aspect_ratio=16/9", "aspect", "32/27"),
        ("transfer_characteristics=7", "colour", "transfer is said to be 7"),
    ],
)
def test_what_an_elementary_streams_own_headers_say_wrong_is_found(
    change: str, rule: str, said: str, made: Held, tmp_path: Path
) -> None:
    name = "disc-sd-525_top-first"
    path = tmp_path / made.paths[name].name
    program("-i", made.paths[name], "-c", "copy", "-bsf:v", f"mpeg2_metadata={change}", path)
    for one in made.paths[name].parent.glob(f"{made.paths[name].stem}.*"):
        if one.suffix != ".m2v":
            (tmp_path / one.name).write_bytes(one.read_bytes())
    findings = found(made, name, path)

    assert {rule} == rules(findings)
    assert any(said in one.text for one in findings)


def test_a_chapter_that_was_moved_by_a_frame_and_one_that_was_renamed_are_found(
    made: Held, tmp_path: Path
) -> None:
    text = program("-i", made.paths[MASTER], "-f", "ffmetadata", "-").decode()
    # A second of nanoseconds over 24: the second chapter begins and the first ends a frame later.
    moved = int(re.findall(r"END=(\d+)", text)[0])
    text = text.replace(f"={moved}\n", f"={moved + 41_666_667}\n")
    (tmp_path / "chapters.txt").write_text(text.replace("title=Reel 2", "title=Reel II"))
    changes = ("-map_chapters", "1")
    inputs = ("-i", tmp_path / "chapters.txt")
    path = spoil(made.paths[MASTER], tmp_path, *changes, inputs=inputs)
    findings = [one.text for one in found(made, MASTER, path)]

    assert 2 == len(findings)
    assert '"Reel 1" begins at' in findings[0]
    assert '"Reel 2" is called "Reel II"' in findings[1]


def test_a_label_without_its_mark_of_drop_frame_is_found(made: Held, tmp_path: Path) -> None:
    name = next(
        one
        for one, path in made.paths.items()
        if "30000/1001" in DELIVERABLES[one] and path.suffix == ".mkv"
    )
    said = file_facts(made.paths[name]).timecode or ""
    assert ";" in said
    label = said.replace(";", ":")
    findings = found(
        made, name, spoil(made.paths[name], tmp_path, "-metadata:s:v", f"timecode={label}")
    )

    assert {"timecode"} == rules(findings)
    assert "marks drop-frame" in findings[0].hint


@pytest.fixture
def sequence(made: Held, tmp_path: Path) -> Path:
    """Return a copy of the DPX sequence with all that lies beside it."""
    folder = made.paths["dpx-sequence_progressive"]
    copy = tmp_path / folder.name
    copy.mkdir()
    for one in folder.iterdir():
        (copy / one.name).write_bytes(one.read_bytes())
    for one in folder.parent.glob(f"{folder.name}.*"):
        (tmp_path / one.name).write_bytes(one.read_bytes())
    return copy


def test_holes_strangers_and_another_count_are_found_among_numbered_files(
    made: Held, sequence: Path
) -> None:
    name = "dpx-sequence_progressive"
    assert [] == found(made, name, sequence)
    (sequence / f"{sequence.name}.0000005.dpx").unlink()
    (sequence / "notes.txt").write_text("not a picture")
    total = made.makings[name].plan.total
    told = {(one.rule, one.text) for one in found(made, name, sequence)}

    assert ("numbered files", "files are missing: 5") in told
    assert ("numbered files", "other files lie among them: notes.txt") in told
    assert ("length", f"it has {total - 1} files, and the plan {total} frames") in told


def test_a_dpx_files_own_rate_and_label_are_held(made: Held, sequence: Path) -> None:
    """SMPTE ST 268, from memory: the film header's rate stands at 1724, the television's at 1940.

    The timecode at 1920 has two digits a byte.
    """
    name = "dpx-sequence_progressive"
    first = sequence / f"{sequence.name}.0000000.dpx"
    data = bytearray(first.read_bytes())
    order = ">" if data[:4] == b"SDPX" else "<"
    for at in (1724, 1940):
        struct.pack_into(f"{order}f", data, at, 23.976)
    struct.pack_into(f"{order}I", data, 1920, 0x10203004)
    first.write_bytes(data)
    told = {one.rule: one.text for one in found(made, name, sequence)}

    assert {"rate", "timecode"} == set(told)
    assert "files' headers say a rate of" in told["rate"]
    assert "begins with 10:20:30:04" in told["timecode"]


def test_what_lies_beside_numbered_files_is_held_too(made: Held, sequence: Path) -> None:
    name = "dpx-sequence_progressive"
    about = json.loads((sequence / "about.json").read_text())
    about |= {"rate": "18", "comment": about["comment"].replace("map sha256 ", "map sha256 0")[:-1]}
    (sequence / "about.json").write_text(json.dumps(about))
    sequence.with_name(f"{sequence.name}.wav").unlink()
    sequence.with_name(f"{sequence.name}.eng.srt").unlink()
    told = {one.rule: one.text for one in found(made, name, sequence)}

    assert "about.json says a rate of 18" in told["rate"]
    assert "does not say which map" in told["metadata"]
    assert f"{sequence.name}.wav" in told["sound"]
    assert f"{sequence.name}.eng.srt" in told["subtitles"]


def test_another_deliverables_file_is_told_as_that(made: Held) -> None:
    told = {one.rule for one in found(made, PRORES, made.paths["prores-mezzanine_top-first"])}

    assert {"another deliverable", "fields"} <= told
