"""The page of a report: the report's own values, of one piece, and safe with any name."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from msgspec import structs
from naive import Kind, rows, shown, starts_of
from odd_editions import HOSTILE, LONG, RIGHT_TO_LEFT, hostile, long_film, plain
from pages_read import Page

from retime.edition.join import join
from retime.report.edition_drift import drift_figure
from retime.report.edition_page import edition_page
from retime.report.values import report_values
from retime.speedmap.arrangement import arrange

if TYPE_CHECKING:
    from collections.abc import Iterable

    from naive import Row

    from retime.edition.edition import Edition, Making

DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher.yaml"


@pytest.fixture(scope="module", params=["demo", "all kinds"])
def edition(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Edition:
    if request.param == "demo":
        return join(DEMO)
    return plain(tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def source(edition: Edition) -> str:
    return edition_page(edition)


@pytest.fixture(scope="module")
def page(source: str) -> Page:
    return Page(source)


@pytest.fixture(scope="module")
def told(edition: Edition) -> dict[str, Any]:
    return report_values(edition)


def plus(milliseconds: float) -> str:
    """Return a signed number as the page writes it: with a minus, and nothing for nothing."""
    return f"{milliseconds:+.3f}".replace("-", "\N{MINUS SIGN}").replace("+0.000", "0.000")


def test_every_deliverable_stands_among_all_with_the_values_of_the_json(
    page: Page, told: dict[str, Any]
) -> None:
    for one in told["deliverables"]:
        cells = [
            *(one["name"], one["version"], one["rate"], one["run_change"]),
            one["runtime"]["text"],
            *(f"{one[count]:,}" for count in ("output_frames", "repeated", "held", "dropped")),
            f"{one['drift']['max_ms']:.3f}" if one["drift"] else "",
            one["route"] or "none",
        ]

        assert cells in [row[:5] + row[6:] for row in page.rows]


def test_every_figure_of_a_deliverable_is_that_of_the_json(
    page: Page, told: dict[str, Any]
) -> None:
    parts = dict(zip(names(told), sections(page), strict=True))
    for one in told["deliverables"]:
        text = parts[one["name"]]
        assert f"Runtime {one['runtime']['text']} {one['runtime']['timecode']}" in text
        assert f"True runtime {one['true_runtime']['text']}" in text
        assert f"Rate {one['rate']} fps" in text
        assert f"Film frames {one['source_frames']:,}" in text
        assert one["reason"] in text
        if one["run_change"] == "1":
            assert "Pitch unchanged" in text
        else:
            assert f"laid out at {one['conform_at']} fps run change {one['run_change']}" in text
            cents = f"{one['run_change_cents']:+.2f}".replace("-", "\N{MINUS SIGN}")
            assert f"Pitch {cents} cents" in text
        if one["drift"]:
            assert f"Drift at most {one['drift']['max_ms']:.3f} ms" in text
            ends = f"{plus(one['drift']['end_ms'])} ms at the end"
            assert f"rms {one['drift']['rms_ms']:.3f} ms, {ends}" in text
        if one.get("inserted"):
            assert f"{one['inserted']:,} put in" in text
        for reel in one["reels"]:
            assert f"{reel['output_first']:,} to {reel['output_last']:,}" in text


def names(told: dict[str, Any]) -> list[str]:
    return [one["name"] for one in told["deliverables"]]


def sections(page: Page) -> list[str]:
    """Return the text of each deliverable's own part."""
    parts = re.split(r"(?=Version \S[^,]*, profile )", page.text)
    return [part.split(" Shots ", maxsplit=1)[0] for part in parts[1:]]


def test_every_hold_loop_and_inset_of_the_json_stands_in_a_table(
    page: Page, told: dict[str, Any]
) -> None:
    ends = [row[-1] for row in page.rows]
    count = 0
    for one in told["deliverables"]:
        for stretch in one["stretches"]:
            if {"hold", "inset", "loop", "hole"} & set(stretch):
                first, last = stretch["output_first"], stretch["output_last"]
                assert (f"{first:,}" if first == last else f"{first:,} to {last:,}") in ends
                count += 1

    assert count > 0


def test_dropped_frames_are_told_shot_by_shot_and_sum_to_the_json(tmp_path: Path) -> None:
    edition = plain(tmp_path)
    found = Page(edition_page(edition))
    dropping = next(
        one for one in report_values(edition)["deliverables"] if one["name"] == "dropping"
    )
    rows = [int(row[1]) for row in found.rows if len(row) == 2 and row[1].isdecimal()]

    # 30 film frames a second in 24 output frames leave out one of five (common practice).
    assert 56 == dropping["dropped"] == (120 + 160) // 5
    assert 56 == sum(rows)


def test_versions_stand_side_by_side_in_the_maps_words(tmp_path: Path) -> None:
    rows = Page(edition_page(plain(tmp_path))).rows

    # 280 film frames at 30 last 9.333 s; at 24, 11.667 s.
    assert ["fast", "30 fps", "280", "0:00:09.333"] in [row[:4] for row in rows]
    assert ["film speed", "24 fps", "280", "0:00:11.667"] in [row[:4] for row in rows]
    slow = next(row for row in rows if row[0] == "slow")
    assert "18 fps; titles: at least 3 s" == slow[1]
    # 260 frames at 18 and a title of 3 s: 17.444 s, which is 8.111 s more than 9.333 s.
    assert "0:00:17.444" == slow[3]
    assert "0:00:08.111 shorter (46.50 %)" == next(row for row in rows if row[0] == "fast")[4]


def test_chapters_stand_with_the_output_frames_of_the_json(tmp_path: Path) -> None:
    edition = plain(tmp_path)
    chapters = report_values(edition)["deliverables"][0]["chapters"]
    rows = Page(edition_page(edition)).rows

    assert 5 == len(chapters)
    for one in chapters:
        assert [one["name"], f"{one['output']:,}"] in [row[:2] for row in rows]
    # 50 film frames at 18 end after 2.778 s; output frame 67 is the first after, at 2.792 s.
    assert ["Evening", "67", "0:00:02.792"] in rows


ODD = {
    "one frame": "speed: 18 fps",
    "nothing but a hold": "speed: 18 fps, titles: {at least: 5 s}",
    "a runtime that is met": "runtime: '0:02.5'",
    "one frame a minute": "speed: 1/60 fps",
}


@pytest.mark.parametrize("name", ODD)
def test_a_film_of_one_frame_makes_a_page_as_well(name: str, tmp_path: Path) -> None:
    path = tmp_path / "lamp.yaml"
    path.write_text(
        "format: retime-map/1\nfilm: Lamp\ngauge: 35mm\n"
        "reels: [{reel: 1, scan: a.mkv, frames: 1}]\n"
        "shots: [{reel: 1, first: 0, last: 0, shot: 1, kind: title}]\n"
        f"versions: {{short: {{{ODD[name]}}}}}\n"
        "deliverables:\n"
        "  a: {version: short, profile: prores-mezzanine, rate: 24}\n"
        "  b: {version: short, profile: prores-mezzanine, rate: 24, method: blend}\n"
        "  c: {version: short, profile: prores-mezzanine, rate: 25, scanning: top-first}\n"
    )
    text = Page(edition_page(join(path))).text

    assert ("which makes 0.400000 fps" in text) == ("solved speed 0.400000 fps" in text)
    assert ("solved speed" in text) == ("runtime" in ODD[name])
    assert "0:00:02.500" in text or name != "a runtime that is met"


def test_the_page_names_its_map_its_makers_and_its_cautions(
    page: Page, edition: Edition, told: dict[str, Any]
) -> None:
    assert (
        told["map_sha256"] == hashlib.sha256(edition.speed_map.tree.path.read_bytes()).hexdigest()
    )
    assert page.text.count(told["map_sha256"]) >= 2
    for said in ("no instruction for a projector", "Nitrate film burns", "local rules", "hot lamp"):
        assert said in page.text
    assert "Flashes: not looked for." in page.text
    assert "retime check --flashes" in page.text
    assert re.search(r"Made by retime \S+, Python \S+, av \S+, jinja2 \S+", page.text)


def test_findings_stand_on_the_page_and_are_pointed_to(tmp_path: Path) -> None:
    path = tmp_path / "lamp.yaml"
    path.write_text(
        "format: retime-map/1\nfilm: Lamp\ngauge: 35mm\n"
        "reels: [{reel: 1, scan: a.mkv, frames: 48}]\n"
        "shots: [{reel: 1, first: 0, last: 39, shot: 1}]\n"
        "versions: {slow: {speed: 18 fps}}\n"
        "deliverables: {a: {version: slow, profile: ffv1-master, rate: 24}}\n"
    )
    edition = join(path)
    text = Page(edition_page(edition)).text

    assert len(edition.warnings) > 0
    for one in edition.warnings:
        assert one.text in text
    assert "about this map: see findings" in text


def test_the_page_needs_nothing_from_elsewhere_and_runs_nothing(source: str, page: Page) -> None:
    # HTML Living Standard: elements and attributes that fetch or run something.
    fetching = {"script", "link", "img", "iframe", "object", "embed", "image", "foreignobject"}

    assert set() == fetching & {tag for tag, _ in page.tags}
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            assert name != "style", tag
            if name in {"href", "xlink:href", "src"}:
                assert (value or "").startswith("#"), (tag, value)
    assert not re.search(r"https?://|url\(|@import|javascript:", source)


def test_the_policy_lets_in_this_style_alone(source: str, page: Page) -> None:
    # W3C Content Security Policy Level 3, 6.7: the digest of what stands between the tags.
    (style,) = re.findall(r"<style>(.*?)</style>", source, re.DOTALL)
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    (policy,) = (
        attributes["content"]
        for tag, attributes in page.tags
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    )

    assert policy is not None
    assert {"default-src 'none'", f"style-src 'sha256-{digest}'"} <= set(policy.split("; "))
    assert "unsafe" not in policy


def test_every_id_stands_once_and_every_reference_leads_to_one(page: Page) -> None:
    ids = Counter(attributes["id"] for _, attributes in page.tags if "id" in attributes)
    asked = set()
    for _, attributes in page.tags:
        asked |= set((attributes.get("aria-labelledby") or "").split())
        if (attributes.get("href") or "").startswith("#"):
            asked.add((attributes["href"] or "").removeprefix("#"))

    assert [] == [name for name, count in ids.items() if count > 1]
    assert asked <= set(ids)


def test_every_drawing_says_what_it_is_and_every_wide_table_can_be_reached(page: Page) -> None:
    drawings = 0
    for tag, attributes in page.tags:
        if attributes.get("role") == "img":
            drawings += 1
            assert attributes.get("aria-label") or attributes.get("aria-labelledby"), tag
        if attributes.get("class") == "wide":
            assert "0" == attributes["tabindex"]
            assert attributes.get("aria-label") or attributes.get("aria-labelledby")

    assert drawings > 10


def test_the_same_map_gives_the_same_page(edition: Edition, source: str) -> None:
    assert source == edition_page(edition)


def test_names_that_mean_harm_are_told_as_text(tmp_path: Path) -> None:
    edition = hostile(tmp_path)
    source = edition_page(edition)
    page = Page(source)
    words = " ".join(page.words)

    assert {"script", "img", "i", "b", "svg"} & {tag for tag, _ in page.tags} <= {"i", "b", "svg"}
    assert not any("onload" in attributes or "onclick" in attributes for _, attributes in page.tags)
    assert "retime check --flashes MAP counts" in page.text
    for name in (HOSTILE, LONG, RIGHT_TO_LEFT, "<svg onload=x>.mkv", 'shot 1<i>"/B', "<img src=x>"):
        assert name in words
    # What runs the other way stays within an element that isolates it.
    body = source[source.index("<body>") :]
    for found in re.finditer(re.escape(RIGHT_TO_LEFT), body):
        opened = re.findall(r"<(/?)(bdi|text|td)\b", body[: found.start()])
        assert opened[-1] in {("", "bdi"), ("", "text"), ("", "td")}


def test_a_title_with_a_line_feed_is_one_text(tmp_path: Path) -> None:
    edition = plain(tmp_path)
    film = "The Lamp\nand <b>the Tide</b>"
    renamed = structs.replace(edition, speed_map=structs.replace(edition.speed_map, film=film))
    page = Page(edition_page(renamed))

    assert "The Lamp and <b>the Tide</b>" in page.text


def test_a_name_in_another_coding_does_not_stop_the_page(tmp_path: Path) -> None:
    edition = plain(tmp_path)
    film = "Lamp \udcff"
    renamed = structs.replace(edition, speed_map=structs.replace(edition.speed_map, film=film))

    assert "Lamp ?" in Page(edition_page(renamed).encode("utf-8").decode()).text


def test_a_film_of_1500_shots_makes_a_page_of_less_than_3_mb(tmp_path: Path) -> None:
    page = edition_page(long_film(tmp_path / "long.yaml", frames=130_000, shots=1_500))

    assert 100_000 < len(page.encode()) < 3_000_000
    assert "scene 1500" in page


def listed(edition: Edition, making: Making) -> tuple[list[list[Row]], list[Row]]:
    """Return a deliverable's film and what each of its pulses shows, frame by frame."""
    version = edition.speed_map.versions[making.deliverable.version]
    lasts = {scan.reel.name: scan.last for scan in edition.scans}
    units = rows(arrange(edition.speed_map, version, lasts).items)
    plan = making.plan
    per_shot, fields = str(plan.phase) == "per-shot", plan.carry.pattern == (1,)
    grid = plan.conform.at.fps if len(plan.carry.pattern) == 1 else Fraction(24)
    return units, shown(units, grid, per_shot=per_shot, fields=fields)


def drifts(edition: Edition, making: Making) -> Iterable[tuple[int, int, float]]:
    """Yield pulse, number of pulses, and drift in milliseconds of every first showing."""
    units, pulses = listed(edition, making)
    film = [row for unit in units for row in unit]
    starts, plan = dict(zip(film, starts_of(film), strict=False)), making.plan
    seen: set[tuple[int, int | None]] = set()
    field = 0
    for pulse, row in enumerate(pulses):
        if (row.unit, row.frame) not in seen and row.kind is Kind.FILM:
            seen.add((row.unit, row.frame))
            late = Fraction(field, 2) - starts[row] * plan.conform.at.fps
            yield pulse, len(pulses), float(1000 * late / plan.conform.rate.fps)
        field += plan.carry.pattern[pulse % len(plan.carry.pattern)]


def test_the_points_of_the_drift_plot_are_the_drifts_of_a_frame_by_frame_list(
    tmp_path: Path,
) -> None:
    edition = plain(tmp_path)
    source = edition_page(edition)
    drawn = 0
    for making in edition.makings:
        figure = drift_figure(making.plan)
        if making.name == "mixed":
            assert figure is None
            continue
        assert figure is not None
        assert f'd="{figure.path}"' in source
        # Read as a person does: by the lines of no drift and of half an output frame.
        middle = float(figure.none.rstrip("%"))
        above = next(mark for mark in figure.bounds if mark.label.startswith("+"))
        whole = float(above.label.removeprefix("+").removesuffix(" ms"))
        half = 500 / making.plan.conform.rate.fps
        assert whole == pytest.approx(float(half) * round(whole / half), abs=0.06)
        per_ms = (middle - float(above.at.rstrip("%"))) / (float(half) * round(whole / half))
        points = [
            (float(x), (middle - float(y) / 2) / per_ms, float(high))
            for x, y, high in re.findall(r"M([\d.]+) ([\d.]+)v([\d.]+)", figure.path)
        ]
        expected = list(drifts(edition, making))

        assert len(expected) == len(points)
        for (x, late, high), (pulse, pulses, drift) in zip(points, expected, strict=True):
            assert x == pytest.approx(1000 * pulse / pulses, abs=0.11)
            assert late == pytest.approx(drift, abs=0.1)
            assert high == 0
        drawn += len(points)

    assert drawn > 1_000
