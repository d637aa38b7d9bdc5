"""The table of gauges, row by row and against published figures."""

from __future__ import annotations

from fractions import Fraction

import pytest

from retime.errors import NotationError
from retime.film.gauge import (
    GAUGES,
    Footage,
    Gauge,
    frames_per_foot,
    frames_per_metre,
    gauge_named,
)

FOOT_MM = Fraction("304.8")
NOMINAL, PITCH = Footage.NOMINAL, Footage.PITCH

# Filmfuss and Filmschritt are two articles of a German Wikipedia mirror; they name the ISO
# standards. Frames to the foot by pitch are computed, 304.8 over the pitch.
PUBLISHED = [
    # Frames to the foot: Filmfuss. Pitch: Filmschritt, naming ISO 491:2002.
    ("35mm", "16", "19", "16.0421"),
    # Frames to the foot: vtc timecode library documentation, FilmFormat. Pitch: from memory.
    ("35mm 2-perf", "32", "9.5", "32.0842"),
    # From 64 perforations to the foot (vtc documentation; OpenEXR key-code class); computed.
    ("35mm 3-perf", "64/3", "14.25", "21.3895"),
    # Filmfuss; Sprocket School wiki, Film gauges; EIDR knowledge base, Durations. Filmschritt.
    ("16mm", "40", "7.62", "40"),
    # Filmfuss; EIDR knowledge base, Durations. Filmschritt.
    ("8mm", "80", "3.81", "80"),
    # Filmfuss; the Swedish cine-transfer firm's film-length page. Filmschritt: 1/6 inch.
    ("super 8", "72", "127/30", "72"),
    # Filmfuss has 40, Village Hall Cinemas 41. Pitch: Filmschritt.
    ("9.5mm", "40", "7.54", "40.4244"),
    # Village Hall Cinemas, 9.5 and 28 mm page. Pitch: Reel Deals magazine, 2012-03 p. 7.
    ("28mm", "20.5", "15", "20.32"),
    # Filmfuss and Sprocket School wiki: 5 feet hold 64 frames. Filmschritt.
    ("70mm", "12.8", "23.75", "12.8337"),
]
# Frames to the metre by pitch, computed.
METRES = [
    ("35mm", "52.6316"),
    ("35mm 2-perf", "105.2632"),
    ("35mm 3-perf", "70.1754"),
    ("16mm", "131.2336"),
    ("8mm", "262.4672"),
    ("super 8", "236.2205"),
    ("9.5mm", "132.6260"),
    ("28mm", "66.6667"),
    ("70mm", "42.1053"),
]


@pytest.mark.parametrize("gauge", GAUGES, ids=lambda gauge: gauge.name)
def test_each_row_is_whole(gauge: Gauge) -> None:
    """Pitch times frames to the foot is a foot within 1.5 %, and somebody says so."""
    assert abs(gauge.pitch * gauge.per_foot / FOOT_MM - 1) < Fraction(15, 1000)
    assert gauge.per_foot.denominator <= 5
    assert len(gauge.source) > 20
    assert ":" in gauge.source


@pytest.mark.parametrize("gauge", GAUGES, ids=lambda gauge: gauge.name)
def test_each_name_and_alias_leads_to_its_row(gauge: Gauge) -> None:
    for name in (gauge.name, *gauge.aliases):
        assert gauge is gauge_named(name)
        assert gauge is gauge_named(f"  {name.upper()} ")
        assert gauge is gauge_named(name.replace("mm", " mm"))


def test_no_name_means_two_gauges() -> None:
    names = [name for gauge in GAUGES for name in (gauge.name, *gauge.aliases)]

    assert sorted(set(names)) == sorted(names)


def test_each_gauge_has_a_published_figure_beside_it() -> None:
    names = sorted(gauge.name for gauge in GAUGES)

    assert names == sorted(row[0] for row in PUBLISHED) == sorted(row[0] for row in METRES)


@pytest.mark.parametrize(("name", "per_foot", "pitch", "by_pitch"), PUBLISHED)
def test_frames_to_the_foot_and_pitch_are_the_published_ones(
    name: str, per_foot: str, pitch: str, by_pitch: str
) -> None:
    gauge = gauge_named(name)

    assert Fraction(per_foot) == frames_per_foot(gauge, NOMINAL)
    assert Fraction(pitch) == gauge.pitch
    assert Fraction(by_pitch) == round(frames_per_foot(gauge, PITCH), 4)


@pytest.mark.parametrize(("name", "by_pitch"), METRES)
def test_frames_to_the_metre_follow_from_the_pitch(name: str, by_pitch: str) -> None:
    gauge = gauge_named(name)

    assert Fraction(by_pitch) == round(frames_per_metre(gauge, PITCH), 4)
    assert 1000 / gauge.pitch == frames_per_metre(gauge, PITCH)


def test_frames_to_the_metre_of_35mm_by_convention_come_from_its_foot() -> None:
    assert Fraction("52.4934") == round(frames_per_metre(gauge_named("35mm"), NOMINAL), 4)
    assert Fraction(16000, Fraction("304.8")) == frames_per_metre(gauge_named("35mm"), NOMINAL)


@pytest.mark.parametrize("name", ["16mm", "8mm", "super 8"])
def test_16mm_8mm_and_super_8_agree_in_convention_and_pitch(name: str) -> None:
    gauge = gauge_named(name)

    assert frames_per_foot(gauge, NOMINAL) == frames_per_foot(gauge, PITCH)


def test_the_two_conventions_of_35mm_lie_0_263_percent_apart() -> None:
    # Computed: 304.8 / (16 x 19). Over 100 minutes the difference is 15.8 s.
    gauge = gauge_named("35mm")
    apart = frames_per_foot(gauge, PITCH) / frames_per_foot(gauge, NOMINAL)

    assert Fraction("1.002632") == round(apart, 6)
    assert Fraction("15.8") == round(6000 * (apart - 1), 1)


@pytest.mark.parametrize(
    ("name", "per_frame", "per_count", "count_feet"),
    [
        ("35mm", 4, 64, "1"),
        ("35mm 3-perf", 3, 64, "1"),
        ("16mm", 1, 20, "1/2"),
        ("70mm", 5, 80, "5/4"),
        ("70mm", 5, 120, "15/8"),
    ],
)
def test_frames_to_the_foot_agree_with_the_key_code(
    name: str, per_frame: int, per_count: int, count_feet: str
) -> None:
    # OpenEXR key-code class (ImfKeyCode.h), after SMPTE 254 and 268M: perforations per frame
    # and per count. A count of 64 is a foot of 35mm, one of 20 half a foot of 16mm. The feet of
    # 65mm counts are computed from its 64 perforations to the foot.
    frames = Fraction(per_count, per_frame)

    assert frames == frames_per_foot(gauge_named(name), NOMINAL) * Fraction(count_feet)


@pytest.mark.parametrize("text", ["17.5", "17.5mm", "17.5 mm", " 17.5 MM "])
def test_17_5mm_is_refused_because_it_has_no_single_pitch(text: str) -> None:
    # NFSA (Australia) preservation glossary, Film gauges; Grahame N's pages, 17.5 mm history:
    # Birtac, Biokam, Kino, Duoscope, Movette and rural formats, none like another.
    with pytest.raises(NotationError, match="no single frame pitch") as refused:
        gauge_named(text)

    assert "lengths in frames" in refused.value.hint


@pytest.mark.parametrize(
    "text", ["", "mm", "36mm", "35 m m", "-35mm", "\u0663\u0665mm", "35" * 500_000]
)
def test_an_unknown_gauge_is_refused_with_all_that_are_known(text: str) -> None:
    with pytest.raises(NotationError, match="is not known") as refused:
        gauge_named(text)

    assert all(gauge.name in refused.value.hint for gauge in GAUGES)
    assert len(str(refused.value)) < 250
