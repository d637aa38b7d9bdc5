"""What we write OpenTimelineIO reads, with the same frames, and what it writes we read.

OpenTimelineIO is somebody else's reader and writer of the same open formats. Its times are floats
and its CMX 3600 reader leaves some things out; both are named where they matter.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from listmaps import LIST, Cut, cuts, edition_of, programme

from retime.errors import DocumentError
from retime.film.rounding import half_up
from retime.film.speed import Rate
from retime.lists.collecting import collected
from retime.lists.edl_making import edl_files
from retime.lists.edl_reading import read_edl
from retime.lists.edl_writing import edl_text
from retime.lists.otio_reading import read_otio
from retime.lists.otio_writing import otio_text
from retime.lists.strips import Programme, Scan, Shows, Strip
from retime.lists.terms import OurReel, Terms

if TYPE_CHECKING:
    from pathlib import Path

otio: Any = pytest.importorskip("opentimelineio", reason="OpenTimelineIO has no wheel here")

OURS = OurReel(name="1", first=0, last=4999)
FILM = [
    Cut("1", 18, 57, "1", "title", "main title"),
    Cut("1", 58, 400, "2", "action", "Skarrow Point"),
    Cut("1", 401, 1300, "3", "action", None),
]
RULES = """\
  slow:
    speed: 18 fps
    titles: {speed: 20 fps, at least: 3 s}
    shots: {1/3: 200/11}
"""


def viewing(rate: str, more: str = "") -> str:
    return f"  viewing: {{version: slow, profile: h264-viewing, rate: {rate}{more}}}\n"


def strips(*all_of: Strip, rate: int | str = 24) -> Programme:
    """Return a programme of strips, as no map has to make it."""
    return Programme(
        film="Lamp",
        deliverable="viewing",
        rate=Rate(Fraction(rate)),
        drop=False,
        start=0,
        strips=all_of,
        scans={"1": Scan(address="scan.mkv", frames=5000)},
    )


def clips(text: str) -> list[Any]:
    """Return a timeline's clips and gaps as OpenTimelineIO reads them."""
    timeline = otio.adapters.read_from_string(text, "otio_json")
    return list(timeline.tracks[0])


@pytest.mark.parametrize("rate", ["24", "25", "29.97", "23.976"])
def test_opentimelineio_reads_our_timeline_with_the_same_frames(tmp_path: Path, rate: str) -> None:
    told = programme(edition_of(tmp_path, FILM, RULES, viewing(rate)))
    read = clips(otio_text(told))
    whole = otio.adapters.read_from_string(otio_text(told), "otio_json")

    assert len(told.strips) == len(read)
    assert sum(one.frames for one in told.strips) == whole.duration().value
    for strip, clip in zip(told.strips, read, strict=True):
        span = clip.trimmed_range()
        assert (strip.first, strip.frames) == (span.start_time.value, span.duration.value)
        assert pytest.approx(float(told.rate.fps), abs=1e-9) == span.duration.rate
        assert pytest.approx(float(strip.ratio), rel=1e-15) == scalar(clip)


def scalar(clip: Any) -> float:
    """Return the product of a clip's time warps, as OpenTimelineIO has it."""
    found = 1.0
    for effect in clip.effects:
        found *= effect.time_scalar
    return found


def test_a_title_that_is_held_has_a_freeze_frame(tmp_path: Path) -> None:
    told = programme(edition_of(tmp_path, FILM, RULES, viewing("24")))
    read = clips(otio_text(told))

    assert [Shows.FILM, Shows.HELD, Shows.FILM] == [one.shows for one in told.strips[:3]]
    assert isinstance(read[1].effects[0], otio.schema.FreezeFrame)
    assert 37 == read[1].source_range.start_time.value


def test_our_timeline_comes_back_as_the_shots_it_was_made_of(tmp_path: Path) -> None:
    told = programme(edition_of(tmp_path, FILM, RULES, viewing("25")))
    shots, _ = collected([read_otio(otio_text(told).encode(), LIST, Terms())], LIST, Terms())

    assert FILM == cuts(shots)


@pytest.mark.parametrize(("lasts", "count"), [(48, 36), (452, 339), (455, 341)])
def test_a_clip_that_an_editor_has_trimmed_is_no_longer_what_its_metadata_say(
    tmp_path: Path, lasts: int, count: int
) -> None:
    """343 frames at 18 in 24 had 457 frames of record; now they have fewer."""
    told = programme(edition_of(tmp_path, FILM, RULES, viewing("24")))
    timeline = otio.adapters.read_from_string(otio_text(told), "otio_json")
    clip = timeline.tracks[0][3]
    assert 457 == clip.source_range.duration.value
    clip.source_range = otio.opentime.TimeRange(
        clip.source_range.start_time, otio.opentime.RationalTime(lasts, 24)
    )
    text = otio.adapters.write_to_string(timeline, "otio_json")
    shots = cuts(collected([read_otio(text.encode(), LIST, Terms())], LIST, Terms())[0])

    assert Cut("1", 58, 58 + count - 1, "2", "action", "Skarrow Point") == shots[1]


@pytest.mark.parametrize("rate", [24, 25, 30])
def test_its_own_cmx_reader_finds_our_frames(tmp_path: Path, rate: int) -> None:
    """It is right where an M2 line is decimal and no dissolve comes before it."""
    version = "  slow: {speed: 18 fps, titles: {speed: 20 fps, at least: 3 s}}\n"
    told = programme(edition_of(tmp_path, FILM, version, viewing(str(rate))))
    (file,) = edl_files(told)
    timeline = otio.adapters.read_from_string(edl_text(file.edl), "cmx_3600", rate=rate)
    read = [one for one in timeline.tracks[0] if isinstance(one, otio.schema.Clip)]

    assert len(told.strips) == len(read)
    at = 0
    for strip, clip in zip(told.strips, read, strict=True):
        begin = clip.range_in_parent().start_time.value
        span = clip.source_range
        assert (strip.output, strip.frames) == (begin, span.duration.value)
        assert strip.first == span.start_time.value
        assert pytest.approx(float(strip.ratio), abs=1e-12) == scalar(clip)
        at += strip.frames
    assert timeline.duration().value == at


def test_what_its_cmx_writer_writes_is_read_and_its_source_out_told() -> None:
    """It divides by the scalar: 180 record frames at 18 in 24 get 240 source frames, not 135."""
    clip = otio.schema.Clip(
        name="wall",
        source_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(240, 24), otio.opentime.RationalTime(180, 24)
        ),
        media_reference=otio.schema.ExternalReference(
            target_url="scan.mkv",
            available_range=otio.opentime.TimeRange(
                otio.opentime.RationalTime(0, 24), otio.opentime.RationalTime(5000, 24)
            ),
        ),
        metadata={"cmx_3600": {"reel": "001"}},
    )
    clip.effects.append(otio.schema.LinearTimeWarp(time_scalar=0.75))
    timeline = otio.schema.Timeline("lamp")
    timeline.tracks.append(otio.schema.Track("V", [clip], kind=otio.schema.TrackKind.Video))
    text = otio.adapters.write_to_string(timeline, "cmx_3600")
    edl = read_edl(text.encode(), LIST, Rate(Fraction(24)))

    (edit,) = edl.edits
    assert ("001", 240, 180) == (edit.reel, edit.source.first, edit.record.frames)
    assert edit.speed is not None
    assert Fraction(18) == edit.speed.speed
    assert any("use 135 source frames, and the event names 240" in str(one) for one in edl.findings)
    ours = strips(Strip(output=0, frames=180, reel="1", first=240, count=135, ratio=Fraction(3, 4)))
    assert 135 == edl_files(ours)[0].edl.edits[0].source.frames


def own_timeline() -> Any:
    """Return a timeline as OpenTimelineIO's users make it: no metadata of ours."""
    media = otio.schema.ExternalReference(
        target_url="file:///scans/reel-1.mkv",
        available_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(86400, 24), otio.opentime.RationalTime(5000, 24)
        ),
    )
    track = otio.schema.Track("V1", kind=otio.schema.TrackKind.Video)
    for name, first, lasts, effect in (
        ("the wall", 86400 + 18, 40, None),
        ("the lamp", 86400 + 58, 96, otio.schema.LinearTimeWarp(time_scalar=0.75)),
        ("back", 86400 + 200, 24, otio.schema.LinearTimeWarp(time_scalar=-1.0)),
        ("still", 86400 + 140, 48, otio.schema.FreezeFrame()),
    ):
        clip = otio.schema.Clip(
            name=name,
            media_reference=media.clone(),
            source_range=otio.opentime.TimeRange(
                otio.opentime.RationalTime(first, 24), otio.opentime.RationalTime(lasts, 24)
            ),
        )
        if effect is not None:
            clip.effects.append(effect)
        track.append(clip)
    track.insert(2, otio.schema.Transition("SMPTE_Dissolve"))
    track.append(otio.schema.Gap(duration=otio.opentime.RationalTime(24, 24)))
    timeline = otio.schema.Timeline("lamp")
    timeline.tracks.append(track)
    sound = otio.schema.Track("A1", kind=otio.schema.TrackKind.Audio)
    sound.append(otio.schema.Clip(name="score"))
    timeline.tracks.append(sound)
    return timeline


def test_a_timeline_that_it_wrote_is_read_to_the_frame() -> None:
    """The media's own start is frame 0; 96 frames at 0.75 use 72, 24 at -1 the same 24."""
    text = otio.adapters.write_to_string(own_timeline(), "otio_json")
    read = read_otio(text.encode(), LIST, Terms(called={"reel-1": "1"}, reels={"1": OURS}))
    shots, _ = collected([read], LIST, Terms(reels={"1": OURS}))

    assert [
        Cut("1", 18, 57, "1", "action", "the wall"),
        Cut("1", 58, 129, "2", "action", "the lamp"),
        Cut("1", 140, 140, "3", "action", "still"),
        Cut("1", 200, 223, "4", "action", "back"),
    ] == cuts(shots)
    told = [str(one) for one in read.findings]
    assert any("1 transition not carried over" in one for one in told)
    assert any("1 clip of sound not carried over" in one for one in told)


def test_strips_that_are_written_and_read_by_it_and_by_us_are_the_same() -> None:
    """A backward run, a hold, black, and a ratio that no float says exactly."""
    told = strips(
        Strip(
            output=0, frames=240, reel="1", first=10, count=182, ratio=Fraction(25, 33), shot="1"
        ),
        Strip(output=240, frames=24, reel="1", first=200, count=24, ratio=Fraction(-1), shot="2"),
        Strip(output=264, frames=48, reel="1", shows=Shows.HELD, first=300, shot="3"),
        Strip(output=312, frames=24, reel="1", shows=Shows.BLACK),
        Strip(output=336, frames=24, reel="1", first=400, count=24, ratio=Fraction(1), shot="4"),
    )
    text = otio_text(told)
    again = otio.adapters.write_to_string(
        otio.adapters.read_from_string(text, "otio_json"), "otio_json"
    )

    assert text.strip() == again.strip()
    shots, _ = collected([read_otio(again.encode(), LIST, Terms())], LIST, Terms())
    assert [(10, 191), (200, 223), (300, 300), (400, 423)] == [
        (one.first, one.last) for one in cuts(shots)
    ]
    assert 182 == half_up(Fraction(25, 33) * 240)


def told_of(text: str, terms: Terms | None = None) -> list[str]:
    with pytest.raises(DocumentError) as refused:
        read_otio(text.encode(), LIST, terms or Terms(reels={"1": OURS}))
    return [str(one) for one in refused.value.findings]


def spoilt(old: str, new: str) -> str:
    text: str = otio.adapters.write_to_string(own_timeline(), "otio_json")
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"value": 40.0', '"value": NaN', "times that are no frames"),
        ('"value": 40.0', '"value": Infinity', "times that are no frames"),
        ('"value": 40.0', '"value": 1e300', "times that are no frames"),
        ('"value": 40.0', '"value": 40.5', "does not last whole frames"),
        ('"value": 40.0', '"value": -40.0', "does not last whole frames"),
        ('"value": 86418.0', '"value": 18.0', "begins before its media"),
        ('"time_scalar": 0.75', '"time_scalar": 1e9', "has no speed that is one"),
        ("reel-1.mkv", "reel-9.mkv", "of no reel that is known"),
    ],
)
def test_a_clip_that_is_wrong_is_told_at_its_line(old: str, new: str, words: str) -> None:
    terms = Terms(reels={"1": OURS}, called={"reel-1": "1"})
    text = spoilt(old, new)
    said = told_of(text, terms)

    (found,) = [one for one in said if words in one]
    line = int(found.split(":")[1])
    assert '"Clip.' in text.splitlines()[line - 1]


def test_clips_of_mixed_rates_are_told() -> None:
    timeline = own_timeline()
    clip = timeline.tracks[0][1]
    span = clip.source_range
    clip.source_range = otio.opentime.TimeRange(span.start_time, otio.opentime.RationalTime(96, 25))
    text = otio.adapters.write_to_string(timeline, "otio_json")
    said = told_of(text, Terms(reels={"1": OURS}, called={"reel-1": "1"}))

    assert any("mixes rates: 24 and 25" in one for one in said), said


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("", "1:1", "this is not JSON"),
        ('{\n  "OTIO_SCHEMA": "Timeline.1",\n  "name": oops\n}', "3:11", "this is not JSON"),
        ("[1, 2]", "1:1", ""),
        (otio.adapters.write_to_string(otio.schema.Clip("alone"), "otio_json"), "1:1", "a Clip"),
        ('{"OTIO_SCHEMA": "Rose.7"}', "1:1", ""),
        ("[" * 200_000, "1:1", "nested too deeply"),
        (otio.adapters.write_to_string(otio.schema.Timeline("e"), "otio_json"), "1:1", "no clip"),
        ('{"OTIO_SCHEMA": "Timeline.1", "name": "e"}', "1:1", "no OpenTimelineIO document"),
        ('{"OTIO_SCHEMA": "Timeline.1", "a": ' + "9" * 5000 + "}", "1:1", "cannot be read"),
    ],
)
def test_what_is_no_timeline_is_told(text: str, place: str, words: str) -> None:
    said = told_of(text)

    assert any(one.startswith(f"cuts.edl:{place}: ") and words in one for one in said), said
