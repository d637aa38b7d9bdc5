"""The German edition's titles, bridge, slate and logo: what is drawn, whole and harmless."""

import csv
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from demo_places import MEDIA
from demofilm.archive import LOGO_FRAMES, LOGO_RATE, logo
from demofilm.cards import card
from demofilm.lettering import letter
from demofilm.plates import PLATES, plate
from demofilm.raster import blank
from demofilm.wear import code_values
from numpy.typing import NDArray

CARDS = MEDIA / "titles-de"


def _still(name: str) -> av.VideoFrame:
    with av.open(str(MEDIA / name)) as file:
        return next(file.decode(video=0))


@pytest.fixture(scope="module")
def moving() -> NDArray[np.uint8]:
    """The committed logo's luma, frame by frame."""
    with av.open(str(MEDIA / "logo.mkv")) as file:
        return np.stack([frame.to_ndarray()[:480] for frame in file.decode(video=0)])


def _written(text: str) -> NDArray[np.float32]:
    picture = blank(0)
    letter(picture, text, (320, 300), 100, 1)
    return picture


@pytest.mark.parametrize("name", PLATES)
def test_a_committed_plate_is_what_the_script_draws(name: str) -> None:
    """One code value of tolerance: another processor's sine may differ in its last bit."""
    drawn = 255 * plate(name)
    committed = _still(name).to_ndarray()
    assert drawn.shape == committed.shape
    assert np.abs(drawn - committed).max() <= 1.5


def test_no_picture_lies_there_that_the_script_does_not_draw() -> None:
    found = {path.relative_to(MEDIA).as_posix() for path in MEDIA.rglob("*.png")}
    pages = {name for name in found if name.startswith("pages/")}  # by scripts/picture-pages
    assert set(PLATES) == found - pages


def test_every_title_of_the_list_of_shots_has_its_german_card_and_nothing_else_has() -> None:
    with (MEDIA / "shots.csv").open(encoding="utf-8", newline="") as file:
        titles = {f"{r['reel']}-{r['shot']}" for r in csv.DictReader(file) if r["kind"] == "title"}
    assert titles == {path.stem for path in CARDS.iterdir()}


def test_plates_are_eight_bit_grey_tagged_bt_709_and_of_other_sizes_than_the_scan() -> None:
    """BT.709 is 1 for primaries and transfer, full range 2: FFmpeg's names for H.273's codes."""
    stills = {name: _still(name) for name in PLATES}
    tags = {(s.format.name, s.color_primaries, s.color_trc, s.color_range) for s in stills.values()}
    assert {("gray", 1, 1, 2)} == tags
    sizes = {name: (still.width, still.height) for name, still in stills.items()}
    assert (1280, 740) == sizes.pop("bridge.png")
    assert (1440, 1080) == sizes.pop("slate.png")
    assert {(1280, 960)} == set(sizes.values())


@pytest.mark.parametrize(
    "name", [name for name in PLATES if name.endswith("-de.png") or name.startswith("titles-de/")]
)
def test_a_german_cards_lettering_keeps_clear_of_its_border(name: str) -> None:
    """Between the inner rule and a margin of eight units there is ground, left and right."""
    picture = plate(name)
    for left, right in ((54, 62), (578, 586)):
        strip = picture[2 * 82 : 2 * 398, 2 * left : 2 * right]
        assert np.full_like(strip, strip[0, 0]).tolist() == strip.tolist()


def test_a_card_of_twice_the_raster_is_the_films_card_with_more_pixels() -> None:
    lines = ("A light!",)
    large = card(lines, pixels=(1280, 960))
    pooled = large.reshape(480, 2, 640, 2).mean(axis=(1, 3))
    assert np.abs(pooled - card(lines)).mean() < 0.001
    assert np.abs(pooled - card(("A night!",))).mean() > 0.001


@pytest.mark.parametrize(("whole", "plain"), [("Ä", "A"), ("Ö", "O"), ("Ü", "U"), ("ä", "a")])
def test_an_umlaut_is_its_letter_with_two_dots_above(whole: str, plain: str) -> None:
    added = _written(whole) - _written(plain)
    rows, columns = np.nonzero(added > 0.5)
    assert rows.max() < 300 - 100 * (1 if whole.isupper() else 0.78)
    assert 2 == 1 + np.count_nonzero(np.diff(np.unique(columns)) > 1)


def test_a_small_sharp_s_is_one_letter_and_not_two() -> None:
    widths = [np.ptp(np.nonzero(_written(text))[1]) for text in ("ß", "ss")]
    assert 0 < widths[0] < 0.8 * widths[1]


def test_the_media_stay_small() -> None:
    def kilobytes(*paths: Path) -> float:
        return sum(path.stat().st_size for path in paths) / 1000

    assert kilobytes(*CARDS.iterdir()) < 400
    assert kilobytes(MEDIA / "bridge.png") < 200
    assert kilobytes(MEDIA / "logo.mkv") < 600
    assert kilobytes(*(path for path in MEDIA.rglob("*") if path.is_file())) < 15_000


def test_the_logo_is_two_seconds_at_24_of_the_scans_format() -> None:
    with (
        av.open(str(MEDIA / "logo.mkv")) as one,
        av.open(str(MEDIA / "tidewatcher-reel-1.mkv")) as other,
    ):
        (mark,), (scan,) = one.streams.video, other.streams.video
        assert Fraction(24) == mark.average_rate
        assert (scan.codec.name, scan.pix_fmt) == (mark.codec.name, mark.pix_fmt)
        assert (scan.width, scan.height) == (mark.width, mark.height)
        assert scan.codec_context.extradata == mark.codec_context.extradata
        assert [True] * 48 == [p.is_keyframe for p in one.demux(mark) if p.size]
    assert (24, 48) == (LOGO_RATE, LOGO_FRAMES)


@pytest.mark.parametrize("frame", [0, 9, 30])
def test_the_committed_logo_is_what_the_script_draws(frame: int, moving: NDArray[np.uint8]) -> None:
    """One code value of tolerance, as for the plates."""
    drawn = code_values(logo(frame)).astype(int)
    assert np.abs(drawn - moving[frame]).max() <= 1
    assert np.abs(drawn - moving[frame + 3]).max() > 1


def test_the_logos_light_goes_round_once_clockwise(moving: NDArray[np.uint8]) -> None:
    """Seen from the lamp at column 320, row 192, through one turn in 48 frames."""
    sides = {
        "right": np.s_[172:212, 345:425],
        "below": np.s_[217:270, 340:350],
        "left": np.s_[172:212, 215:295],
        "above": np.s_[90:167, 300:340],
    }
    brightest = [
        max(sides, key=lambda side: float(moving[frame][sides[side]].mean()))
        for frame in (6, 12, 23, 36, 42)
    ]
    assert ["above", "right", "below", "left", "above"] == brightest


def test_nothing_in_the_logo_flashes(moving: NDArray[np.uint8]) -> None:
    """At most one flash in its two seconds, and nowhere a tenth of full light between frames.

    A flash is a pair of opposing changes in relative luminance of a tenth or more; more than
    three within a second are held to be harmful: Web Content Accessibility Guidelines 2.2,
    "general flash and red flash thresholds". Relative luminance is theirs too. Measured over
    blocks of eight by eight samples.
    """
    tone = np.clip((moving.reshape(-1, 60, 8, 80, 8).mean(axis=(2, 4)) - 16) / 219, 0, 1)
    light = np.where(tone <= 0.04045, tone / 12.92, ((tone + 0.055) / 1.055) ** 2.4)
    assert np.abs(np.diff(light, axis=0)).max() < 0.1
    assert _swings(light).max() <= 2


def _swings(light: NDArray[np.float64]) -> NDArray[np.int_]:
    """How often each place turns round and changes by a tenth since its last extreme."""
    low = high = light[0]
    heading, count = np.zeros(light.shape[1:], int), np.zeros(light.shape[1:], int)
    for now in light[1:]:
        low, high = np.minimum(low, now), np.maximum(high, now)
        rises = (now - low >= 0.1) & (heading <= 0)
        falls = (high - now >= 0.1) & (heading >= 0)
        count += rises | falls
        heading = np.where(rises, 1, np.where(falls, -1, heading))
        low, high = np.where(rises, now, low), np.where(rises | falls, now, high)
        low = np.where(falls, now, low)
    return count
