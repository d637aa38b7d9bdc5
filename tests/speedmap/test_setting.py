"""A speed is set where it is meant, and nothing else changes: not a byte, and no other speed."""

from __future__ import annotations

from difflib import SequenceMatcher
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from handwritten import handwritten, shot_names, speeds_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from lamp_map import LAMP

from retime.errors import InputError
from retime.speedmap.manuscript import Manuscript
from retime.speedmap.setting import set_reel, set_shots, set_titles, set_version

if TYPE_CHECKING:
    from pathlib import Path

    from retime.speedmap.manuscript import Edited

pytest_plugins = ["lamp_map"]

HEIR = LAMP.replace("  brisk:\n", "  second: {like: restrained}\n  brisk:\n", 1)
STEADY = HEIR.replace(
    "2/3-2/7: 16 fps -> 18 fps", '2/3-2/7:  18 fps # all\n      2/5: "19"   # the card'
)


def edited(source: str, path: Path, change: Any, *arguments: str) -> Edited:
    path.write_text(source, encoding="utf-8", newline="")
    return change(Manuscript(path), *arguments)  # type: ignore[no-any-return]


def after(source: str, path: Path, change: Any, *arguments: str) -> str:
    """Return the map's text with a change made."""
    made = edited(source, path, change, *arguments)
    return made.files[0].after.decode() if made.files else source


CASES = [
    # how, for what, what stands there, and what stands there then
    (set_version, ("brisk", "23 fps"), "    speed: 24 fps", "    speed: 23 fps"),
    (set_version, ("matched", "21"), "    runtime of: brisk-25", "    speed: 21"),
    (set_version, ("second", "21"), "{like: restrained}", "{like: restrained, speed: 21}"),
    (set_reel, ("restrained", "2", "21"), "reels: {2: 22 fps}", "reels: {2: 21}"),
    (set_reel, ("restrained", "1", "21"), "reels: {2: 22 fps}", "reels: {2: 22 fps, 1: 21}"),
    (
        set_reel,
        ("brisk", "1", "16 -> 18"),
        "    speed: 24 fps\n",
        "    speed: 24 fps\n    reels: {1: 16 -> 18}\n",
    ),
    (set_titles, ("restrained", "19"), "{speed: 20 fps, at", "{speed: 19, at"),
    (
        set_titles,
        ("brisk", "19"),
        "    speed: 24 fps\n",
        "    speed: 24 fps\n    titles: {speed: 19}\n",
    ),
    (set_shots, ("restrained", "1/14", "19"), "{speed: 18 fps, at most", "{speed: 19, at most"),
    (
        set_shots,
        ("restrained", "1/13-1/14A", "19"),
        (
            "      1/14: {speed: 18 fps, at most: 0:06}\n"
            '      2/3-2/7:  18 fps # all\n      2/5: "19"   # the card\n'
        ),
        (
            "      1/14: {at most: 0:06}\n"
            '      2/3-2/7:  18 fps # all\n      2/5: "19"   # the card\n      1/13-1/14A: 19\n'
        ),
    ),
    # a rule that is covered makes room, and its place and quotes are taken
    (
        set_shots,
        ("restrained", "2/3-2/5", "21"),
        '      2/3-2/7:  18 fps # all\n      2/5: "19"   # the card\n',
        '      2/7:  18 fps # all\n      2/3-2/5: "21"   # the card\n',
    ),
    (
        set_shots,
        ("restrained", "1/14A-2/7", "21"),
        '      2/3-2/7:  18 fps # all\n      2/5: "19"   # the card\n',
        "      1/14A-2/7:  21 # all\n",
    ),
    (set_shots, ("restrained", "2/5", "21"), '2/5: "19"   # the', '2/5: "21"   # the'),
    # what an heir does not write itself is added to it, with the limits it inherits
    (
        set_shots,
        ("second", "1/14", "21"),
        "{like: restrained}",
        "{like: restrained, shots: {1/14: {speed: 21, at most: 0:06}}}",
    ),
    (
        set_shots,
        ("second", "1/13-1/14", "21"),
        "{like: restrained}",
        "{like: restrained, shots: {1/13-1/14: 21, 1/14: {speed: 21, at most: 0:06}}}",
    ),
]


@pytest.mark.parametrize(("change", "asked", "old", "new"), CASES)
def test_only_what_has_to_change_does(
    change: Any, asked: tuple[str, ...], old: str, new: str, lamp_path: Path
) -> None:
    assert STEADY.count(old) == 1

    assert STEADY.replace(old, new) == after(STEADY, lamp_path, change, *asked)


def test_a_middle_cut_out_of_a_run_leaves_two_ends(lamp_path: Path) -> None:
    source = STEADY.replace('\n      2/5: "19"   # the card', "")

    text = after(source, lamp_path, set_shots, "restrained", "2/5-2/5", "21")
    run = after(
        source.replace("2/3-2/7:", "1/13-2/7:"), lamp_path, set_shots, "restrained", "2/3-2/5", "21"
    )

    assert "2/3-2/7:  18 fps # all\n      2/5: 21\n" in text
    assert "1/13-1/14A:  18 fps # all\n      2/3-2/5: 21\n      2/7: 18 fps\n" in run


def test_setting_what_is_set_already_changes_no_file(lamp_path: Path) -> None:
    assert edited(LAMP, lamp_path, set_version, "brisk", "24 fps").files == ()


def test_heirs_that_change_with_a_version_are_named(lamp_path: Path) -> None:
    made = edited(HEIR, lamp_path, set_version, "restrained", "21 fps")

    assert made.notes == ("with it changes what inherits from it: second",)


REFUSED = [
    ((set_version, "restraind", "20"), "the map has no version 'restraind'"),
    ((set_version, "brisk", "20 fpz"), "'20 fpz' is no speed"),
    ((set_version, "brisk", "0"), "'0' is not above 0"),
    ((set_reel, "brisk", "3", "20"), 'the map has no reel "3"'),
    ((set_titles, "brisk", "16 -> 18"), "titles take one speed, not a ramp"),
    ((set_shots, "brisk", "2/33", "20"), 'the map has no shot "2/33"; did you mean "2/3"?'),
    ((set_shots, "brisk", "2/7-2/3", "20"), "the run 2/7-2/3 runs backwards"),
    ((set_shots, "brisk", "lamp", "20"), '"lamp" names no shot'),
    (
        (set_shots, "restrained", "2/3-2/5", "20"),
        "lamp.yaml:29:7: the ramp over 2/3-2/7 shares shots with 2/3-2/5, and cannot be cut",
    ),
    (
        (set_shots, "second", "1/13-1/14", "18 -> 20"),
        "lamp.yaml:28:7: shot 1/14 has a speed of its own, which second inherits",
    ),
    ((set_version, "brisk", "22 m/min"), None),
]


@pytest.mark.parametrize(("asked", "told"), REFUSED)
def test_what_cannot_be_set_is_refused(
    asked: tuple[Any, ...], told: str | None, lamp_path: Path
) -> None:
    change, *arguments = asked
    source = HEIR if told else HEIR.replace("footage: nominal\n", "")
    told = told or "the map would be wrong, and stays as it is"

    with pytest.raises(InputError) as caught:
        edited(source, lamp_path, change, *arguments)

    assert told in str(caught.value).replace(f"{lamp_path.parent}/", "")


SHARED = [
    # what is written instead in the map, what is asked for, where it is refused
    (
        ("    speed: 24 fps", "    speed: &fast 24 fps"),
        ("    runtime of: brisk-25", "    speed: *fast"),
        (set_version, "brisk", "23"),
        'lamp.yaml:33:12: "versions.brisk.speed" holds what is named &fast and used elsewhere',
    ),
    (
        ("    reels: {2: 22 fps}", "    reels: &reels {2: 22 fps}"),
        ("    speed: 24 fps", "    speed: 24 fps\n    reels: *reels"),
        (set_reel, "brisk", "1", "23"),
        'lamp.yaml:34:12: "versions.brisk.reels" is written as the alias *reels',
    ),
    (
        ("    reels: {2: 22 fps}", "    reels: &reels {2: 22 fps}"),
        ("    speed: 24 fps", "    speed: 24 fps\n    reels: *reels"),
        (set_reel, "restrained", "1", "23"),
        'lamp.yaml:26:12: "versions.restrained.reels" holds what is named &reels and used',
    ),
]


@pytest.mark.parametrize(("one", "other", "asked", "told"), SHARED)
def test_what_is_written_once_for_several_is_not_changed_for_one(
    one: tuple[str, str],
    other: tuple[str, str],
    asked: tuple[Any, ...],
    told: str,
    lamp_path: Path,
) -> None:
    source = HEIR.replace(*one).replace(*other)
    change, *arguments = asked

    with pytest.raises(InputError) as caught:
        edited(source, lamp_path, change, *arguments)

    assert str(caught.value).replace(f"{lamp_path.parent}/", "").startswith(told)


def test_an_alias_gives_way_to_a_speed_and_what_it_stands_for_stays(lamp_path: Path) -> None:
    source = HEIR.replace("speed: 20 fps\n    reels", "speed: &slow 20 fps\n    reels")
    source = source.replace("    speed: 24 fps", "    speed: *slow   # for now")

    changed = after(source, lamp_path, set_version, "brisk", "23 fps")

    assert source.replace("*slow   #", "23 fps   #") == changed


def assert_untouched(before: str, changed: str, most: int) -> None:
    """Hold that all lines but a few are there still, byte for byte and in their order."""
    old, new = before.splitlines(keepends=True), changed.splitlines(keepends=True)
    alike = SequenceMatcher(None, old, new, autojunk=False).get_matching_blocks()
    kept = sum(block.size for block in alike)
    assert max(len(old), len(new)) - kept <= most
    assert len({line[len(line.rstrip("\r\n")) :] for line in new[:-1]}) == 1
    assert old[-1].endswith("\n") == new[-1].endswith("\n")


@given(st.integers(0, 2**32), st.sampled_from(["shots", "shot", "other"]))
@settings(
    max_examples=50,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],  # a smaller number is no smaller map
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_set_speed_holds_for_what_it_is_set_for_and_for_nothing_else(
    lamp_path: Path, seed: int, what: str
) -> None:
    """The speeds are read back by a reader of the tests' own, before and after."""
    dice = Random(seed)  # noqa: S311 - no secret
    hold_a_set_speed(handwritten(dice, shots=5, reels=2), lamp_path, dice, what)


@pytest.mark.parametrize("seed", range(2))
def test_a_map_of_two_thousand_lines_is_left_alone_outside_the_lines_that_change(
    seed: int, lamp_path: Path
) -> None:
    dice = Random(seed)  # noqa: S311 - no secret
    source = handwritten(dice, shots=330)
    assert len(source.splitlines()) > 2000

    hold_a_set_speed(source, lamp_path, dice, "shots")


REFUSALS = ("cannot be cut", "used elsewhere", "would be left with", "cannot be taken out")


def hold_a_set_speed(source: str, path: Path, dice: Random, what: str) -> None:
    """Set a speed somewhere, and hold the map then against what it said before."""
    names = shot_names(source)
    version = dice.choice(["restrained", "brisk", "second"])
    first = dice.randrange(len(names))
    last = first if what == "shot" else min(first + dice.randrange(6), len(names) - 1)
    shots = names[first] if first == last else f"{names[first]}-{names[last]}"
    try:
        if what == "other":
            shots, changed = "", after(source, path, set_version, version, "23.5 fps")
        else:
            changed = after(source, path, set_shots, version, shots, "23.5 fps")
    except InputError as error:
        if any(one in str(error) for one in REFUSALS):
            return
        raise
    assert_untouched(source, changed, 12)
    before, now = speeds_of(source), speeds_of(changed)
    assert before.keys() == now.keys()
    for (name, place), told in now.items():
        if name == version and shots and first <= place <= last:
            assert told == ("23.5 fps",), (name, names[place])
        elif shots and (name == version or (version, name) != ("restrained", "second")):
            assert told == before[name, place], (name, names[place])
        elif not shots and name == version and told != before[name, place]:
            assert told == ("23.5 fps",)
