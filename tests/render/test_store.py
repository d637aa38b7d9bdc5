"""A store gives back the packets that were put in, once each, and nothing that is not whole."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, cast

import av
import pytest

from retime.errors import OutputError
from retime.render.store import Store, StoreWriter, file_digest

if TYPE_CHECKING:
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

TICK = Fraction(1001, 24000)


def packet(pts: int, data: bytes, *, key: bool = True) -> Packet[VideoStream]:
    """Return a packet as an encoder gives it."""
    made = cast("Packet[VideoStream]", av.Packet(data))
    made.pts, made.dts, made.duration, made.time_base = pts, pts - 2, 1, TICK
    made.is_keyframe = key
    return made


def written(path: Path) -> Path:
    """Write a store of three packets for two deliverables."""
    store = StoreWriter(path)
    packets = [packet(at, bytes([at]) * (at + 1) * 100, key=at == 0) for at in range(3)]
    for order, times in (("one", (1, 2, 3)), ("two", (4, 0, 1))):
        store.begin(order, b"header")
        for coded, again in zip(packets, times, strict=True):
            if again:
                store.add(order, coded, again)
    store.finish()
    return path


def test_each_deliverable_finds_its_packets_as_they_were_and_how_often_each_is_shown(
    tmp_path: Path,
) -> None:
    store = Store(written(tmp_path / "a.packets"))
    one, two = list(store.shown("one")), list(store.shown("two"))
    store.close()

    assert b"header" == store.header
    assert [1, 2, 3] == [times for _, times in one]
    assert [(0, 4), (2, 1)] == [(coded.pts, times) for coded, times in two]
    for at, (coded, _) in enumerate(one):
        assert bytes([at]) * (at + 1) * 100 == bytes(coded)
        assert (at, at - 2, 1, TICK) == (coded.pts, coded.dts, coded.duration, coded.time_base)
        assert coded.is_keyframe is (at == 0)


def test_a_packet_stands_in_a_store_once_whoever_shows_it(tmp_path: Path) -> None:
    path = written(tmp_path / "a.packets")

    for at in range(3):
        assert 1 == path.read_bytes().count(bytes([at]) * (at + 1) * 100)


def test_a_store_has_its_name_only_once_it_is_whole(tmp_path: Path) -> None:
    store = StoreWriter(tmp_path / "a.packets")
    store.begin("one", b"")
    store.add("one", packet(0, b"data"), 1)
    assert not (tmp_path / "a.packets").exists()
    store.abandon()

    assert [] == list(tmp_path.iterdir())


@pytest.mark.parametrize("left", [0, 5, 300, -1])
def test_what_is_no_whole_store_is_told(left: int, tmp_path: Path) -> None:
    path = written(tmp_path / "a.packets")
    before = file_digest(path)
    path.write_bytes(path.read_bytes()[:left])

    assert before != file_digest(path)
    with pytest.raises(OutputError, match="is no whole piece of a render"):
        Store(path)
