"""``retime weigh`` as the whole program: what it prints, what it writes, and what it refuses."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

import jsonschema
import pytest
from running import LAMP, contents, unfinished

from retime.cli.result_file import check_result, write_result
from retime.errors import OutputError
from retime.report.weighing_schema import weighing_schema
from retime.speedmap import reading

if TYPE_CHECKING:
    from running import Program

pytest_plugins = ["at_the_desk"]

DEMO = Path(__file__).parents[2] / "demo_media"

EVIDENCE = """\
format: retime-evidence/1
film: Lamp
gauge: 35mm
length: 6000 ft
candidates: [18 fps, 20 fps, 22 fps]
evidence:
  - id: letter
    kind: instruction
    speed: 75 ft/min within 2 ft/min
    trust: 0.8
    source: the producer's letter
  - id: crank
    kind: camera
    speed: 18 fps within 0.5 fps
    trust: 0.9
    source: the cameraman's daybook
"""

SLOW = LAMP[LAMP.index("versions:") :]


@pytest.fixture
def given(tmp_path: Path) -> Path:
    path = tmp_path / "evidence.yaml"
    path.write_text(EVIDENCE)
    return path


def test_a_table_is_printed_with_the_answers_first(given: Path, retime: Program) -> None:
    ran = retime("weigh", given)

    assert 0 == ran.code, ran.said
    # 75 ft a minute are 20 fps: EIDR knowledge base, Durations.
    assert "Taken at about 18, shown at about 20: two answers." in ran.out
    assert ran.out.index("two answers") < ran.out.index("the producer's letter")
    assert "" == ran.err


def test_json_is_printed_for_programs(given: Path, retime: Program) -> None:
    ran = retime("weigh", given, "--format", "json")
    told = json.loads(ran.out)

    assert 0 == ran.code, ran.said
    jsonschema.validate(told, weighing_schema())
    assert [["18"], ["20"]] == [one["presentable"] for one in told["answers"]]


def test_the_schema_of_a_weighing_can_be_asked_for(retime: Program) -> None:
    ran = retime("schema", "weighing")

    assert 0 == ran.code
    assert "retime-weighing/1" == json.loads(ran.out)["title"]


@pytest.mark.parametrize("form", ["table", "json", "html"])
def test_a_result_goes_into_a_file_and_nothing_else_is_printed(
    form: str, given: Path, tmp_path: Path, retime: Program
) -> None:
    ran = retime("weigh", given, "--format", form, "-o", tmp_path / "told")

    assert (0, "", f"{tmp_path / 'told'}: written\n") == (ran.code, ran.out, ran.err)
    assert "the producer" in (tmp_path / "told").read_text()
    assert [] == unfinished(tmp_path)
    assert ["evidence.yaml", "told"] == sorted(contents(tmp_path))


def test_the_demo_is_weighed_and_its_draft_can_be_read(tmp_path: Path, retime: Program) -> None:
    page, draft = tmp_path / "told.html", tmp_path / "draft.yaml"
    ran = retime(
        "weigh", DEMO / "evidence.yaml", "--format", "html", "-o", page, "--draft-map", draft
    )

    assert 0 == ran.code, ran.said
    drafted = reading.load(draft)
    assert 0 == retime("lint", draft).code
    assert len(drafted.versions) == len(drafted.deliverables) > 1
    whole = page.read_text()
    assert whole.startswith("<!DOCTYPE html>")
    assert whole.endswith("</html>\n")


def test_a_draft_is_written_beside_what_is_printed(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    ran = retime("weigh", given, "--draft-map", tmp_path / "draft.yaml")

    assert 0 == ran.code, ran.said
    assert "two answers" in ran.out
    drafted = reading.load(tmp_path / "draft.yaml")
    assert ["taking-18", "showing-20"] == list(drafted.versions)


def refused(retime: Program, folder: Path, *arguments: object) -> str:
    """Hold a refusal against what all keep to: nothing is changed, a message, exit code 2."""
    before = contents(folder)
    ran = retime("weigh", *arguments)

    assert 2 == ran.code, ran.said
    assert "" == ran.out
    assert before == contents(folder)
    assert "Traceback" not in ran.err
    return ran.err


def test_a_page_needs_a_file(given: Path, tmp_path: Path, retime: Program) -> None:
    said = refused(retime, tmp_path, given, "--format", "html")

    assert "a page goes into a file; name it with -o, such as -o weighing.html\n" == said


def test_evidence_that_is_away_or_no_evidence_is_refused(tmp_path: Path, retime: Program) -> None:
    (tmp_path / "bad.yaml").write_text("film: [Lamp\n")
    (tmp_path / "binary").write_bytes(bytes(range(256)))

    assert "no.yaml: the file cannot be read: no such file" in refused(
        retime, tmp_path, tmp_path / "no.yaml"
    )
    assert "cannot be read: is a directory" in refused(retime, tmp_path, tmp_path)
    assert "bad.yaml:2:1: this is not YAML" in refused(retime, tmp_path, tmp_path / "bad.yaml")
    assert "is not UTF-8" in refused(retime, tmp_path, tmp_path / "binary")


def test_every_mistake_of_the_evidence_is_told_and_nothing_is_written(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    given.write_text(EVIDENCE.replace("0.8", "1.8").replace("75 ft/min within 2 ft/min", "75 mph"))
    draft = ("--draft-map", tmp_path / "draft.yaml")
    said = refused(retime, tmp_path, given, "-o", tmp_path / "told", *draft).splitlines()

    assert ["9", "10"] == [line.split(":")[1] for line in said]


@pytest.mark.parametrize("option", ["-o", "--draft-map"])
def test_what_exists_is_overwritten_only_when_asked(
    option: str, given: Path, tmp_path: Path, retime: Program
) -> None:
    final = tmp_path / "mine.txt"
    final.write_text("mine")
    said = refused(retime, tmp_path, given, option, final)

    assert f"{final}: exists already; use --force to overwrite it\n" == said
    assert 0 == retime("weigh", given, option, final, "--force").code
    assert "Lamp" in final.read_text()


@pytest.mark.parametrize("option", ["-o", "--draft-map"])
@pytest.mark.parametrize("force", [(), ("--force",)], ids=["unasked", "forced"])
def test_no_input_is_ever_overwritten(
    force: tuple[str, ...], option: str, given: Path, tmp_path: Path, retime: Program
) -> None:
    given.write_text(f"{EVIDENCE}map: lamp.yaml\n")
    (tmp_path / "lamp.yaml").write_text(LAMP[: LAMP.index("shots:")] + "shots: shots.csv\n" + SLOW)
    (tmp_path / "shots.csv").write_text("reel,first,last,shot\n1,0,23,1\n")
    (tmp_path / "same").symlink_to("lamp.yaml")
    os.link(given, tmp_path / "linked")

    assert 0 == retime("weigh", given).code
    for name in ("evidence.yaml", "lamp.yaml", "shots.csv", "same", "linked"):
        said = refused(retime, tmp_path, given, option, tmp_path / name, *force)
        assert f"{tmp_path / name}: is one of the inputs; write to another file\n" == said


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("away/told", "is in a folder that is not there; make the folder first"),
        ("evidence.yaml/told", "is in a folder that is not there; make the folder first"),
        (".", "is a folder; name a file in it"),
        ("x" * 300, "cannot be written: file name too long"),
    ],
)
def test_where_nothing_can_be_written_nothing_is_weighed(
    name: str, words: str, given: Path, tmp_path: Path, retime: Program
) -> None:
    said = refused(retime, tmp_path, given, "-o", tmp_path / name, "--force")

    assert f"{tmp_path / name}: {words}\n" == said


def test_two_results_are_not_written_into_one_file(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    both = ("-o", tmp_path / "one", "--draft-map", tmp_path / "." / "one")

    assert "both name" in refused(retime, tmp_path, given, *both)


def test_where_one_of_two_results_may_not_be_written_neither_is(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    (tmp_path / "mine").write_text("mine")

    for first, second in (("-o", "--draft-map"), ("--draft-map", "-o")):
        both = (first, tmp_path / "free", second, tmp_path / "mine")
        assert "mine: exists already" in refused(retime, tmp_path, given, *both)


def test_where_no_speed_is_worth_presenting_nothing_is_drafted_or_written(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    given.write_text(EVIDENCE.replace("[18 fps, 20 fps, 22 fps]", "[28 fps]"))
    both = ("-o", tmp_path / "told", "--draft-map", tmp_path / "draft.yaml")

    assert "none of the candidates is worth presenting" in refused(retime, tmp_path, given, *both)


def test_what_cannot_be_written_is_told_and_nothing_is_lost(
    given: Path, tmp_path: Path, retime: Program
) -> None:
    (tmp_path / "told").write_text("mine")
    (tmp_path / ".told.unfinished").mkdir()  # where root may write everywhere, this it may not
    said = refused(retime, tmp_path, given, "-o", tmp_path / "told", "--force")

    assert said.startswith(f"{tmp_path / 'told'}: cannot be written: ")


def test_a_result_that_cannot_be_finished_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    final = tmp_path / "told"
    final.write_text("mine")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    check_result(final, [], force=True)
    with pytest.raises(OutputError, match="told: cannot be written: no space left on device"):
        write_result(final, "text")

    assert "mine" == final.read_text()
    assert [] == unfinished(tmp_path)


def test_a_link_with_the_name_of_unfinished_work_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "other").write_text("mine")
    (tmp_path / ".told.unfinished").symlink_to("other")
    write_result(tmp_path / "told", "text")

    assert ("mine", "text") == ((tmp_path / "other").read_text(), (tmp_path / "told").read_text())


def test_warnings_are_told_unless_asked_to_be_quiet(given: Path, retime: Program) -> None:
    given.write_text(EVIDENCE.replace("0.8", "0"))
    loud, quiet = retime("weigh", given), retime("--quiet", "weigh", given)

    assert "evidence.yaml:10:12: warning: letter has no trust" in loud.err
    assert "" == quiet.err
    assert loud.out == quiet.out
    assert 0 == loud.code == quiet.code
