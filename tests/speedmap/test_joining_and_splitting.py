"""Shots are made one, or two, in the list and in all that names them; no frame's speed changes."""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import pytest
import yaml
from handwritten import handwritten, shot_names, speeds_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from lamp_map import LAMP

from retime.errors import InputError
from retime.speedmap.joining import merge_shots
from retime.speedmap.manuscript import Manuscript
from retime.speedmap.splitting import split_shot

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

pytest_plugins = ["lamp_map"]

TABLE = '''\
shot , reel,first,last,kind,name
13,1,24,123,,"The jetty, at ""dusk"""
"14",1,124,223,,"so, so"
14A,1,224,323,title,
3,2,0,99,,  plain
5,2,100,199,title,card
7,2,200,299,action,the end'''
"""The sound map's shots as somebody keeps them: columns in an order of their own."""
LISTED = LAMP[LAMP.index("shots:\n") : LAMP.index("versions:")]
BY_TABLE = LAMP.replace(LISTED, "shots: shots.csv\n")


def merged(source: str, path: Path, shots: str, name: str | None = None) -> dict[str, str]:
    """Return the files that change, by name, as they are then."""
    write(source, path)
    return changed(merge_shots(Manuscript(path), shots, name).files)


def split(
    source: str, path: Path, shot: str, at: int, names: Sequence[str] | None = None
) -> dict[str, str]:
    write(source, path)
    return changed(split_shot(Manuscript(path), shot, at, names).files)


def write(source: str, path: Path) -> None:
    path.write_text(source, encoding="utf-8", newline="")
    (path.parent / "shots.csv").write_text(TABLE, encoding="utf-8", newline="")


def changed(files: object) -> dict[str, str]:
    return {one.path.name: one.after.decode() for one in files}  # type: ignore[attr-defined]


def test_a_shot_of_the_list_is_made_two(lamp_path: Path) -> None:
    old = "  - {reel: 1, first: 124, last: 223, shot: 14, name: The jetty}\n"
    one = "  - {reel: 1, first: 124, last: 149, shot: 14, name: The jetty}\n"
    two = "  - {reel: 1, first: 150, last: 223, shot: 15, name: The jetty}\n"
    rule = "      1/14: {speed: 18 fps, at most: 0:06}\n"
    expected = LAMP.replace(old, one + two).replace(rule, rule + rule.replace("14", "15"))

    assert {"lamp.yaml": expected} == split(LAMP, lamp_path, "1/14", 150, ["14", "15"])


def test_a_shot_of_a_block_is_copied_as_a_block(lamp_path: Path) -> None:
    block = """\
  -   reel:  1       # the quay
      first: 124
      last:  223  # ends in a splice
      shot: '14'
"""
    old = "  - {reel: 1, first: 124, last: 223, shot: 14, name: The jetty}\n"
    copy = "  -   reel: 1\n      first: 150\n      last: 223\n      shot: '15'\n"

    made = split(LAMP.replace(old, block), lamp_path, "1/14", 150, ["14", "15"])

    assert block.replace("223", "149") + copy in made["lamp.yaml"]


def test_a_row_of_the_table_is_made_two_and_keeps_its_quotes(lamp_path: Path) -> None:
    made = split(BY_TABLE, lamp_path, "1/14", 150, ["14", "14, b"])

    rows = '"14",1,124,149,,"so, so"\n"14, b",1,150,223,,"so, so"\n'
    assert TABLE.replace('"14",1,124,223,,"so, so"\n', rows) == made["shots.csv"]
    assert "      1/14, b: {speed: 18 fps, at most: 0:06}\n" in made["lamp.yaml"]


def test_a_table_without_an_end_to_its_last_line_stays_so(lamp_path: Path) -> None:
    made = split(BY_TABLE, lamp_path, "2/7", 250)

    assert made["shots.csv"].endswith("\n7A,2,200,249,action,the end\n7B,2,250,299,action,the end")
    assert "      2/3-2/7B: 16 fps -> 18 fps\n" in made["lamp.yaml"]


def test_rows_of_the_table_are_made_one(lamp_path: Path) -> None:
    source = BY_TABLE.replace("      1/14: {speed: 18 fps, at most: 0:06}\n", "")

    made = merged(source, lamp_path, "1/13-1/14")

    row = '13,1,24,223,,"The jetty, at ""dusk"""\n'
    first, last = TABLE.index("13,1"), TABLE.index("14A,1")
    assert {"shots.csv": TABLE[:first] + row + TABLE[last:]} == made


def test_shots_of_the_list_are_made_one(lamp_path: Path) -> None:
    source = LAMP.replace(
        "      1/14: {speed: 18 fps, at most: 0:06}\n",
        "      1/14: 18 fps   # as the counter says\n      1/13: '18 fps'\n",
    )

    made = merged(source, lamp_path, "1/13-1/14", "13-14")["lamp.yaml"]

    assert "  - {reel: 1, first: 24, last: 223, shot: 13-14}\n  - {reel: 1, first: 224" in made
    assert "    shots:\n      1/13-14: '18 fps'\n      2/3-2/7" in made


NAMED = LAMP.replace(
    "    speed: 24 fps\n",
    """\
    speed: 24 fps
    omit: [2/5]
    order: [1/13-1/14, 1/14A, 2/3, 2/3-2/7]   # twice
    insert:
      - {after: 2/5, black: 1 s, name: dark}
      - {before: 2/5, black: 2 s}
      - {after: dark, play: 2/5-2/7}
""",
).replace(
    "    file: brisk.mp4\n",
    "    file: brisk.mp4\n    chapters: [{at: 2/5, name: The card}, {at: 1, name: One}]\n",
)


def test_whatever_names_a_shot_names_the_two_of_it(lamp_path: Path) -> None:
    made = split(NAMED, lamp_path, "2/5", 150)["lamp.yaml"]

    expected = NAMED.replace("omit: [2/5]", "omit: [2/5A-2/5B]")
    expected = expected.replace("{after: 2/5,", "{after: 2/5B,")
    expected = expected.replace("{before: 2/5,", "{before: 2/5A,")
    expected = expected.replace("play: 2/5-2/7", "play: 2/5A-2/7")
    expected = expected.replace("{at: 2/5,", "{at: 2/5A,")
    one = "  - {reel: 2, first: 100, last: 149, shot: 5A, kind: title}\n"
    two = "  - {reel: 2, first: 150, last: 199, shot: 5B, kind: title}\n"
    row = "  - {reel: 2, first: 100, last: 199, shot: 5, kind: title}\n"
    assert expected.replace(row, one + two) == made


def test_made_one_again_the_map_is_what_it_was(lamp_path: Path) -> None:
    two = split(NAMED, lamp_path, "2/5", 150)["lamp.yaml"]

    back = merged(two, lamp_path, "2/5A-2/5B", "5")["lamp.yaml"]

    assert NAMED == back


def test_a_ramp_of_a_shot_runs_over_both_its_parts(lamp_path: Path) -> None:
    source = LAMP.replace("1/14: {speed: 18 fps, at most: 0:06}", "1/14: 16 -> 18  # cranked")

    made = split(source, lamp_path, "1/14", 150, ["14a", "14b"])["lamp.yaml"]

    assert "      1/14a-1/14b: 16 -> 18  # cranked\n" in made


def test_limits_that_hold_twice_are_told(lamp_path: Path) -> None:
    write(LAMP, lamp_path)
    made = split_shot(Manuscript(lamp_path), "1/14", 150, ["14", "15"])

    (note,) = made.notes
    assert note == "in version restrained all of the rule for 1/14 holds for each of the two"


SINGLE = "      1/14: {speed: 18 fps, at most: 0:06}\n"

NOT_ONE = [
    ((LAMP, "1/14"), "1/14 is one shot already"),
    ((LAMP, "1/14-1/14A"), "shot 1/14 is of kind action, and 1/14A of title"),
    ((LAMP, "1/14A-2/3"), "shots 1/14A and 2/3 are on two reels"),
    ((LAMP, "1/14-1/13"), "the run 1/14-1/13 runs backwards"),
    ((LAMP, "1/13-1/15"), 'the map has no shot "1/15"'),
    ((LAMP.replace("last: 123", "last: 120"), "1/13-1/14"), "are frames 121 to 123, which are in"),
    (
        (LAMP, "1/13-1/14"),
        "lamp.yaml:28:7: the rule for 1/14 in version restrained does not hold for all",
    ),
    (
        (LAMP.replace(SINGLE, "      1/13: 17\n      1/14: 18\n"), "1/13-1/14"),
        (
            "lamp.yaml:28:7: the rule for 1/13 in version restrained does not hold for all\n"
            "lamp.yaml:29:7: the rule for 1/14 in version restrained does not hold for all"
        ),
    ),
    (
        (LAMP.replace(SINGLE, "      1/13: 17->18\n      1/14: 17->18\n"), "1/13-1/14"),
        "lamp.yaml:28:7: a ramp of shot 1/13's own would run otherwise over all of them",
    ),
    (
        (LAMP.replace(SINGLE, "      1/14-1/14A: 17\n"), "1/13-1/14"),
        "lamp.yaml:28:7: the rule for 1/14-1/14A in version restrained holds for some of the sho",
    ),
    (
        (NAMED.replace(SINGLE, "").replace("1/13-1/14, 1/14A", "1/13, 1/14, 1/14A"), "1/13-1/14"),
        "lamp.yaml:33:13: this names a part of the film, for some of the shots that are to be one",
    ),
    (
        (
            LAMP.replace(SINGLE, "").replace("at: 2", "at: 2") + "replace: {1/14: x.png}\n",
            "1/13-1/14",
        ),
        "a picture stands in the place of shot 1/14; take it out first",
    ),
]


@pytest.mark.parametrize(("asked", "told"), NOT_ONE)
def test_shots_that_cannot_be_one_are_refused_with_all_places(
    asked: tuple[str, str], told: str, lamp_path: Path
) -> None:
    with pytest.raises(InputError) as caught:
        merged(asked[0], lamp_path, asked[1])

    said = str(caught.value).replace(f"{lamp_path.parent}/", "").splitlines()
    for one in told.splitlines():
        assert any(one in line for line in said), said


RAMP = LAMP.replace("{speed: 18 fps, at most: 0:06}", "{speed: 16 -> 18, at most: 0:06}")
NOT_TWO = [
    ((LAMP, "1/13-1/14", 50, None), "1/13-1/14 are several shots"),
    ((LAMP, "1/13", 24, None), "shot 1/13 cannot be split before frame 24; name a frame from 25"),
    ((LAMP, "1/13", 124, None), "shot 1/13 cannot be split before frame 124; name a frame from"),
    ((LAMP, "1/13", -5, None), "shot 1/13 cannot be split before frame -5"),
    (
        (LAMP.replace("first: 24, last: 123", "first: 123, last: 123"), "1/13", 123, None),
        "one frame",
    ),
    ((LAMP, "1/13", 50, ["13"]), "a split shot takes two names that differ"),
    ((LAMP, "1/13", 50, ["x", "x"]), "a split shot takes two names that differ"),
    ((LAMP, "1/13", 50, ["13", ""]), "a split shot takes two names that differ"),
    ((LAMP, "1/13", 50, ["13", "14"]), "there is a shot 1/14 already; choose other names"),
    ((LAMP, "1/13", 50, ["13", "1/4"]), 'the name "1/4" holds a slash'),
    ((LAMP, "1/14", 150, None), "there is a shot 1/14A already; choose names"),
    (
        (RAMP, "1/14", 150, ["a", "b"]),
        "lamp.yaml:28:7: the ramp of shot 1/14 in version restrained cannot run over two: a run h",
    ),
    (
        (LAMP.replace(SINGLE, "      2/5: 16 -> 18\n"), "2/5", 150, None),
        "lamp.yaml:28:7: the ramp of shot 2/5 in version restrained cannot run over two: the rule",
    ),
    (
        (LAMP.replace(SINGLE, "      2/7: 16 -> 18\n"), "2/7", 250, None),
        "lamp.yaml:28:7: the ramp of shot 2/7 in version restrained cannot run over two: another",
    ),
    (
        (LAMP.replace(SINGLE, "") + "replace: {1/14: x.png}\n", "1/14", 150, ["a", "b"]),
        "a picture stands in the place of shot 1/14; take it out first",
    ),
]


@pytest.mark.parametrize(("asked", "told"), NOT_TWO)
def test_a_shot_that_cannot_be_two_is_refused(
    asked: tuple[str, str, int, list[str] | None], told: str, lamp_path: Path
) -> None:
    with pytest.raises(InputError) as caught:
        split(asked[0], lamp_path, *asked[1:])

    assert told in str(caught.value).replace(f"{lamp_path.parent}/", "")


def frame_speeds(text: str) -> dict[tuple[str, str, int], tuple[str, ...]]:
    """Return what governs every frame's speed, by the tests' own reader."""
    shots = yaml.load(text, Loader=yaml.CBaseLoader)["shots"]  # noqa: S506 - texts alone
    return {
        (version, shots[place]["reel"], frame): told
        for (version, place), told in speeds_of(text).items()
        for frame in range(int(shots[place]["first"]), int(shots[place]["last"]) + 1)
    }


REFUSALS = ("cannot run over two", "used elsewhere", "a ramp of shot", "cannot be taken out")


@given(st.integers(0, 2**32))
@settings(
    max_examples=40,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_shot_made_two_and_one_again_keeps_every_frame_speed(lamp_path: Path, seed: int) -> None:
    dice = Random(seed)  # noqa: S311 - no secret
    source = handwritten(dice, shots=5, reels=2)
    shots = yaml.load(source, Loader=yaml.CBaseLoader)["shots"]  # noqa: S506 - texts alone
    place = dice.randrange(len(shots))
    first, last = int(shots[place]["first"]), int(shots[place]["last"])
    if first == last:
        return
    name = shot_names(source)[place]
    try:
        two = split(source, lamp_path, name, dice.randrange(first + 1, last + 1), ["x", "y"])
        back = merged(
            two["lamp.yaml"], lamp_path, f"{shots[place]['reel']}/x-{shots[place]['reel']}/y"
        )
    except InputError as error:
        if any(one in str(error) for one in REFUSALS):
            return
        raise
    before = frame_speeds(source)
    assert before == frame_speeds(two["lamp.yaml"])
    assert before == frame_speeds(back["lamp.yaml"])
    assert len(shot_names(two["lamp.yaml"])) == len(shots) + 1


def test_what_would_change_an_heir_is_refused(lamp_path: Path) -> None:
    """The run becomes a single shot's rule, which would go before the heir's own run."""
    source = LAMP.replace(SINGLE, "      1/13-1/14: 18 fps\n").replace(
        "  brisk:\n", "  second: {like: restrained, shots: {1/13-1/14A: 21 fps}}\n  brisk:\n", 1
    )

    with pytest.raises(InputError, match="frames 24 to 123 of reel 1 would change too, in version"):
        merged(source, lamp_path, "1/13-1/14")


NAMES = st.text("aü1𝄞 ,\"'#:{}[]&*!|>%@`?~", min_size=1, max_size=9).filter(
    lambda name: name == name.strip()
)


@given(st.lists(NAMES, min_size=2, max_size=2, unique=True), st.booleans())
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_names_are_quoted_where_they_have_to_be(
    lamp_path: Path,
    names: list[str],
    listed: bool,  # noqa: FBT001 - drawn
) -> None:
    source = LAMP if listed else BY_TABLE
    write(source, lamp_path)

    made = split_shot(Manuscript(lamp_path), "2/7", 250, names)

    assert names == [shot.name for shot in made.speed_map.shots][-2:]
    last = made.speed_map.versions["restrained"].shots[-1].last
    assert ("2", names[1]) == (last.reel, last.shot)
