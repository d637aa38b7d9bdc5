"""A document is changed where it is asked to be, and is the same everywhere else."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.yamldoc.changes import Change, changed
from retime.yamldoc.rewriting import Rewriting
from retime.yamldoc.scalars import bracketed, written
from retime.yamldoc.spans import spans_of

PATH = Path("odd.yaml")

ODD = """\
# ü𝄞: before all
plain :   20 fps   # behind
single: 'it''s'
double: "a \\u00e9 b"
block: >-
  18
  fps

# under the block
several: one
  text
flow: {a: 1, 'b': "2" , c: [x, {y: z}]}   # so
open: {   # opened
  a: 1,   # one
  b: 2,
  c: 3    # three
  }   # closed
deep:
  - k: v     # first
    l: &name w
  -   - inner
    # between
  - m: *name
empty: {}
? asked
: answered
last: &alone end"""


def rewritten(*changes: tuple[object, ...], text: str = ODD) -> str:
    rewriting = Rewriting(text, PATH)
    for how, *arguments in changes:
        getattr(rewriting, str(how))(*arguments)
    return rewriting.result()


CASES = [
    # what is done, what stands there, and what stands there then
    (("set_value", ("plain",), "x"), "plain :   20 fps   #", "plain :   x   #"),
    (("set_value", ("single",), "don't"), "'it''s'", "'don''t'"),
    (("set_value", ("double",), "é\\"), '"a \\u00e9 b"', '"é\\\\"'),
    (("set_value", ("block",), "x"), ">-\n  18\n  fps\n", "x\n"),
    (("set_value", ("several",), "x: y"), "one\n  text", "'x: y'"),
    (("set_value", ("flow", "b"), "x"), '"2"', '"x"'),
    (("set_value", ("flow", "c", 1, "y"), "a, b"), "{y: z}", "{y: 'a, b'}"),
    (("set_value", ("flow", "c"), "x"), "[x, {y: z}]", "x"),
    (("set_value", ("deep", 2, "m"), "x"), "*name", "x"),
    (("set_value", ("last",), "x"), "&alone end", "&alone x"),
    (("set_value", ("asked",), "# no"), ": answered", ": '# no'"),
    (("set_key", ("flow", "b"), "d"), "'b': ", "'d': "),
    (("set_key", ("asked",), "told"), "? asked", "? told"),
    (("add", ("flow",), "n", "5"), "{y: z}]}", "{y: z}], n: 5}"),
    (("add", ("open",), "n", "5"), "  c: 3    #", "  c: 3, n: 5    #"),
    (("add", ("open",), "n", "5", "a"), "  a: 1,", "  a: 1, n: 5,"),
    (("add", ("empty",), "1/2-3", "5"), "{}", "{1/2-3: 5}"),
    (("add", ("deep", 0), "n", "{o: p}"), "&name w\n", "&name w\n    n: {o: p}\n"),
    (("add", (), "n", "5"), "&alone end", "&alone end\nn: 5"),
    (("add", (), "n", "5", "asked"), ": answered\n", ": answered\nn: 5\n"),
    (("remove", ("flow",), ["a"]), "{a: 1, 'b'", "{'b'"),
    (("remove", ("flow",), ["c"]), '"2" , c: [x, {y: z}]}', '"2"}'),
    (("remove", ("flow",), ["a", "b"]), "a: 1, 'b': \"2\" , c", "c"),
    (("remove", ("open",), ["b"]), "  b: 2,\n", ""),
    (("remove", ("open",), ["c"]), "  c: 3    # three\n", ""),
    (("remove", (), ["plain", "block"]), None, None),
    (("remove", (), ["asked"]), "? asked\n: answered\n", ""),
    (("remove_items", ("deep",), [1]), "  -   - inner\n", ""),
    (("remove_items", ("flow", "c"), [0]), "[x, {", "[{"),
    (
        ("copy_item", ("deep",), 2, {"m": "new"}),
        "  - m: *name\n",
        "  - m: *name\n  - m: new\n",
    ),
    (("copy_item", ("flow", "c"), 1, {"y": "q"}), "{y: z}]", "{y: z}, {y: q}]"),
]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize(("change", "old", "new"), CASES, ids=str)
def test_a_change_changes_its_own_place_alone(
    change: tuple[object, ...], old: str | None, new: str | None, end: str
) -> None:
    text = ODD.replace("\n", end)
    if old is None or new is None:
        gone = ("plain :   20 fps   # behind\n", "block: >-\n  18\n  fps\n")
        expected = ODD.replace(gone[0], "").replace(gone[1], "").replace("\n", end)
    else:
        assert ODD.count(old) == 1
        expected = text.replace(old.replace("\n", end), new.replace("\n", end))

    made = rewritten(change, text=text)

    assert expected == made
    yaml.load(made, Loader=yaml.CBaseLoader)  # noqa: S506 - texts alone


REFUSED: list[tuple[tuple[object, ...], str]] = [
    (("set_value", ("deep", 0, "l"), "x"), '20:8: "deep.0.l" holds what is named &name and used'),
    (("set_value", ("deep", 0), "x"), '19:5: "deep.0" holds what is named &name'),
    (("remove", ("deep", 0), ["l"]), '20:8: "deep.0.l" holds what is named &name'),
    (("remove_items", ("deep",), [0]), '"deep.0" holds what is named &name'),
    (("copy_item", ("deep",), 0, {}), '"deep.0" holds what is named &name'),
    (("one_line", ("deep", 0)), '"deep.0" holds what is named &name'),
    (("remove", ("flow",), ["a", "b", "c"]), "nothing would be left here"),
    (("remove", ("deep", 0), ["k"]), "a part of this cannot be taken out without what stands besi"),
    (("one_line", ("several",)), "10:10: this is written in several lines"),
]


@pytest.mark.parametrize(("change", "told"), REFUSED, ids=str)
def test_what_would_touch_something_else_is_refused_at_its_line(
    change: tuple[object, ...], told: str
) -> None:
    with pytest.raises(DocumentError) as caught:
        rewritten(change)

    assert told in str(caught.value)
    assert str(caught.value).startswith("odd.yaml:")


def test_what_is_taken_out_and_what_is_added_do_not_meet() -> None:
    made = rewritten(
        ("remove", ("flow",), ["c"]), ("add", ("flow",), "n", "1"), ("add", ("flow",), "o", "2")
    )

    assert ODD.replace(" , c: [x, {y: z}]}", ", n: 1, o: 2}") == made


def test_changes_that_meet_are_a_mistake_of_ours() -> None:
    with pytest.raises(ValueError, match="two changes meet at character 1"):
        changed("abc", [Change(0, 2, "x"), Change(1, 3, "y")])


def test_every_scalar_spans_what_it_is_read_from() -> None:
    for span in spans_of(ODD).within():
        if span.text is not None:
            text = ODD[span.content : span.stop]
            assert span.text == yaml.load(text, Loader=yaml.CBaseLoader)  # noqa: S506


@given(
    st.text(
        st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Co", "Cn", "Zl", "Zp"]),
        min_size=1,
    ),
    st.sampled_from(["", "'", '"']),
    st.booleans(),
    st.booleans(),
)
@example(text="y", style="", flow=False, key=True)
@example(text="x", style="", flow=True, key=True)
@settings(max_examples=150, deadline=None)
def test_a_scalar_is_read_as_what_was_to_be_written(
    text: str,
    style: str,
    flow: bool,  # noqa: FBT001 - drawn
    key: bool,  # noqa: FBT001 - the same
) -> None:
    if "\ufeff" in text or (key and len(text) > 100):  # YAML's own bounds for keys on one line
        return
    scalar = written(text, style, flow=flow, key=key)
    pair = f"{scalar}: x" if key else f"x: {scalar}"

    read = yaml.load(f"{{{pair}}}" if flow else pair, Loader=yaml.CBaseLoader)  # noqa: S506

    assert ({text: "x"} if key else {"x": text}) == read


def test_bracketed_pairs_quote_keys_that_need_it() -> None:
    assert "{1/2-3: 18 fps, '1/a, b': 20}" == bracketed({"1/2-3": "18 fps", "1/a, b": "20"})
