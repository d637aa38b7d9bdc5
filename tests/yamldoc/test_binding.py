from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
from pydantic import AfterValidator, Discriminator, Field, Tag, TypeAdapter

from retime.errors import DocumentError, NotationError
from retime.yamldoc import binding
from retime.yamldoc.binding import Section, examine, validate
from retime.yamldoc.fields import known_keys
from retime.yamldoc.reading import read


def _even(text: str) -> str:
    if len(text) % 2:
        raise NotationError(f'"{text}" is odd', "write an even one")
    return text


Even = Annotated[str, AfterValidator(_even)]


class Part(Section):
    """A part with a name of even length."""

    name: Even
    at_least: str | None = Field(None, alias="at least")


class Whole(Section):
    """Parts in every way in which a document holds them."""

    format: Literal["whole/1"]
    parts: list[Part] = Field(default_factory=list)
    by_name: dict[Even, Part] = Field(default_factory=dict, alias="by name")
    mixed: dict[
        str,
        Annotated[
            Annotated[str, Tag("one")] | Annotated[Part, Tag("several")],
            Discriminator(lambda value: "one" if isinstance(value, str) else "several"),
        ],
    ] = Field(default_factory=dict)


def told(source: str) -> list[str]:
    with pytest.raises(DocumentError) as caught:
        validate(Whole, read(source, Path("w.yaml")))
    return [str(finding) for finding in caught.value.findings]


def test_a_sound_document_becomes_the_model() -> None:
    source = (
        "format: whole/1\nparts:\n  - {name: ab, at least: 4 s}\nmixed: {a: b, c: {name: de}}\n"
    )
    whole = validate(Whole, read(source, Path("w.yaml")))

    assert Part(name="ab", **{"at least": "4 s"}) == whole.parts[0]
    assert {"a": "b", "c": Part(name="de")} == whole.mixed


CASES = [
    ("format: whole/2\n", "w.yaml:1:9: \"whole/2\" is not known here; write 'whole/1'"),
    ("parts: []\n", 'w.yaml:1:1: "format" is missing'),
    ("parts: {}\n", "w.yaml:1:8: this is no keys at all where a list should stand"),
    ("part: []\n", 'w.yaml:1:1: unknown key "part"; did you mean "parts"?'),
    ("Parts: []\n", 'w.yaml:1:1: unknown key "Parts"; did you mean "parts"?'),
    ("zzz: 1\n", 'w.yaml:1:1: unknown key "zzz"; known here: format, parts, by name, mixed'),
    ("parts:\n  - {name: abc}\n", 'w.yaml:2:12: "abc" is odd; write an even one'),
    ("parts:\n  - ab\n", 'w.yaml:2:5: this is the text "ab" where keys with values should stand'),
    ("parts:\n  - {name: [ab]}\n", "w.yaml:2:12: this is a list where a text should stand"),
    ("parts:\n  - at least: 3\n", 'w.yaml:2:5: "name" is missing'),
    ("parts:\n  - {name: ab, at_least: 3}\n", 'unknown key "at_least"; did you mean "at least"?'),
    ("by name:\n  abc: {name: ab}\n", 'w.yaml:2:3: "abc" is odd; write an even one'),
    ("by name:\n  ab: {}\n", 'w.yaml:2:3: "name" is missing'),
    ("mixed:\n  a: {name: b}\n", 'w.yaml:2:13: "b" is odd'),
    ("mixed:\n  a: {nam: bb}\n", 'w.yaml:2:7: unknown key "nam"; did you mean "name"?'),
    ("mixed:\n  a: [b]\n", "w.yaml:2:6: this is a list where keys with values should stand"),
    ("parts:\n", 'w.yaml:1:1: nothing is written after "parts"'),
]


@pytest.mark.parametrize(("source", "expected"), CASES)
def test_a_complaint_points_at_the_key_or_the_value(source: str, expected: str) -> None:
    if "format" not in source and '"format" is' not in expected:
        source += "format: whole/1\n"
    lines = told(source)

    assert any(expected in line for line in lines), lines


def test_every_mistake_is_told_at_once_in_the_order_of_lines() -> None:
    source = "a: 1\nparts:\n  - {name: abc}\n  - {nme: ab}\nformat: whole/1\nformat: whole/1\n"

    assert [":".join(line.split(":")[1:3]) for line in told(source)] == [
        "1:1",
        "3:12",
        "4:5",
        "4:6",
        "6:1",
    ]


def test_an_empty_value_is_told_once_and_not_again_by_the_model() -> None:
    assert len(told("format:\n")) == 1


def test_a_fault_keeps_the_path_of_what_is_wrong() -> None:
    tree = read("format: whole/1\nmixed: {a: {name: b, x: 1}}\n", Path("w.yaml"))
    value, faults = examine(Whole, tree.plain(), tree)

    assert value is None
    assert sorted(one.path for one in faults) == [("mixed", "a", "name"), ("mixed", "a", "x")]
    assert [one.superfluous for one in faults] == [False, True]


def test_what_validates_a_kind_of_document_is_built_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    built: list[object] = []

    def counted(wanted: type[Any]) -> TypeAdapter[Any]:
        built.append(wanted)
        return TypeAdapter(wanted)

    class Own(Section):
        name: str

    monkeypatch.setattr(binding, "TypeAdapter", counted)
    tree = read("name: one", Path("doc.yaml"))
    for _ in range(3):
        assert (Own(name="one"), ()) == examine(Own, tree.plain(), tree)

    assert [Own] == built


def test_known_keys_are_those_of_the_model_at_the_place() -> None:
    assert known_keys(Whole, ()) == ["format", "parts", "by name", "mixed"]
    assert known_keys(Whole, ("parts", 0)) == ["name", "at least"]
    assert known_keys(Whole, ("by name", "x")) == ["name", "at least"]
    assert known_keys(Whole, ("mixed", "x", "several")) == ["name", "at least"]
    assert known_keys(list[Part], (7,)) == ["name", "at least"]
