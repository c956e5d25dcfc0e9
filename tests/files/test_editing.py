import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.files import DEMO_FILES, REMOVED, demo_text, dump, edited, located, renamed
from demoule.files.tree import read_trees


def changed_lines(before, after):
    one, other = before.splitlines(), after.splitlines()
    return [line for line in other if line not in one], [line for line in one if line not in other]


def test_a_changed_amount_changes_its_line_only():
    text = demo_text("apricot.yaml")
    after = edited(text, {"components.apricot jelly.weigh.agar": "12 g"})
    added, gone = changed_lines(text, after)
    assert added == ["    weigh: {apricot juice: 1090 g, sugar: 130 g, agar: 12 g}"]
    assert gone == ["    weigh: {apricot juice: 1090 g, sugar: 130 g, agar: 11 g}"]


def test_a_comment_behind_a_value_stays():
    text = "a: 1 g # weighed\nb:\n  - x # first\n  - y\n"
    assert edited(text, {"a": "2 g", "b.0": "z"}) == "a: 2 g # weighed\nb:\n  - z # first\n  - y\n"


CHANGES = [
    ("a: 1\n", {"b": "2 g"}, "a: 1\nb: 2 g\n"),
    ("a: 1", {"b": "2 g"}, "a: 1\nb: 2 g\n"),
    ("a: {b: 1}\n", {"a.c": True}, "a: {b: 1, c: yes}\n"),
    ("a: {}\n", {"a.c": "x: y"}, 'a: { c: "x: y"}\n'.replace("{ c", "{c")),
    ("a: [1, 2]\n", {"a.2": 3}, "a: [1, 2, 3]\n"),
    ("a:\n  - 1\n  - 2 # two\n", {"a.2": "x"}, "a:\n  - 1\n  - 2 # two\n  - x\n"),
    ("a:\n  b: 1\n# about c\nc: 2\n", {"a.d": "3"}, 'a:\n  b: 1\n  d: "3"\n# about c\nc: 2\n'),
    ("a:\nb: 1\n", {"a": "x"}, "a: x\nb: 1\n"),
    ("a: |\n  long\n  text\nb: 1\n", {"a": "short"}, "a: short\nb: 1\n"),
    ("a:\n  b: {c: 1} # keep\n", {"a.b.c": REMOVED}, "a:\n  b: {} # keep\n"),
    ("a: {b: 1, c: 2}\n", {"a.b": REMOVED}, "a: {c: 2}\n"),
    ("a: {b: 1, c: 2}\n", {"a.c": REMOVED}, "a: {b: 1}\n"),
    ("a: 1\nb:\n  c: 2\n  # more\n  d: 3\ne: 4\n", {"b": REMOVED}, "a: 1\ne: 4\n"),
    ("a:\n  - b: 1\n    c: 2\n  - d\n", {"a.0.b": REMOVED}, "a:\n  - c: 2\n  - d\n"),
    ("a:\n  - 1\n  - 2\n", {"a.0": REMOVED}, "a:\n  - 2\n"),
    ("a:\n  b: 1\n", {"a.b": REMOVED}, "a: {}\n"),
    ("a: 1\n", {"b": {"c": "1 g", "d": ["x", "y"]}}, "a: 1\nb:\n  c: 1 g\n  d: [x, y]\n"),
    ("a: 1\n", {"a": {"c": "1 g"}}, "a: {c: 1 g}\n"),
    ("a:\n  b: 1\n  c: 2\nd: 3\n", {"a": "x"}, "a: x\nd: 3\n"),
]


@pytest.mark.parametrize(("text", "changes", "after"), CHANGES)
def test_changes_are_made_in_place(text, changes, after):
    assert edited(text, changes) == after


def test_one_document_of_several_is_changed():
    assert edited("a: 1\n---\na: 2\n", {"a": "x"}, document=1) == "a: 1\n---\na: x\n"


def test_a_path_may_be_a_tuple_or_hold_a_point():
    text = "a: {no. 5: 1}\n"
    assert edited(text, {("a", "no. 5"): "2 g"}) == edited(text, {"a.no. 5": "2 g"}) == "a: {no. 5: 2 g}\n"


def test_a_key_is_renamed_where_it_stands():
    text = demo_text("apricot.yaml")
    after = renamed(text, "components.velvet", "coral velvet")
    assert changed_lines(text, after) == (["  coral velvet:"], ["  velvet:"])
    with pytest.raises(BadInput):
        renamed(text, "components.velvet", "coating")
    with pytest.raises(BadInput):
        renamed(text, "components.none", "x")


@pytest.mark.parametrize("changes", [{"a.b.c": 1}, {"x.y": 1}, {"c.5": 1}, {"d": REMOVED}, {"": 1}, {"c.9": REMOVED}])
def test_a_path_that_leads_nowhere_is_refused(changes):
    with pytest.raises(BadInput):
        edited("a: 1\nc: [1]\n", changes)


def test_the_place_of_a_path_is_found():
    text = demo_text("apricot.yaml")
    place = located(text, "components.apricot jelly.weigh.agar")
    assert text.splitlines()[place.line - 1][place.column - 1 :].startswith("11 g")


def leaves(value, path=()):
    if isinstance(value, dict):
        for key, part in value.items():
            yield from leaves(part, (*path, key))
    elif isinstance(value, list):
        for k, part in enumerate(value):
            yield from leaves(part, (*path, k))
    else:
        yield path


@pytest.mark.parametrize("name", DEMO_FILES)
def test_any_value_of_the_demonstration_can_be_changed_alone(name):
    text = demo_text(name)
    for path in list(leaves(read_trees(text, name)[0].value))[1::13]:
        after = edited(text, {path: "changed: it"})
        added, gone = changed_lines(text, after)
        assert len(added) <= 1
        assert len(gone) <= (3 if path == ("about",) else 1)
        comments = [line.partition(" #")[2] for line in text.splitlines()]
        assert [line.partition(" #")[2] for line in after.splitlines() if " #" in line] == [c for c in comments if c]


TEXTS = st.text(max_size=12)
SCALARS = st.one_of(TEXTS, st.integers(-(10**6), 10**6), st.floats(allow_nan=False, allow_infinity=False), st.none())
KEYS = st.text(min_size=1, max_size=8).map(lambda key: " ".join(key.split())).filter(bool)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3), max_leaves=10
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(KEYS, VALUES, min_size=1, max_size=4))
def test_what_is_dumped_reads_back(data):
    assert read_trees(dump(data), "d")[0].value == data


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(KEYS, VALUES, min_size=1, max_size=4), st.data())
def test_any_change_gives_what_was_wanted(data, draw):
    text = dump(data)
    paths = list(leaves(data))
    path = draw.draw(st.sampled_from(paths)) if paths else (next(iter(data)),)
    new = draw.draw(st.one_of(SCALARS, st.just(REMOVED)))
    after = edited(text, {path: new})  # reads its own result and compares it with what was wanted
    assert isinstance(after, str)
