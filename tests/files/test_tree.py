import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.errors import Mistakes
from demoule.files import DEMO_FILES, demo_text, desserts_of, edited
from demoule.files.text import LARGEST, read_text, text_of
from demoule.files.tree import _read, read_trees, respelt
from demoule.files.writing import scalar
from demoule.larder import standard_larder


def said(text):
    with pytest.raises(Mistakes) as caught:
        read_trees(text, "d.yaml")
    return [(m.line, m.column, m.says) for m in caught.value.mistakes]


def test_values_are_those_of_yaml_1_2():
    tree = read_trees("a: yes\nb: on\nc: 012\nd: 12:30\ne: 1e3\nf: null\ng:\nh: true\ni: 2026-05-02\nj: '7'\n", "d")[0]
    assert tree.value == {
        "a": "yes",
        "b": "on",
        "c": 12,
        "d": "12:30",
        "e": 1000.0,
        "f": None,
        "g": None,
        "h": True,
        "i": "2026-05-02",
        "j": "7",
    }


def test_every_key_and_value_has_its_place():
    tree = read_trees("a: 1 # one\nb:\n  - {c: 2 g, d: 3}\n  - e\n", "d")[0]
    assert (tree.keys[("b", 0, "d")].line, tree.keys[("b", 0, "d")].column) == (3, 14)
    assert (tree.values[("b", 1)].line, tree.values[("b", 1)].column) == (4, 5)
    place = tree.place(("b", 0, "<tag>", "c", "deeper"))
    assert (place.line, place.column) == (3, 9)


def test_a_file_may_hold_several_documents():
    assert [tree.value for tree in read_trees("a: 1\n---\nb: 2\n---\n", "d")] == [{"a": 1}, {"b": 2}]


FORM = [
    ("a: 1\na: 2\nb: 1\nb: 3\n", [(2, 1, "second time"), (4, 1, "second time")]),
    ("a:\n\t- b\n\t- c\n", [(2, 1, "tab"), (3, 1, "tab")]),
    ("a: x\ty\n", [(1, 5, "tab")]),
    ("a: !foo 1\nb: !!python/object:os.system x\n", [(1, 4, "type mark"), (2, 4, "type mark")]),
    ("a: &x 1\nb: *x\n", [(1, 4, "reference mark"), (2, 4, "reference")]),
    ("*a : 1\n", [(1, 1, "reference")]),
    ("{*a : 1, b: 2}\n", [(1, 2, "reference")]),
    ("<<: *a\n", [(1, 5, "reference")]),
    ("a: [1, 2\nb: 3\n", [(2, 2, "closing bracket")]),
    ("a: {b: c\nd: e\n", [(2, 2, "closing brace")]),
    ("a: b: c\n", [(1, 5, "colon cannot stand")]),
    ("a: 1\n b: 2\n", [(2, 3, "colon cannot stand")]),
    ("  a: 1\nb: 2\n", [(2, 1, "further left")]),
    ("a:\n  - b\n c: 1\n", [(3, 2, "indentation fits no line")]),
    ("a: 'x\n", [(1, 4, "quotation mark")]),
    ("a: @foo\n", [(1, 4, "cannot begin")]),
    ("? [a]\n: b\n", [(1, 3, "name is expected")]),
    ("a: " + "[" * 100_000, [(1, 19, "deeper than 16")]),
    ("", [(1, 1, "empty")]),
    ("# only a comment\n", [(1, 1, "empty")]),
    ("---\n---\n", [(1, 1, "empty")]),
]


@pytest.mark.parametrize(("text", "expected"), FORM)
def test_mistakes_of_form_are_told_where_they_are(text, expected):
    found = said(text)
    assert [(line, column) for line, column, _ in found] == [(line, column) for line, column, _ in expected]
    for (_, _, says), (_, _, part) in zip(found, expected, strict=True):
        assert part in says


def test_a_nest_of_references_does_not_unfold():
    levels = "\n".join(f"b{k}: &b{k} [{', '.join([f'*b{k - 1}'] * 9)}]" for k in range(1, 12))
    found = said(f"b0: &b0 [lol]\n{levels}\n")
    assert all("reference" in says for _, _, says in found)


BYTES = [
    ("a: é\n".encode("utf-16"), "UTF-16"),
    ("a: bcd\n".encode("utf-16-le"), "UTF-16"),
    ("a: bcd\n".encode("utf-32"), "UTF-32"),
    ("a: 1\nname: pur\xe9e\n".encode("latin-1"), "“é” in an older encoding"),
    (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not a text file"),
    (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "not a text file"),
    (b"PK\x03\x04\x14\x00\x06\x00", "not a text file"),
    (b"a: 1\x01\n", "sign that no text holds"),
    (b"a" * (LARGEST + 1), "at most 200 kB"),
]


@pytest.mark.parametrize(("data", "says"), BYTES)
def test_bytes_that_are_no_utf8_text_are_refused_in_one_sentence(data, says):
    with pytest.raises(Mistakes) as caught:
        text_of(data, "d.yaml")
    assert len(caught.value.mistakes) == 1
    assert says in caught.value.mistakes[0].says
    assert caught.value.mistakes[0].remedy


def test_a_sign_of_another_encoding_is_placed():
    with pytest.raises(Mistakes) as caught:
        text_of("a: 1\nname: pur\xe9e\n".encode("latin-1"), "d.yaml")
    assert (caught.value.mistakes[0].line, caught.value.mistakes[0].column) == (2, 10)


def test_a_byte_order_mark_is_passed_over():
    assert text_of("a: é\n".encode("utf-8-sig"), "d") == "a: é\n"


def test_a_large_file_is_refused_before_it_is_read(tmp_path):
    large = tmp_path / "large.yaml"
    with large.open("wb") as stream:
        stream.truncate(40_000_000)
    with pytest.raises(Mistakes, match=r"The file holds 40 MB"):
        read_text(large)


def test_a_file_that_is_not_there_or_a_folder_is_said(tmp_path):
    with pytest.raises(Mistakes, match="no such file"):
        read_text(tmp_path / "none.yaml")
    with pytest.raises(Mistakes, match="folder"):
        read_text(tmp_path)
    with pytest.raises(Mistakes, match="cannot be read"):
        read_text("a\0b")


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_for_people(text):
    try:
        read_trees(text_of(text.encode("utf-8", "replace"), "d"), "d")
    except Mistakes as mistakes:
        assert mistakes.mistakes  # noqa: PT017 - either outcome is right, any other error is not


@given(st.text(alphabet="ab:-#&*!|>'\"%@`{}[],\n \t?~<", max_size=40))
def test_any_text_of_yaml_signs_is_read_or_refused_for_people(text):
    try:
        read_trees(text, "d")
    except Mistakes as mistakes:
        assert all(m.line >= 1 and m.column >= 1 and m.says for m in mistakes.mistakes)  # noqa: PT017


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_for_people(data):
    try:
        text_of(data, "d")
    except Mistakes as mistakes:
        assert len(mistakes.mistakes) == 1  # noqa: PT017


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=12).map(lambda w: " ".join(w.split()))


@given(name=st.sampled_from(DEMO_FILES), data=st.data())
def test_what_is_reckoned_is_what_would_be_read(name, data):
    text = demo_text(name)
    tree = _read(text, "d")[0]
    single = [
        path for path, place in tree.values.items()
        if isinstance(tree.at(path), (str, int, float)) and "\n" not in text[place.start : place.end].strip()
        and not text[place.start : place.end].startswith(("|", ">"))
    ]  # fmt: skip
    paths = data.draw(st.lists(st.sampled_from(single), min_size=1, max_size=4, unique=True))
    written = {}
    for path in paths:
        new = data.draw(st.one_of(WORDS, st.integers(-9999, 9999), st.sampled_from(["12 g", "-18 °C", "a, b", "x: y"])))
        written[path] = new, scalar(new, flow=tree.values[path].flow)
    changed = respelt(text, "d", written)
    (read,) = _read(changed, "d")
    (reckoned,) = read_trees(changed, "d")
    assert reckoned.value == read.value
    assert reckoned.values == read.values
    assert reckoned.keys == read.keys


def test_a_kept_tree_stays_that_of_its_text():
    for name in DEMO_FILES[:3]:
        text = demo_text(name)
        kept = read_trees(text, "d")
        assert kept is read_trees(text, "d")
        desserts_of(text, "d", standard_larder())  # who reads a tree changes nothing in it
        edited(text, {"name": "Another"}, name="d")
        assert kept == _read(text, "d")
