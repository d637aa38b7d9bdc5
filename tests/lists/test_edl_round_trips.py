"""What is written is read back the same: events as values, and a map's shots through an EDL."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from listmaps import LIST, Cut, cuts, edition_of, programme, read_back, unplaced

from retime.film.speed import Rate
from retime.film.timecode import day_of, drops
from retime.lists.collecting import collected
from retime.lists.edl_events import Edit, Edl, Effect, Span, SpeedLine
from retime.lists.edl_making import edl_files
from retime.lists.edl_reading import read_edl
from retime.lists.edl_writing import edl_text
from retime.lists.speed_lines import said_as, source_length
from retime.lists.strip_table import strip_table
from retime.lists.strips import Shows
from retime.lists.tables import read_table
from retime.lists.terms import Terms

if TYPE_CHECKING:
    import pytest

    from retime.lists.strips import Strip

RATES = [Fraction(24), Fraction(25), Fraction(30), Fraction(24000, 1001), Fraction(30000, 1001)]
words = st.text("ABCDEFGHIJ KLMNOPQRSTUVWXYZ-.,0123456789", min_size=1, max_size=30).map(
    lambda text: text.strip() or "LAMP"
)
remarks = st.lists(words.map(lambda text: f"SHOT: {text}"), max_size=2).map(tuple)


@st.composite
def edls(draw: st.DrawFn) -> Edl:
    """Draw a list whose events follow one another, of all kinds and speeds of one decimal."""
    rate = Rate(draw(st.sampled_from(RATES)))
    drop = drops(rate) and draw(st.booleans())
    nominal, day = int(rate.nominal.fps), day_of(rate, drop=False)
    edits: list[Edit] = []
    at = draw(st.integers(0, day // 2))
    for number in range(1, draw(st.integers(2, 8))):
        record = draw(st.integers(1, 5000))
        tenths = draw(st.sampled_from([None, None, 0, *range(-600, 600, 37)]))
        source, speed = record, None
        first = draw(st.integers(0, day - 200_000))
        reel = draw(st.sampled_from(["001", "R2", "LAMP", "TAPE ONE"]))
        if tenths is not None:
            speed = SpeedLine(reel=reel, speed=Fraction(tenths, 10), at=first)
            source = source_length(speed.speed, record, nominal)
        effect = draw(st.sampled_from(Effect))
        lasts: int | None = draw(st.integers(0, min(record, 255)))
        if effect in {Effect.CUT, Effect.KEY_BACKGROUND}:
            lasts = None
        edits.append(
            Edit(
                number=number,
                reel=reel,
                source=Span(first, first + source),
                record=Span(at, at + record, drop),
                channel=draw(st.sampled_from(["V", "B", "AA/V"])),
                effect=effect,
                wipe=draw(st.integers(0, 999)) if effect is Effect.WIPE else None,
                lasts=lasts,
                faded=effect is Effect.KEY_BACKGROUND and draw(st.booleans()),
                speed=speed,
                remarks=draw(remarks),
            )
        )
        at += record
    heading = draw(remarks)
    return Edl(rate=rate, title=draw(words), drop=drop, edits=tuple(edits), heading=heading)


@settings(max_examples=150, deadline=None)
@given(edls())
def test_every_list_that_is_written_is_read_the_same(edl: Edl) -> None:
    assert edl == unplaced(read_edl(edl_text(edl).encode(), LIST, edl.rate))


tenths = st.integers(80, 240).map(lambda number: Fraction(number, 10))
any_speed = st.one_of(tenths, st.fractions(5, 60, max_denominator=99))


@st.composite
def films(
    draw: st.DrawFn, speed: st.SearchStrategy[Fraction] = tenths, fewest: int = 1
) -> tuple[list[Cut], dict[str, Fraction]]:
    """Draw two reels of shots and titles, each of ``fewest`` frames at least and its own speed."""
    shots: list[Cut] = []
    speeds: dict[str, Fraction] = {}
    for reel in ("1", "II b"):
        at = draw(st.integers(0, 50))
        for number in range(1, draw(st.integers(2, 7))):
            count = draw(st.one_of(st.integers(fewest, 9), st.integers(10, 900)))
            kind = draw(st.sampled_from(["action", "action", "title"]))
            name = draw(st.sampled_from([None, "the sea wall"]))
            shots.append(Cut(reel, at, at + count - 1, str(number), kind, name))
            speeds[f"{reel}/{number}"] = draw(speed)
            at += count
    return shots, speeds


quickly = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@quickly
@given(films(), st.sampled_from(["24", "25", "29.97", "23.976"]), st.booleans())
def test_shots_come_back_the_same_where_m2_can_say_their_speeds(
    tmp_path_factory: pytest.TempPathFactory,
    film: tuple[list[Cut], dict[str, Fraction]],
    rate: str,
    per_shot: bool,  # noqa: FBT001 - drawn
) -> None:
    shots, speeds = film
    rules = ", ".join(f"{key}: {speed} fps" for key, speed in speeds.items())
    version = f"  slow: {{speed: 18 fps, titles: {{at least: 2 s}}, shots: {{{rules}}}}}\n"
    phase = ", phase: per-shot" if per_shot else ""
    viewing = f"  viewing: {{version: slow, profile: h264-viewing, rate: {rate}{phase}}}\n"
    told = programme(edition_of(tmp_path_factory.mktemp("map"), shots, version, viewing))

    assert shots == read_back(told)
    assert [] == [one for file in edl_files(told) for one in file.told]
    table = read_table(strip_table(told).encode(), LIST, Terms())
    assert shots == cuts(collected([table], LIST, Terms())[0])


@quickly
@given(films(any_speed, 6), st.sampled_from(["24", "25", "29.97"]))
def test_shots_come_back_the_same_whatever_their_speeds_and_what_m2_misses_is_told(
    tmp_path_factory: pytest.TempPathFactory,
    film: tuple[list[Cut], dict[str, Fraction]],
    rate: str,
) -> None:
    shots, speeds = film
    rules = ", ".join(f"{key}: {speed} fps" for key, speed in speeds.items())
    version = f"  slow: {{speed: 18 fps, shots: {{{rules}}}}}\n"
    viewing = f"  viewing: {{version: slow, profile: h264-viewing, rate: {rate}}}\n"
    told = programme(edition_of(tmp_path_factory.mktemp("map"), shots, version, viewing))

    assert shots == read_back(told)
    unsaid = any((speed * 10).denominator != 1 for speed in speeds.values())
    assert unsaid is any(one.told for one in edl_files(told))


@quickly
@given(films(), st.sampled_from(["24", "30"]))
def test_what_m2_says_exactly_shows_our_frames_or_their_neighbours(
    tmp_path_factory: pytest.TempPathFactory,
    film: tuple[list[Cut], dict[str, Fraction]],
    rate: str,
) -> None:
    """An editor's machine shows source in + floor(k s/r); ours begins a shot at a phase of its."""
    shots, speeds = film
    rules = ", ".join(f"{key}: {speed} fps" for key, speed in speeds.items())
    version = f"  slow: {{speed: 18 fps, shots: {{{rules}}}}}\n"
    viewing = f"  viewing: {{version: slow, profile: h264-viewing, rate: {rate}}}\n"
    edition = edition_of(tmp_path_factory.mktemp("map"), shots, version, viewing)
    told, ours = programme(edition), frame_by_frame(programme(edition, runs=True).strips)
    nominal = told.nominal
    for strip in told.strips:
        speed = said_as(strip.ratio, nominal)
        for k in range(strip.frames):
            reel, frame = ours[strip.output + k]
            theirs = strip.first + k * speed.numerator // (speed.denominator * nominal)
            assert (strip.reel, True) == (reel, abs(theirs - frame) <= 1)


def frame_by_frame(runs: tuple[Strip, ...]) -> list[tuple[str, int]]:
    """Return which film frame each output frame shows, by a list of runs."""
    assert all(run.shows is Shows.HELD for run in runs)
    return [(run.reel, run.first) for run in runs for _ in range(run.frames)]
