"""Valid texts of every kind that is read: the demo film's, the profiles, and small ones by hand."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from retime.check.fingerprint import Kept, Record, Recorded, fingerprint_text
from retime.edition.damage import DamageList, OutputRun, StandIn
from retime.edition.damage_file import damage_text
from retime.edition.join import join
from retime.lists.edl_making import edl_files
from retime.lists.edl_writing import edl_text
from retime.lists.otio_writing import otio_text
from retime.report.lists_out import programme_of, runs_of
from retime.signal.cadence_file import CadenceFile, cadence_text
from retime.signal.mixtures import Rule
from retime.signal.shown import Kind, Mixing, Odd, Space, Stretch

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["DEMO", "valid_texts"]

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_media"

SMALL_MAP = """\
format: retime-map/1
film: Lamp
gauge: 35mm
footage: nominal
reels:
  - {reel: 1, scan: lamp.mkv, first: 0, last: 23, frames: 24}
  - {reel: A, scan: scans/%06d.dpx, first: 2, last: 90}
shots:
  - {reel: 1, first: 0, last: 11, shot: 1, name: "the \\"reef\\""}
  - {reel: 1, first: 12, last: 23, shot: 2a, kind: title}
versions:
  slow: {speed: 13:20 /1000ft, shots: {1/1: 75 ft/min}, titles: {at least: 3 s}}
  slower: {like: slow, reels: {A: 16 -> 18.5 fps}}
deliverables:
  viewing: {version: slow, profile: h264-viewing, rate: 29.97, timecode: "00:59:58;00"}
  film: {version: slower, profile: dpx-sequence, rate: 24, phase: per-shot}
"""

EDL = """\
TITLE: THE LAMP
FCM: NON-DROP FRAME

001  001      V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00
M2   001      018.0                00:00:01:00
* FROM CLIP NAME: SKARROW POINT
* SHOT: 1
002  001      V     C        00:00:03:00 00:00:03:00 01:00:01:00 01:00:01:00
002  002      V     D    012 00:00:03:00 00:00:04:00 01:00:01:00 01:00:02:00
003  BL       V     W001 006 00:00:00:00 00:00:01:00 01:00:02:00 01:00:03:00
004  001      AA/V  K B      00:00:05:00 00:00:06:00 01:00:03:00 01:00:04:00
"""
DROP_EDL = """\
title: the lamp\r
fcm: drop frame\r
001 A B V C 00:00:59;28 00:01:00;04 01:00:00;00 01:00:00;04\r
M2 A B -029.97 00:00:59;28\r
"""
TABLE = (
    "reel,first,last,shot,kind,name,lens\n"
    '1,18,57,1,action,"Skarrow Point, at dusk",\n'
    '1,58,93,2,title,"he said ""no""",\n'
    "2,0,99,1,,,\n"
)
TABS = "reel\tin\tout\tname\n1\t1+00\t3+04\tdusk\n1\t3+04\t3+15\tdawn\n"
PLAIN = (
    """\
# the cutter's notes
reel 1
18
58    93    Skarrow Point at dusk
94 334  title  Abel Quorn had kept the lamp
reel 2:
2, 4
""",
    "reel 1\n00:00:01:00 - 00:00:02:00 waves\n00:00:02:01\n",
    "reel 1\n2+14 .. 4+02, the reef\n",
)
FILM_LIST = 'reel,first,last,text\n1,18,40,"He kept, they say,\nthe lamp"\n2,3,9,No\n'
SRT = """\
1
00:00:01,000 --> 00:00:02,500
Abel Quorn

2
00:00:02,500 --> 00:00:04,000
had kept
the lamp
"""
TTML = """\
<?xml version="1.0" encoding="UTF-8"?>
<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter"
    ttp:frameRate="24" ttp:frameRateMultiplier="1000 1001" ttp:tickRate="10000"
    ttp:subFrameRate="2">
  <head><metadata xmlns="http://www.w3.org/ns/ttml#metadata"><title>Lamp</title></metadata></head>
  <body begin="0s"><div>
    <p xml:id="a" begin="00:00:01:12.1" dur="36f">A<br/><span begin="1s"
      end="1.5s">b</span> &amp; c</p>
    <p><span begin="20000t" end="4.5s">d &#233;</span></p>
  </div></body>
</tt>
"""
ODD_SRT = """\
1
00:00:01,000 --> 00:00:02.500 X1:9
<i>Abel</i> {\\an8}Quorn

7
00:00:03,000 --> 00:00:04,000

"""
VTT = """\
WEBVTT lamp
X-TIMESTAMP-MAP=MPEGTS:900000,LOCAL:00:00:00.000

REGION
id:low

NOTE a
b

one
00:01.000 --> 00:02.000 line:0
<v.loud Ada>A &lt; b</v> <00:00:01.500><c>later &#x263a;</c>

00:00:02.000 --> 00:00:03.000
"""

ASS = """\
[Script Info]
; the lamp
ScriptType: v4.00+
Timer: 100.0000

[V4+ Styles]
Format: Name, Fontname, Fontsize
Style: Default,Gentium,40

[Events]
Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text
Comment: 0,0:00:00.00,0:00:09.00,Default,,0,0,0,,template
Dialogue: 0,0:00:01.00,0:00:02.50,Default,Ada,0,0,0,,{\\i1\\an8}Abel, Quorn
Dialogue: 0,0:00:02.50,0:00:04.00,Default,,0,0,0,,{\\k20}had\\hkept\\Nthe lamp
Picture: 0,0:00:02.50,0:00:04.00,Default,,0,0,0,,reef.bmp
"""

STRETCHES = (
    Stretch(
        first=5,
        last=16,
        kind=Kind.REPEATS,
        film=0,
        runs=(2, 1, 1),
        phase=1,
        confidence=0.5,
        odd=(Odd(picture=9, is_new=False), Odd(picture=12, is_new=True)),
    ),
    Stretch(first=17, last=20, kind=Kind.STILL, film=9),
    Stretch(first=21, last=30, kind=Kind.FIELDS, film=10, runs=(2, 3), top_first=False),
    Stretch(
        first=31,
        last=40,
        kind=Kind.MIXED,
        film=18,
        mixing=Mixing(film_frames=3, outputs=4, start=2, rule=Rule.NEARLY, space=Space.LIGHT),
    ),
    Stretch(first=41, last=60, kind=Kind.IRREGULAR, film=26, runs=(1,) * 8 + (3, 9)),
)


@cache
def valid_texts() -> Mapping[str, tuple[bytes, ...]]:
    """Return valid texts by the kind of what reads them."""
    edls, otios = _lists()
    return {
        "map": ((DEMO / "tidewatcher.yaml").read_bytes(), SMALL_MAP.encode()),
        "shots": ((DEMO / "shots.csv").read_bytes(), TABLE.replace(",lens", "").encode()),
        "evidence": ((DEMO / "evidence.yaml").read_bytes(),),
        "profile": tuple(path.read_bytes() for path in sorted((ROOT / "profiles").glob("*.yaml"))),
        "cadence": (_cadence().encode(),),
        "fingerprint": (_fingerprint().encode(), (DEMO / "clips.yaml").read_bytes()),
        "damage": (_damage().encode(),),
        "edl": (EDL.encode(), DROP_EDL.encode(), *edls),
        "otio": otios,
        "table": (
            TABLE.encode(),
            TABS.encode().replace(b"\t", b","),
            (DEMO / "shots.csv").read_bytes(),
        ),
        "tabs": (TABS.encode(),),
        "plain": tuple(one.encode() for one in PLAIN),
        "film cues": (FILM_LIST.encode(),),
        "SRT": (SRT.encode(), ODD_SRT.encode()),
        "VTT": (VTT.encode(),),
        "ASS": (ASS.encode(),),
        "TTML": (TTML.encode(), TTML.replace("UTF-8", "UTF-16").encode("utf-16")),
    }


def _lists() -> tuple[tuple[bytes, ...], tuple[bytes, ...]]:
    """Return lists that are made of the demo film's deliverables."""
    edition = join(DEMO / "tidewatcher.yaml")
    edls: list[bytes] = []
    otios: list[bytes] = []
    for making in edition.makings[::4]:
        programmes = programme_of(edition, making), runs_of(edition, making)
        for runs, programme in enumerate(programmes):
            for one in edl_files(programme, runs=bool(runs)):
                lines = edl_text(one.edl).splitlines(keepends=True)
                edls.append("".join(lines[:80]).encode())
        otios.append(_few_clips(otio_text(programmes[0])))
    return tuple(edls), tuple(otios)


def _few_clips(text: str) -> bytes:
    """Return a timeline with the first six items of its track, so that most changes hit one."""
    timeline = json.loads(text)
    (track,) = timeline["tracks"]["children"]
    del track["children"][6:]
    return json.dumps(timeline).encode()


def _cadence() -> str:
    told = CadenceFile(
        scan="lamp.mkv", first=5, frames=56, digest="0123456789abcdef" * 4, stretches=STRETCHES
    )
    return cadence_text(told, film_frames=36, rate="24000/1001", notes=["found"])


def _damage() -> str:
    runs = (OutputRun(8, 9, "00:00:00:08"), OutputRun(30, 30))
    still, black = (
        StandIn(
            reel="1",
            frame=frame,
            scan="r1/0007.dpx",
            scan_frame=frame,
            wrong="it does not decode",
            held=held,
            outputs=runs,
        )
        for frame, held in ((7, 6), (12, None))
    )
    told = DamageList(
        film="Lamp",
        version="slow",
        deliverable="x",
        file="x.mkv",
        map_sha256="a" * 64,
        damaged=(still, black),
    )
    return damage_text(told)


def _fingerprint() -> str:
    pictures = np.random.default_rng(0).integers(0, 256, (3, 192), np.uint8)
    records = tuple(
        Record(
            name=kept.value,
            plan="a" * 64,
            kept=kept,
            pictures=["c" * 32, "c" * 32, "d" * 32] if kept is Kept.SAMPLES else pictures,
            facts={"codec": "ffv1", "rate": "24"},
            sound=("b" * 64,),
        )
        for kept in Kept
    )
    return fingerprint_text(
        Recorded(film="Lamp", map_sha256="e" * 64, versions={"av": "18"}, records=records)
    )
