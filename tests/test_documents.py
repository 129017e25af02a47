"""Reading YAML with places: what is plain is kept, what is not is marked where it stands."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitter import documents
from fitter.documents import Bad, Fields, Items, Node, Text, line_of, nearest, read_text, read_yaml, visible
from fitter.errors import FitterError


def read(folder: Path, text: str) -> Node:
    file = folder / "a.yaml"
    file.write_bytes(text.encode())
    return read_yaml(file, "lots")


def plain(node: Node) -> object:
    """A document without places."""
    if isinstance(node, Fields):
        return {name: plain(value) for name, value in node.items()}
    if isinstance(node, Items):
        return [plain(value) for value in node]
    assert isinstance(node, Text)
    return node.text


def as_fields(node: Node) -> Fields:
    assert isinstance(node, Fields)
    return node


def test_values_stay_as_written_and_know_their_lines(tmp_path: Path) -> None:
    text = "a: 010\n\nb:\n  - yes\n  - {c: 1.50,\n     d: ' x '}\ne: []\nf: {}\n"
    document = as_fields(read(tmp_path, text))
    assert plain(document) == {"a": "010", "b": ["yes", {"c": "1.50", "d": "x"}], "e": [], "f": {}}
    lines = {name: line_of(node) for name, node in document.items()}
    assert lines == {"a": 1, "b": 4, "e": 7, "f": 8}
    inner = document["b"]
    assert isinstance(inner, Items)
    assert [line_of(node) for node in inner] == [4, 5]
    assert line_of(as_fields(inner[1])["d"]) == 6


@pytest.mark.parametrize("empty", ["a:", "a: ~", "a: null", "a: ''", "a:   # nothing"])
def test_nothing_is_empty_text(tmp_path: Path, empty: str) -> None:
    assert plain(read(tmp_path, empty)) == {"a": ""}


def test_a_quoted_null_is_a_word(tmp_path: Path) -> None:
    assert plain(read(tmp_path, "a: 'null'")) == {"a": "null"}


@pytest.mark.parametrize(
    ("text", "name", "line", "problem"),
    [
        ("a: 1\nb: &x 2\n", "b", 2, "anchors"),
        ("a: 1\nb: &x {c: 1}\n", "b", 2, "anchors"),
        ("a: &x 1\nb: *x\n", "b", 2, "aliases"),
        ("a: 1\nb: !!set {c}\n", "b", 2, "tags"),
        ("a: 1\nb: ! x\n", "b", 2, "tags"),
        ("a: 1\nb: 2\na: 3\n", "a", 3, "'a' stands twice, first in line 1"),
        ("a: 1\n? {b: c}\n: 3\n", "line 2", 2, "a name is expected"),
        ("a: 1\n'': 3\n", "line 2", 2, "a name is expected"),
        ("a: 1\nb: [[[[[[[[[x]]]]]]]]]\n", "", 2, "nested too deeply"),
    ],
)
def test_what_is_not_plain_is_marked_and_the_rest_is_read(
    tmp_path: Path, text: str, name: str, line: int, problem: str
) -> None:
    document = as_fields(read(tmp_path, text))
    assert "a" in document
    bad: Node = document[name] if name else document["b"]
    while isinstance(bad, Items):
        (bad,) = bad
    assert isinstance(bad, Bad)
    assert line_of(bad) == line
    assert problem in bad.error.problem
    assert bad.error.expected


def test_depth_is_bounded_without_recursion(tmp_path: Path) -> None:
    """Parsers that compose first recurse; this one must not, whatever the depth that the library takes."""
    for depth in (documents.DEEPEST, 50, 400):
        document = read(tmp_path, "[" * depth + "]" * depth)
        levels = 0
        while isinstance(document, Items) and document:
            (document,) = document
            levels += 1
        assert levels == min(depth - 1, documents.DEEPEST)
        assert isinstance(document, Bad) == (depth > documents.DEEPEST)
    with pytest.raises(FitterError):
        read(tmp_path, "[" * 200_000)


def test_doubling_aliases_cost_nothing(tmp_path: Path) -> None:
    text = "a0: &a0 x\n" + "".join(f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]\n" for i in range(1, 60))
    start = time.perf_counter()
    document = as_fields(read(tmp_path, text))
    assert time.perf_counter() - start < 2.0
    assert all(isinstance(node, Bad) for node in document.values())


def test_a_read_is_bounded_by_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(documents, "LARGEST_FILE", 10)
    file = tmp_path / "a.txt"
    file.write_text("0123456789")
    assert read_text(file) == "0123456789"
    file.write_text("01234567890")
    with pytest.raises(FitterError, match="too large"):
        read_text(file)


def test_a_folder_or_a_missing_file_is_one_clear_error(tmp_path: Path) -> None:
    with pytest.raises(FitterError, match="cannot be read: Is a directory"):
        read_text(tmp_path)
    with pytest.raises(FitterError, match="cannot be read: No such file"):
        read_text(tmp_path / "none")


@pytest.mark.skipif(os.name == "nt", reason="names of files are text there")
def test_a_name_that_is_not_text_can_be_shown(tmp_path: Path) -> None:
    file = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff\x1b.yaml"))
    with pytest.raises(FitterError) as caught:
        read_yaml(file, "lots")
    assert str(caught.value).startswith(f"{tmp_path}/\\xff\\x1b.yaml: cannot be read")


def test_the_parser_without_its_c_part_says_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = 'a: 1\nb: [x, {c: "d"}]\ne: &f 2\na: 3\n'
    with_c = read(tmp_path, text)
    monkeypatch.setattr(documents, "_LOADER", yaml.SafeLoader)
    assert repr(read(tmp_path, text)) == repr(with_c)


SCALARS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=12)
TREES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(SCALARS.filter(str.strip), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(st.sampled_from("abcdef"), TREES, min_size=1))
def test_what_a_dumper_writes_is_read_back(tmp_path: Path, tree: dict[str, object]) -> None:
    """The library's own dumper is the judge."""
    file = tmp_path / "a.yaml"
    file.write_text(yaml.safe_dump(tree, default_style='"', allow_unicode=True), encoding="utf-8")
    document = read_yaml(file, "a")
    assert _same(tree, document)


def _same(value: object, node: Node) -> bool:
    """Whether a value is what a node holds: text cleaned of what is hidden, all names there."""
    if isinstance(node, Bad):
        return True
    if isinstance(value, dict) and isinstance(node, Fields):
        return len(node) <= len(value) and all(
            documents.one_line(name) not in node or _same(inner, node[documents.one_line(name)])
            for name, inner in value.items()
        )
    if isinstance(value, list) and isinstance(node, Items):
        return len(value) == len(node) and all(map(_same, value, node))
    return isinstance(value, str) and isinstance(node, Text) and documents.clean(value) == node.text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain [red]text[/red] µΩ°", "plain [red]text[/red] µΩ°"),
        ("\x1b[31mred\x1b[0m", "\\x1b[31mred\\x1b[0m"),
        ("bell\x07 back\x08", "bell\\x07 back\\x08"),
        ("a\u202eb\u2066c\u200f", "a\\u202eb\\u2066c\\u200f"),
        ("a\nb\tc\rd", "a\\nb\\tc\\rd"),
        ("half \udcff", "half \\udcff"),
    ],
)
def test_control_characters_are_written_out(text: str, shown: str) -> None:
    assert visible(text) == shown


@given(st.text())
def test_shown_text_is_harmless(text: str) -> None:
    shown = visible(text)
    shown.encode()
    assert not any(ord(c) < 32 or 127 <= ord(c) < 160 or c in "\u202e\u2028" for c in shown)


def test_nearest_name() -> None:
    assert nearest("resistnce", ["resistance", "reactance"]) == "did you mean 'resistance'?"
    assert nearest("zz", ["b", "a", "a"]) == "known: a, b"
    assert nearest("zz", []) == "there is none yet"
    many = nearest("x500", [f"name {i}" for i in range(1000)])
    assert many.startswith("there are 1000, the nearest: ")
    assert len(many) < 120
