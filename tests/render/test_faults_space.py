"""What is complete already, and has only to be given its name, is not asked room for again."""

from __future__ import annotations

import shutil
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from piecemeal import a_long_film
from rendering import retime

from retime.edition.join import join
from retime.errors import OutputError
from retime.render import finals
from retime.render.job import Job
from retime.render.means import Means
from retime.render.orders import orders_of
from retime.render.space import _bytes_at, bytes_needed, check_space

if TYPE_CHECKING:
    from pathlib import Path


def _interrupted(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


def test_a_disk_that_had_room_for_a_render_has_room_to_name_what_it_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Disk space is as it would be: what there was at the beginning, less what was written."""
    film, out = a_long_film(tmp_path), tmp_path / "out"
    out.mkdir()
    edition = join(film, scans_needed=True)
    begun = Job(edition, orders_of(edition, out), Means(pieces=9))
    room = sum(bytes_needed(edition, order) for order in orders_of(edition, out))
    room += sum(max(bytes_needed(edition, order) for order in group) for group in begun.stored)
    with monkeypatch.context() as patch:
        patch.setattr(finals, "named_again", _interrupted)
        ran = retime("render", film, "-o", out, "--pieces", "9", "--workers", "1")
    assert 130 == ran.code
    used = sum(path.stat().st_size for path in out.rglob("*") if path.is_file())
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=room - used))

    orders = orders_of(edition, out)
    job = Job(edition, orders, Means(pieces=9))
    check_space(edition, orders, out, job.stored, job.bytes_there)

    for order in orders:
        order.work.unlink(missing_ok=True)
    with pytest.raises(OutputError, match="make room"):
        check_space(edition, orders, out, job.stored, job.bytes_there)


def test_links_under_hidden_names_take_their_room_once(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "0").write_bytes(bytes(1000))
    (folder / "1").hardlink_to(folder / "0")
    (folder / "2").symlink_to(folder / "0")

    assert 1000 == _bytes_at(folder)
    assert 1000 == _bytes_at(folder / "0")
    assert 0 == _bytes_at(tmp_path / "nothing")
