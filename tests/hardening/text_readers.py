"""Every reader of text as a function of bytes, by the kind of what it reads."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from valid_texts import DEMO

from retime.check.fingerprint import read_fingerprint
from retime.edition.damage_file import read_damage
from retime.errors import RetimeError
from retime.evidence import reading as evidence_reading
from retime.film.gauge import gauge_named
from retime.film.speed import Rate
from retime.follow.subtitle_document import SubtitleKind
from retime.follow.subtitle_files import subtitles_in
from retime.follow.subtitles_list import film_cues_in
from retime.lists.collecting import collected
from retime.lists.edl_reading import read_edl
from retime.lists.edl_shots import edl_shots
from retime.lists.otio_reading import read_otio
from retime.lists.plain_lists import read_plain
from retime.lists.shot_table import shot_table
from retime.lists.tables import read_table
from retime.lists.terms import OurReel, Terms
from retime.profile.shelf import load_profile
from retime.signal.cadence_file import read_cadence
from retime.speedmap import reading as map_reading

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from retime.lists.listed import ShotList

__all__ = ["READERS"]

_FOLDER = TemporaryDirectory(prefix="retime-fuzz-")
_TABLED = b"""\
format: retime-map/1
film: Lamp
gauge: 35mm
reels: [{reel: 1, scan: a.mkv, first: 18, last: 334}, {reel: 2, scan: b.mkv}]
shots: shots.csv
versions: {slow: {speed: 18 fps, shots: {1/1: 20 fps}}}
"""
_RATE = Rate(Fraction(30000, 1001))
_TERMS = Terms(rate=_RATE, gauge=gauge_named("35mm"))
_OURS = Terms(
    rate=Rate(Fraction(24)),
    reels={
        "1": OurReel(name="1", first=18, last=334, gauge=gauge_named("35mm")),
        "2": OurReel(name="2", gauge=gauge_named("35mm")),
    },
    starts={None: "00:00:00:00"},
)
_LIST = Path("list")


def _in_file(name: str, load: Callable[[Path], object]) -> Callable[[bytes], object]:
    """Return a reader of what is put into a file of that name first."""
    path = Path(_FOLDER.name) / name

    def read(data: bytes) -> object:
        path.write_bytes(data)
        return load(path)

    return read


def _listed(reader: Callable[[bytes, Terms], ShotList]) -> Callable[[bytes], object]:
    """Return a reader of a list up to the table that is made of it, with a map and without."""

    def read(data: bytes) -> object:
        refused: RetimeError | None = None
        tables = []
        for terms in (_TERMS, _OURS):
            try:
                shots, _ = collected([reader(data, terms)], _LIST, terms)
            except RetimeError as error:
                refused = error
            else:
                tables.append(shot_table(shots).encode())
        if refused is not None and not tables:
            raise refused
        return tables

    return read


def _edl(data: bytes, terms: Terms) -> ShotList:
    return edl_shots(read_edl(data, _LIST, terms.rate or _RATE), _LIST, terms)


def _subtitles(kind: SubtitleKind) -> Callable[[bytes], object]:
    """Return a reader of subtitles, which are written again if they can be read."""

    def read(data: bytes) -> object:
        document = subtitles_in(data, Path("subtitles"), kind)
        assert data == document.encoded(document.cues)
        return document

    return read


READERS: Mapping[str, Callable[[bytes], object]] = {
    "map": lambda data: map_reading.read(data, DEMO / "tidewatcher.yaml"),
    "shots": lambda data: map_reading.read(_TABLED, DEMO / "map.yaml", data),
    "evidence": lambda data: evidence_reading.read(data, DEMO / "evidence.yaml"),
    "profile": _in_file("h264-viewing.yaml", load_profile),
    "cadence": _in_file("cadence.yaml", read_cadence),
    "fingerprint": _in_file("clips.yaml", read_fingerprint),
    "damage": _in_file("x.mkv.damage.json", read_damage),
    "edl": _listed(_edl),
    "otio": _listed(lambda data, terms: read_otio(data, _LIST, terms)),
    "table": _listed(lambda data, terms: read_table(data, _LIST, terms)),
    "tabs": _listed(lambda data, terms: read_table(data, _LIST, terms, tabs=True)),
    "plain": _listed(lambda data, terms: read_plain(data, _LIST, terms)),
    "film cues": lambda data: film_cues_in(data, Path("cues.csv")),
    **{kind.name: _subtitles(kind) for kind in SubtitleKind},
}
