"""Files in all layouts that YAML allows: a change of one field leaves every other byte where it was."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fitter.errors import FitterError
from fitter.stock.edit import AddLot, RemoveLot, SetField, edit, said_of
from fitter.stock.files import load_stock

BOM = "\ufeff"
VALUES = ["1 m", '"1 m, measured"', "'1 m'", "1 m, datasheet", '"1\\u0020m"']
NOTES = ["runs", "'a: b'", '"# no comment"', "a#b", "'it''s'", "ü, 2 x 4"]
COMMENTS = ["", "   # here", "  # a: b - c", " # 'quote"]


def block(number: int, indent: str, value: str, note: str, comment: str, apart: bool) -> list[str]:
    return [
        *([""] if apart else []),
        f"{indent}- id: r{number}{comment}",
        f"{indent}  kind: rod",
        f"{indent}  length: {value}{comment}",
        f"{indent}  note: {note}",
    ]


def flow(number: int, indent: str, value: str, note: str, comment: str, apart: bool) -> list[str]:
    quoted = [v if v[0] in "'\"" else f'"{v}"' for v in (value, note)]
    return [
        f"{indent}- {{id: r{number}, kind: rod, length: {quoted[0]},",
        f"{indent}   note: {quoted[1]}}}{comment}",
        *([f"{indent}# between"] if apart else []),
    ]


def folded(number: int, indent: str, value: str, note: str, comment: str, apart: bool) -> list[str]:
    plain = note.strip("'\"").replace("''", "'")
    return [
        f"{indent}-   id:   r{number}",
        f"{indent}    note: >-" + comment,
        f"{indent}      {plain}",
        f"{indent}      and more",
        *([""] if apart else []),
        f"{indent}    length:  {value}{comment}",
        f"{indent}    kind: rod",
    ]


LOT = st.tuples(
    st.sampled_from([block, flow, folded]),
    st.sampled_from(VALUES),
    st.sampled_from(NOTES),
    st.sampled_from(COMMENTS),
    st.booleans(),
)


@st.composite
def layouts(draw: st.DrawFn) -> str:
    indent = draw(st.sampled_from(["", "  ", "      "]))
    lines = [*draw(st.sampled_from([[], ["# head", ""], ["---"]])), "lots:" + draw(st.sampled_from(COMMENTS))]
    for number, (how, *given_) in enumerate(draw(st.lists(LOT, min_size=1, max_size=4))):
        lines += how(number, indent, *given_)
    lines += draw(st.sampled_from([[], ["# foot"], ["", ""]]))
    newline = draw(st.sampled_from(["\n", "\r\n"]))
    return draw(st.sampled_from(["", BOM])) + newline.join(lines) + draw(st.sampled_from(["", newline]))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("layouts")


def laid_down(folder: Path, text: str) -> Path:
    file = folder / "s.yaml"
    file.write_bytes(text.encode())
    return file


@settings(max_examples=100, deadline=None)
@given(text=layouts(), which=st.integers(0, 3))
@example(text="lots:\n- id: r0\n  kind: rod\n  length: 1 m", which=0)
def test_a_value_set_leaves_all_before_and_after_it_alone(folder: Path, text: str, which: int) -> None:
    file = laid_down(folder, text)
    lots = [lot.id for lot in load_stock(file).lots]
    lot = lots[which % len(lots)]
    edit(file, [SetField(lot, "length", "2.75 m, nameplate")])
    new = file.read_bytes().decode()
    head = new.index("2.75 m")
    assert text.startswith(new[:head].rstrip("\"' "))
    tail = new[head:].split("nameplate", 1)[1].lstrip("\"' ")
    assert text.endswith(tail)
    assert load_stock(file).lot(lot).ratings["length"].likely == 2.75


@settings(max_examples=100, deadline=None)
@given(text=layouts(), which=st.integers(0, 3))
def test_a_field_or_a_lot_more_adds_lines_and_takes_none(folder: Path, text: str, which: int) -> None:
    file = laid_down(folder, text)
    lots = [lot.id for lot in load_stock(file).lots]
    lot = lots[which % len(lots)]
    before = {each.id: said_of(each) for each in load_stock(file).lots}
    edit(
        file,
        [SetField(lot, "bin", "box"), SetField(lot, "diameter", "8 mm"), AddLot({"id": "n", "kind": "rod"})],
    )
    new = file.read_bytes().decode()
    kept = iter(new)
    assert all(sign in kept for sign in text)  # the old text is there still, sign by sign and in its order
    after = {each.id: said_of(each) for each in load_stock(file).lots}
    assert {k: v for k, v in after[lot].items() if k not in ("bin", "diameter")} == {
        k: v for k, v in before[lot].items() if k != "bin"
    }
    assert {k: v for k, v in after.items() if k not in (lot, "n")} == {
        k: v for k, v in before.items() if k != lot
    }
    if "\r\n" in text:
        assert new.count("\n") == new.count("\r\n")
    edit(file, [RemoveLot("n")])
    assert load_stock(file).lots[-1].id == lots[-1]


@pytest.mark.parametrize(
    "text",
    [
        "lots:\n- &a {id: a, kind: rod}\n- *a\n",
        "lots:\n- id: a\n  kind: rod\n  length: &l 1 m\n- id: b\n  kind: rod\n  length: *l\n",
        "lots:\n- &x\n  id: a\n  kind: rod\n- <<: *x\n  id: b\n",
    ],
)
def test_anchors_are_refused_in_words_and_nothing_is_written(folder: Path, text: str) -> None:
    file = laid_down(folder, text)
    with pytest.raises(FitterError, match=r"not edited here|anchors|aliases"):
        edit(file, [SetField("a", "bin", "x")])
    assert file.read_bytes().decode() == text


def test_tabs_are_kept_where_yaml_allows_them_and_said_where_not(folder: Path) -> None:
    file = laid_down(folder, "lots:\n- id: a\t# tab\n  kind:\trod\n  length: 1 m\t# tab\n")
    edit(file, [SetField("a", "length", "2 m")])
    assert file.read_bytes().decode() == "lots:\n- id: a\t# tab\n  kind:\trod\n  length: 2 m\t# tab\n"
    text = "lots:\n- id: a\n\tkind: rod\n"
    file = laid_down(folder, text)
    with pytest.raises(FitterError, match="not valid YAML"):
        edit(file, [SetField("a", "length", "2 m")])
    assert file.read_bytes().decode() == text
