"""A piece of numbered files may be made twice, and at once: each file is there whole throughout."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from retime.film.notation import parse_rate
from retime.media.sequence_writer import SequenceSettings, SequenceWriter

if TYPE_CHECKING:
    from pathlib import Path

COUNT = 6


def _writer(folder: Path, *, links: bool = False) -> SequenceWriter:
    return SequenceWriter(
        SequenceSettings(
            folder=folder,
            stem="film",
            ending="png",
            rate=parse_rate("24"),
            drop_frame=False,
            links=links,
            piece=range(COUNT),
        )
    )


def _held(folder: Path) -> list[bytes]:
    return [path.read_bytes() for path in sorted(folder.iterdir())]


def test_one_who_stops_while_making_a_piece_again_takes_no_file_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "film"
    first = _writer(folder)
    first.repeat_bytes(b"one", COUNT)
    first.finish()

    def stopped(_writer: SequenceWriter, data: bytes, number: int) -> bytes:
        if number == 2:
            raise KeyboardInterrupt
        return data

    monkeypatch.setattr(SequenceWriter, "_stamped", stopped)
    with pytest.raises(KeyboardInterrupt):
        _writer(folder).repeat_bytes(b"again", COUNT)

    assert [b"again"] * 2 + [b"one"] * 4 == _held(folder)


def test_two_who_make_a_piece_by_turns_leave_its_files_and_no_other(tmp_path: Path) -> None:
    folder = tmp_path / "film"
    one, other = _writer(folder, links=True), _writer(folder, links=True)
    for times in (1, 2, 3):
        for writer in (one, other):
            writer.repeat_bytes(bytes([times]), times)
    one.finish()
    other.finish()

    assert [bytes([times]) for times in (1, 2, 2, 3, 3, 3)] == _held(folder)
    assert [folder] == list(tmp_path.iterdir())
