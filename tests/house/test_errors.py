"""Errors cross processes whole, and every one knows its exit code."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from retime.errors import (
    CommandError,
    DocumentError,
    Exit,
    Interrupted,
    NotationError,
    OutputError,
    RetimeError,
    ScanError,
)
from retime.findings import Finding, TextPlace

FINDING = Finding(
    place=TextPlace(path=Path("map.yaml"), line=3, column=7), rule="x", text="wrong", hint="right"
)
EXAMPLES: list[tuple[RetimeError, Exit, str]] = [
    (RetimeError("own failure"), Exit.FAILURE, "own failure"),
    (NotationError("no speed", "write 18 fps"), Exit.INPUT, "no speed; write 18 fps"),
    (DocumentError([FINDING]), Exit.INPUT, "map.yaml:3:7: wrong; right"),
    (CommandError("no such", "try this"), Exit.INPUT, "no such; try this"),
    (
        ScanError(Path("a.mkv"), "is cut", "mend it", "eof"),
        Exit.INPUT,
        "a.mkv: is cut (eof); mend it",
    ),
    (OutputError(Path("b.mov"), "exists"), Exit.INPUT, "b.mov: exists"),
    (Interrupted(), Exit.INTERRUPTED, ""),
]


def every_class(root: type[RetimeError]) -> set[type[RetimeError]]:
    return {root}.union(*(every_class(one) for one in root.__subclasses__()))


@pytest.mark.parametrize(("error", "code", "text"), EXAMPLES)
def test_an_error_survives_pickling_and_keeps_its_exit_code(
    error: RetimeError, code: Exit, text: str
) -> None:
    copy = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes

    assert type(error) is type(copy)
    assert text == str(error) == str(copy)
    assert error.__dict__ == copy.__dict__
    assert code == copy.exit_code


def test_every_error_has_an_example_here() -> None:
    public = {one for one in every_class(RetimeError) if not one.__name__.startswith("_")}

    assert {"InputError"} == {one.__name__ for one in public} - {
        type(error).__name__ for error, _, _ in EXAMPLES
    }
