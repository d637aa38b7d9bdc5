"""What ``scripts/bench`` makes of figures: its table, the JSON, and the README's table of them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from benching.curves import a_frame
from benching.figures import Part, read_figures, write_figures
from benching.readme import BEGIN, END, figures_told, rewrite_readme, rewritten
from benching.rows import table
from benching.timing import BenchError
from measures import measured
from msgspec.structs import replace

SCRIPTS = Path(__file__).parents[2] / "scripts"


def cells(line: str) -> list[str]:
    """Return a Markdown row's cells, a bar being escaped by a backslash (GitHub Flavored Markdown).

    The specification, "Tables (extension)": a pipe inside a cell is escaped.
    """
    return [cell.strip() for cell in line.replace("\\|", "\0").split("|")[1:-1]]


def test_the_table_tells_medians_their_range_and_whether_bounds_are_kept() -> None:
    rows = [cells(line) for line in table(measured().rows).splitlines()[2:]]

    assert ["the lamp lit", "2 x", "1 to 3", "at most 1.5 x", "**no**"] == rows[0]
    assert ["the same: on one core", "2 s", "one run", "none", ""] == rows[1]
    assert ["the stair climbed", "1.75 x", "1.5 to 2.5", "at least 1.7 x", "yes"] == rows[2]
    assert {5} == set(map(len, rows))


def test_figures_that_are_written_are_read_again(tmp_path: Path) -> None:
    written = measured()
    write_figures(written, tmp_path / "figures.json")

    assert written == read_figures(tmp_path / "figures.json")
    assert ["figures.json"] == [path.name for path in tmp_path.iterdir()]


def test_the_json_tells_what_is_reckoned_too(tmp_path: Path) -> None:
    write_figures(measured(), tmp_path / "figures.json")
    told = json.loads((tmp_path / "figures.json").read_text(encoding="utf-8"))
    first = told["parts"][0]["rows"][0]

    assert (2.0, False, "at most 1.5 x") == (first["figure"], first["ok"], first["bound"])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "figures.json: "),
        ("[]", "figures.json: "),
        ("{}", "figures.json: "),
        ('{"figures": [1', "figures.json: "),
        (None, "No such file"),
    ],
)
def test_what_are_no_figures_is_refused_by_name(
    tmp_path: Path, text: str | None, said: str
) -> None:
    path = tmp_path / "figures.json"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    with pytest.raises(BenchError, match=said):
        read_figures(path)


def test_a_row_without_figures_and_another_format_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "figures.json"
    write_figures(measured(), path)
    whole = path.read_text(encoding="utf-8")
    told = json.loads(whole)
    told["parts"][2]["rows"][1]["figures"] = []
    path.write_text(json.dumps(told), encoding="utf-8")
    with pytest.raises(BenchError, match=r"no figure.*parts.*rows"):
        read_figures(path)
    path.write_text(whole.replace("retime-measures/1", "retime-measures/9"), encoding="utf-8")
    with pytest.raises(BenchError, match="retime-measures/9"):
        read_figures(path)


def test_the_readme_has_its_table_between_the_marks_and_nothing_else_changes() -> None:
    text = f"# One\n\n{BEGIN}\nwhat was | there\n{END}\n\nlast words"
    once = rewritten(text, measured())
    before, _, rest = once.partition(BEGIN)
    between, _, after = rest.partition(END)

    assert ("# One\n\n", "\n\nlast words") == (before, after)
    assert figures_told(measured()) == between.strip("\n")
    assert "what was" not in once
    assert once == rewritten(once, measured())


def test_the_readme_tells_what_is_promised_and_what_is_to_be_read() -> None:
    lines = figures_told(measured()).splitlines()
    rows = [cells(line) for line in lines if line.startswith("|")][2:]

    assert ["the lamp lit", "2 x (1 to 3)", "at most 1.5 x: **missed**"] == rows[0]
    assert ["the stair climbed", "1.75 x (1.5 to 2.5)", "at least 1.7 x"] == rows[1]
    assert ["steps counted, to be read", "1,234 MB", ""] == rows[3]
    assert ["memory", "1 MB", "at most 400 MB"] == rows[4]
    assert 5 == len(rows)
    assert {3} == set(map(len, rows))
    assert "Not measured to the end: fog." == lines[-1]
    assert "lighthouse" not in "".join(lines), "a machine's own name is nobody's concern"


@pytest.mark.parametrize("text", ["", BEGIN, END, f"{END}{BEGIN}", f"{BEGIN}{END}{BEGIN}{END}"])
def test_a_readme_without_its_two_marks_is_left_as_it_is(tmp_path: Path, text: str) -> None:
    path = tmp_path / "README.md"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BenchError, match=r"README\.md: has the mark"):
        rewrite_readme(measured(), path)

    assert text == path.read_text(encoding="utf-8")


def test_a_quick_looks_figures_do_not_go_into_a_readme(tmp_path: Path) -> None:
    path = tmp_path / "README.md"
    path.write_text(f"{BEGIN}\n{END}\n", encoding="utf-8")
    with pytest.raises(BenchError, match="quick look"):
        rewrite_readme(measured(scale="small"), path)


def test_lengths_are_compared_without_what_the_start_costs() -> None:
    # Three seconds for the start, and a hundredth for each frame.
    assert pytest.approx(0.01) == a_frame(4, 3, 100) == a_frame(19, 3, 1600)
    assert 0 < a_frame(3, 3.5, 100)


def test_saved_figures_make_table_page_and_readme_and_nothing_is_measured(tmp_path: Path) -> None:
    write_figures(measured(), tmp_path / "figures.json")
    (tmp_path / "README.md").write_text(f"{BEGIN}\n{END}\n", encoding="utf-8")
    asked = ("--from", "figures.json", "--page", "page.html", "--readme", "README.md")
    ran = bench(tmp_path, *asked)

    assert 2 == ran.returncode, "one benchmark did not come to its end"
    assert "" == ran.stderr
    assert table(measured().rows) in ran.stdout
    assert "the lamp lit" in (tmp_path / "README.md").read_text(encoding="utf-8")
    assert {"figures.json", "page.html", "README.md"} == {one.name for one in tmp_path.iterdir()}


def test_a_run_goes_on_with_what_an_earlier_one_has_measured(tmp_path: Path) -> None:
    path = tmp_path / "figures.json"
    asked = ("--scale", "small", "--runs", "1", "--json", str(path), "--go-on", "--only", "help")
    first = bench(tmp_path, *asked)
    figures = read_figures(path)
    told = Part(bench="mix", begun="2026-11-29", runs=4, rows=measured().parts[0].rows)
    hoarse = Part(bench="fog", begun="2026-11-29", runs=4, failed="the horn is hoarse")
    write_figures(replace(figures, parts=[hoarse, told, *figures.parts]), path)
    again = bench(tmp_path, *asked)
    elsewhere = dict(figures.machine, Python="2.7")
    write_figures(replace(figures, machine=elsewhere), path)
    refused = bench(tmp_path, *asked)

    assert {first.returncode, again.returncode} <= {0, 1}, first.stderr + again.stderr
    assert "the lamp lit" in again.stdout
    assert "medians of 1 to 4 rounds" in again.stdout
    assert "hoarse" not in again.stdout
    assert 2 == refused.returncode
    assert "other versions: begin anew, without --go-on" in refused.stderr
    assert elsewhere == read_figures(path).machine


def bench(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "benching", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(SCRIPTS)},
        capture_output=True,
        text=True,
        check=False,
    )
