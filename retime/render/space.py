"""Whether what is to be made fits the disk, reckoned before a byte is written."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from retime.errors import OutputError
from retime.picture.formats import layout_of
from retime.render.route import Route

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.render.order import Order

__all__ = ["bytes_needed", "check_space"]

# Bytes of a coded picture over those of the plain one. From memory, rounded up: ProRes 422 HQ
# is told as 184 Mbit/s at 1080p24, a sixth of its 10-bit 4:2:2; FFV1 of grainy film stays
# under three quarters; a viewing copy is a fiftieth.
_SHARE = {"prores": 0.22, "ffv1": 0.75, "h264": 0.05}


def bytes_needed(edition: Edition, order: Order) -> int:
    """Return about how many bytes a deliverable takes: exact scale for copies, else an estimate."""
    outputs = len(order.outputs)
    if order.profile.links:
        outputs = min(outputs, order.plan.counts().source + order.plan.total - order.plan.outputs)
    if order.choice.route is Route.COPY:
        sizes = [scan.facts.bytes / scan.frames for scan in edition.scans if scan.facts]
        return int(outputs * max(sizes))
    layout = layout_of(order.picture.pixel_format)
    samples = 1.0 if layout.family == "grey" else 1 + 2 / (layout.across * layout.down)
    plain = order.picture.width * order.picture.height * samples * ((layout.bits + 7) // 8)
    name = order.profile.codec.name if order.profile.codec else ""
    return int(outputs * plain * _SHARE.get(name, 1.05))


def check_space(
    edition: Edition,
    orders: Iterable[Order],
    folder: Path,
    stored: Iterable[Sequence[Order]] = (),
    there: int = 0,
) -> None:
    """Raise OutputError if the folder's disk has less room than the deliverables need.

    ``stored`` are orders whose packets are also kept apart until they are joined, those together
    that share them; ``there`` are bytes that an earlier call has taken for them already. What
    stands under a deliverable's hidden name is complete and kept, or removed before the work.
    """
    orders = tuple(orders)
    needed = sum(bytes_needed(edition, order) for order in orders)
    needed += sum(max(bytes_needed(edition, order) for order in group) for group in stored)
    needed -= there + sum(_bytes_at(work) for order in orders for work in order.works)
    free = shutil.disk_usage(folder).free
    if needed > free:
        raise OutputError(
            folder,
            f"has {_size(free)} free, and the deliverables need about {_size(needed)}",
            "make room, make fewer at a time, or say --skip-space-check",
        )


def _bytes_at(work: Path) -> int:
    """Return what a file, or all in a folder, takes of a disk; links to one file are one."""
    files = (work, *work.rglob("*")) if work.is_dir() else (work,)
    status = [path.lstat() for path in files if path.is_file() and not path.is_symlink()]
    return sum({one.st_ino: one.st_size for one in status}.values())


def _size(count: float) -> str:
    for unit in ("bytes", "kB", "MB", "GB"):
        if count < 1000:  # noqa: PLR2004 - decimal units
            return f"{count:.0f} {unit}" if unit == "bytes" else f"{count:.1f} {unit}"
        count /= 1000
    return f"{count:.1f} TB"
