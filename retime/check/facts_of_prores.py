"""The rate that each ProRes picture of a file says itself, held against the deliverable's.

The ffmpeg program tells nothing of it. A MOV file's index says where pictures begin, so that little
of it is read; of other files all is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import ScanError
from retime.media.bridge import only_video, open_movie, reading
from retime.media.frame_header import prores_rate_code, prores_rate_said, prores_rate_told

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.check.fact_desk import Desk
    from retime.findings import Finding

__all__ = ["findings_of_prores"]

_HEAD = 32  # bytes of a picture, its rate's among them


def findings_of_prores(desk: Desk) -> Iterator[Finding]:
    """Yield the first picture that says a rate, and another than the deliverable's."""
    video = desk.facts.video
    if video is None or video.codec != "prores":
        return
    right = prores_rate_code(desk.making.plan.conform.rate)
    try:
        codes = enumerate(_codes(desk.path))
        wrong = [(output, code) for output, code in codes if code not in {None, right}]
    except ScanError as error:
        yield desk.found("rate", f"the rates of its coded pictures cannot be read: {error}")
        return
    if wrong:
        output, code = wrong[0]
        text = f"{len(wrong)} of its coded pictures say a rate of their own, this one "
        text += f"{prores_rate_told(code)}, and it is {desk.rate}"
        yield desk.found("rate", text, output=output)


def _codes(path: Path) -> Iterator[int | None]:
    """Yield what each coded picture says, in the order in which they are shown."""
    with open_movie(path) as container, reading(path):
        stream = only_video(container, path)
        if "mov" not in container.format.name.split(","):
            for packet in container.demux(stream):
                if packet.size:
                    yield prores_rate_said(memoryview(packet))
            return
        with path.open("rb", buffering=0) as file:
            for entry in stream.index_entries:
                file.seek(entry.pos)
                yield prores_rate_said(file.read(_HEAD))
