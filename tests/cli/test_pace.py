"""``retime pace`` as the whole program: what it prints, what it refuses, and what it asks for."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from numbered import draw, encode_files

from retime.evidence.reading import read
from retime.report.pace_schema import pace_schema

if TYPE_CHECKING:
    from running import Program

pytest_plugins = ["at_the_desk"]

MEDIA = Path(__file__).parents[2] / "demo_media"
REEL = MEDIA / "tidewatcher-reel-1.mkv"
PENDULUM = ("--from", 196, "--to", 275, "--box", "250,340,120,80")
HEAD = """\
format: retime-evidence/1
film: The Tidewatcher's Lamp
gauge: 35mm
length: 1000 ft
candidates: [16 fps, 20 fps, 24 fps]
evidence:
"""


def write_files(pattern: Path, count: int) -> None:
    """Write numbered files that all show the same."""
    pictures = [draw(7, pixel_format="gbrp10be")] * count
    for number, data in enumerate(encode_files(pictures, "dpx")):
        pattern.with_name(pattern.name % number).write_bytes(data)


def told(retime: Program, *arguments: object) -> dict[str, Any]:
    """Return what the program tells programs, held against its schema."""
    ran = retime("pace", *arguments, "--format", "json")
    values: dict[str, Any] = json.loads(ran.out)
    jsonschema.validate(values, pace_schema())
    assert (0 if values["refused"] is None else 1) == ran.code, ran.said
    return values


def test_frames_speed_and_item_are_printed(retime: Program) -> None:
    ran = retime("pace", REEL, *PENDULUM, "--motion", "pendulum 0.9936 m within 1 %")
    answer, _, item = ran.out.partition("\n\n")

    assert (0, "") == (ran.code, ran.err)
    assert "frames to a swing there and back" in answer
    assert "taken at" in answer
    assert "half of it" in answer
    (only,) = read(f"{HEAD}{item}", Path("evidence.yaml")).items
    assert "tidewatcher-reel-1-196-275" == only.id
    assert float(only.implied[0].speed.value) == pytest.approx(20, rel=0.03)
    assert "frames 196 to 275, box 250,340,120,80" in only.source


@pytest.mark.parametrize("seen", [PENDULUM, PENDULUM[:4]], ids=["box", "all"])
def test_the_answer_and_the_item_are_within_the_same(
    seen: tuple[object, ...], retime: Program
) -> None:
    """Rounded up, so that neither is within less than was found."""
    motion = ("--motion", "pendulum 0.9936 m within 1 %")
    answer, _, item = retime("pace", REEL, *seen, *motion).out.partition("\n\n")
    above = re.search(r"there and back +([\d.]+) within ([\d.]+)", answer)
    below = re.search(r"frames: ([\d.]+) .*\n    within: ([\d.]+) ", item)

    assert above is not None
    assert below is not None
    assert above.groups() == below.groups()
    found = told(retime, REEL, *seen, *motion)["within"]
    assert found <= float(above[2]) < found + 0.01


def test_programs_are_told_the_same(retime: Program) -> None:
    values = told(retime, REEL, *PENDULUM, "--motion", "pendulum 0.9936 m within 1 %")

    assert "retime-pace/1" == values["format"]
    assert ("tidewatcher-reel-1.mkv", 196, 275) == (
        values["scan"],
        values["first"],
        values["last"],
    )
    assert ([250, 340, 120, 80], None) == (values["box"], values["box_to"])
    assert values["frames"] == pytest.approx(40, rel=0.03)
    assert values["within"] == pytest.approx(3**0.5 * values["uncertainty"], rel=1e-4)
    assert values["speed"]["low"] < 20 < values["speed"]["high"]
    assert ("pendulum", "0.9936 m within 1 %") == (
        values["motion"]["law"],
        values["motion"]["said"],
    )
    assert "    pendulum: 0.9936 m within 1 %\n" in values["item"]
    assert values["others"][0]["speed"]["value"] == pytest.approx(10, rel=0.03)


def test_without_a_motion_the_frames_alone_are_told(retime: Program) -> None:
    values = told(retime, REEL, *PENDULUM)

    assert (None, None, None) == (values["motion"], values["speed"], values["item"])
    assert values["frames"] == pytest.approx(40, rel=0.03)
    assert "say what moves" in retime("pace", REEL, *PENDULUM).out


def test_marks_are_taken_instead_of_measuring_and_nothing_is_decoded(
    retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("retime.pace.pictures.read_frames", never)
    marks = "132,143,154,165,176,187"
    values = told(retime, REEL, "--marks", marks, "--motion", "walk", "--id", "abel-walks")

    assert 11 == values["frames"]
    assert marks.split(",") == values["marks"]
    assert (None, None, None) == (values["first"], values["box"], values["confidence"])
    assert values["item"].startswith("  - id: abel-walks\n    kind: motion\n    marks: [132, 143,")
    # Not narrower than walking is known: 109 +/- 9 steps a minute, Dall et al. 2013, in Richard
    # Baker, "What is normal walking?".
    assert values["speed"]["low"] <= 11 * 100 / 60
    assert values["speed"]["high"] >= 11 * 118 / 60


def test_two_marks_of_a_fall_are_frames_with_the_error_of_reading(retime: Program) -> None:
    values = told(retime, REEL, "--marks", "289,309", "--motion", "fall 4.9 m within 2 %")

    assert values["speed"]["value"] == pytest.approx(20, rel=1e-3)
    assert values["within"] == pytest.approx(0.5**0.5, abs=1e-5)
    assert "two marks tell no error" in values["notes"][0]


def test_a_title_that_stands_still_is_refused_with_what_to_try(retime: Program) -> None:
    title = ("--from", 20, "--to", 55)
    ran = retime("pace", REEL, *title)
    values = told(retime, REEL, *title, "--motion", "walk")

    assert (1, "") == (ran.code, ran.out)
    assert "frames 20 to 55" in ran.err
    assert "mark frames by hand with --marks" in ran.err
    assert values["refused"]
    assert (None, None, []) == (values["frames"], values["item"], values["others"])


def test_numbered_files_of_any_depth_are_looked_at(retime: Program, work: Path) -> None:
    write_files(work / "still%04d.dpx", 14)

    assert "nothing moves" == told(retime, work / "still%04d.dpx")["refused"]


BAD = {
    "a box outside the picture": (
        ("--box", "600,0,100,100"),
        "--box: the box reaches to colu",
    ),
    "a box that ends outside": (
        ("--box", "0,0,9,9", "--box-to", "0,475,9,9"),
        "--box-to: the box reaches",
    ),
    "no box": (("--box", "12"), "--box: '12' is no area"),
    "a box without height": (("--box", "1,2,3,0"), "is no area"),
    "a box that goes from nowhere": (("--box-to", "0,0,9,9"), "say --box too"),
    "a fall in a box that goes": (
        ("--box", "0,0,9,9", "--box-to", "1,0,9,9", "--motion", "fall 1 m"),
        "in a box that stays",
    ),
    "a frame beyond the scan": (("--from", 345), "--from: there is no frame 345"),
    "a last frame beyond it": (("--to", 400), "it has 345 frames, 0 to 344"),
    "frames backwards": (("--from", 20, "--to", 10), "--to 10 comes before --from 20"),
    "too few frames": (("--from", 20, "--to", 30), "11 frames are no number of frames to look at"),
    "a negative frame": (("--from", -3), "--from"),
    "marks and a box": (("--marks", "1,12", "--box", "0,0,9,9"), "--marks and --box do not go"),
    "marks and frames": (("--marks", "1,12", "--from", 3), "--marks and --from do not go"),
    "marks that are none": (("--marks", "1,x"), "--marks: 'x' is no frame"),
    "marks that fall": (("--marks", "12,1"), "1 does not come after 12"),
    "one mark": (("--marks", "12"), "one mark tells no period"),
    "a mark beyond the scan": (("--marks", "12,344.5"), "there is no frame 344.5"),
    "three marks of a fall": (
        ("--marks", "1,5,9", "--motion", "fall 1 m"),
        "fall has two, not 3",
    ),
    "an unknown motion": (("--motion", "wlak"), "--motion: no movement is named 'wlak'; did you"),
    "a pendulum without length": (("--motion", "pendulum"), "does not say how long"),
    "a name with capitals": (("--id", "Abel"), "--id: 'Abel' is no id"),
    "an unknown format": (("--format", "html"), "--format"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_ends_with_2_and_one_clear_message(case: str, retime: Program) -> None:
    arguments, words = BAD[case]
    ran = retime("pace", REEL, *arguments)

    assert (2, "") == (ran.code, ran.out), ran.said
    assert words in ran.err
    assert "Traceback" not in ran.err


def test_what_is_no_film_ends_with_2(retime: Program, tmp_path: Path) -> None:
    (tmp_path / "notes.mkv").write_text("not a film")
    for name, words in (("notes.mkv", "no movie"), ("away.mkv", "is not there"), ("", "a folder")):
        for more in ((), ("--marks", "1,12")):
            ran = retime("pace", tmp_path / name, *more)
            assert (2, "") == (ran.code, ran.out), ran.said
            assert words in ran.err


def test_a_hole_in_numbered_files_is_told_where_it_is(retime: Program, work: Path) -> None:
    write_files(work / "hole%04d.dpx", 14)
    (work / "hole0005.dpx").unlink()
    ran = retime("pace", work / "hole%04d.dpx")

    assert 2 == ran.code
    assert "has no file for frame 5" in ran.err
