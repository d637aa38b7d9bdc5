"""Texts that are made to take long, to fill memory or to trip a reader: each was found so once."""

from __future__ import annotations

import base64
import json
import zlib
from typing import TYPE_CHECKING, Any

import pytest
from fuzz_limits import ended_well
from text_readers import READERS
from valid_texts import valid_texts

if TYPE_CHECKING:
    from collections.abc import Callable

VTT = b"WEBVTT\n\n00:00:01.000 --> 00:00:02.000\n"
SRT = b"1\n00:00:01,000 --> 00:00:02,000\n"
TTML = b'<tt xmlns="http://www.w3.org/ns/ttml"><body><div>'
ASS = b"[Events]\nFormat: Start, End, Text\nDialogue: 0:00:01.00,0:00:02.00,"
HEAD = b"format: retime-map/1\nfilm: Lamp\ngauge: 35mm\n"
CADENCE = b"""\
format: retime-cadence/1
scan: a.mkv
frames: %s
digest: 0000000000000000000000000000000000000000000000000000000000000000
stretches:
- {first: 0, last: 8, film: 0, shows: irregular, runs: "%s"}
"""
PICTURES = b"""\
format: retime-fingerprint/1
film: Lamp
map_sha256: a
versions: {}
deliverables: [{name: a, plan: b, kept: %s, facts: {}, pictures: "%s"}]
"""
BOMB = base64.b64encode(zlib.compress(bytes(192 * 1_000_000), 9))

LARGE: dict[str, tuple[str, bytes, str]] = {
    # which reader, what it is given, and what it says; without that it is read
    "more cues than any film has": (
        "SRT",
        SRT.replace(b"1\n", b"x\n\n", 1) * 60_000,
        "50,000 cues",
    ),
    "more lines than any file has": ("VTT", VTT + b"a\n" * 600_000, "500,000 lines"),
    "XML as deep as a well": ("TTML", TTML + b"<a>x" * 200_000, "50 levels"),
    "XML with more attributes than any": (
        "TTML",
        TTML + b"<p " + b" ".join(b"a%d=''" % at for at in range(100_000)) + b"/>",
        "not XML",
    ),
    "entities that grow": ("TTML", b'<!DOCTYPE a [<!ENTITY b "c">]>' + TTML, "document type"),
    "tags that never end": ("VTT", VTT + b"<" * 400_000, ""),
    "overrides that never end": ("ASS", ASS + b"{" * 400_000, ""),
    "a reel's name full of blanks": ("plain", b"reel a" + b" " * 9_000 + b"b\n1 2\n", ""),
    "a line of blanks": ("plain", b"reel 1\n18" + b" " * 9_000 + b"x\n", ""),
    "a line longer than any": ("plain", b"reel 1\n" + b"9" * 20_000, "10,000 characters"),
    "every line a reel": (
        "plain",
        b"".join(b"reel %d\n1 2\n" % at for at in range(50_000)),
        "",
    ),
    "more cells than columns": ("table", b"x," * 200_000, "10,000 characters"),
    "a quoted cell without end": ("table", b'reel,first,name\n1,2,"' + b"a" * 5_000_000, "10,000"),
    "more columns than any table has": ("shots", b"x," * 100_000, "10,000 characters"),
    "a fault in every row": (
        "shots",
        b"reel,first,last,shot\n" + b"1,2,3,4,5\n" * 50_000,
        "more cells",
    ),
    "lists in lists": ("map", b"a: " + b"[" * 100_000, "50 levels"),
    "keys that nobody knows": (
        "map",
        HEAD + b"".join(b"k%d: 1\n" % at for at in range(50_000)),
        "unknown key",
    ),
    "pictures that unpack to more than memory": (
        "fingerprint",
        PICTURES % (b"likeness", BOMB),
        "500,000",
    ),
    "runs without end": ("cadence", CADENCE % (b"9", b"1x100000000"), "are no runs"),
    "a run without end": ("cadence", CADENCE % (b"9", b"999999999:1:1"), "are no runs"),
    "a transfer without end": ("cadence", CADENCE % (b"99999999", b"1"), "5000000"),
    "a picture shown for ever": (
        "fingerprint",
        PICTURES % (b"samples", b"1000000000000 a"),
        "500,000",
    ),
}


@pytest.mark.parametrize("case", LARGE)
def test_what_is_made_large_is_read_or_refused_soon(case: str) -> None:
    kind, data, words = LARGE[case]
    error = ended_well(READERS[kind], data)

    assert words in str(error) if words else error is None or words in str(error)


def profile(line: str, key: str) -> bytes:
    """Return a profile with another line for a key."""
    text = next(one for one in valid_texts()["profile"] if b"profile: disc-hd-24\n" in one).decode()
    lines = text.splitlines()
    place = next(at for at, one in enumerate(lines) if one.strip().startswith(f"{key}:"))
    lines[place] = line
    return "\n".join(lines).encode()


SMALL: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "a list where a codec's name belongs": (
        "profile", lambda: profile("codec: [h264]", "codec"), "the codec \"['h264']\""),
    "a list where yes or no belongs": (
        "profile", lambda: b"format: retime-profile/1\nlinks: []\n", "neither yes nor no"),
    "a key that is two lines": (
        "fingerprint", lambda: b'format: {"a\\nb": 1}\n', "keys with values (a\\nb)"),
    "a reel of five thousand digits": (
        "plain", lambda: b"reel " + b"9" * 5000 + b"\n1 2\n", "there is no reel"),
    "no times at all of a picture": (
        "fingerprint", lambda: PICTURES % (b"samples", b"-1 a"), "there are none"),
}  # fmt: skip


@pytest.mark.parametrize("case", SMALL)
def test_what_is_of_another_kind_than_it_should_be_is_told(case: str) -> None:
    kind, data, words = SMALL[case]

    assert words in str(ended_well(READERS[kind], data()))


def timeline(change: Callable[[dict[str, Any], dict[str, Any]], object]) -> bytes:
    """Return a timeline in which something was done to it, or to its first clip."""
    made = json.loads(valid_texts()["otio"][0])
    children = made["tracks"]["children"][0]["children"]
    change(made, next(one for one in children if one["OTIO_SCHEMA"].startswith("Clip")))
    return json.dumps(made).encode()


def media(clip: dict[str, Any]) -> dict[str, Any]:
    """Return the media of a clip."""
    return next(iter(clip["media_references"].values()))


def long_frames(_made: object, clip: dict[str, Any]) -> None:
    clip["metadata"]["retime"].update(first="9" * 5000, last="9" * 5000)


TIMELINES: dict[str, tuple[Callable[[dict[str, Any], dict[str, Any]], object], str]] = {
    "media that begins nowhere": (
        lambda _, clip: media(clip)["available_range"]["start_time"].update(value=float("nan")),
        "times that are no frames",
    ),
    "media that begins at the end of time": (
        lambda _, clip: media(clip)["available_range"]["start_time"].update(value=float("inf")),
        "times that are no frames",
    ),
    "frames of five thousand digits": (long_frames, ""),
    "a name that breaks lines, of a track that cannot be read": (
        lambda made, _: made["tracks"]["children"][0].update(name="a\x85b", metadata=[1]),
        "this is no OpenTimelineIO document",
    ),
    "no tracks": (lambda made, _: made.update(tracks=None), "no clip of it is a shot"),
    "a clip beside the tracks": (
        lambda made, clip: made["tracks"]["children"].append(clip),
        "",
    ),
}


@pytest.mark.parametrize("case", TIMELINES)
def test_what_a_timeline_should_not_hold_is_told_or_passed_over(case: str) -> None:
    change, words = TIMELINES[case]
    error = ended_well(READERS["otio"], timeline(change))

    assert words in str(error) if words else error is None
