"""Files go out and in again byte for byte."""

import pytest

from demoule.errors import BadInput
from demoule.files import DEMO_FILES, demo_text, described
from demoule.store import Kind, give_out, open_store, read_folder, take_in, write_folder

AWKWARD = "\ufeffname: Pêche\r\ncomponents:\r\n  # œ ½ 😀\n  x: {}\r\n\n\n".encode()


def kind_of(text, name):
    kind, called = described(text, name)
    return Kind(kind), called


def test_a_folder_comes_back_as_it_was(store, by, tmp_path):
    files = {name: demo_text(name).encode() for name in DEMO_FILES} | {"peche.yaml": AWKWARD}
    write_folder(tmp_path / "in", files)
    taken = take_in(store, read_folder(tmp_path / "in"), by(why="moved in"), kind_of=kind_of)
    assert {(one.became, one.n) for one in taken} == {("new", 1)}
    assert {one.file: (one.kind, one.slug) for one in taken}["kitchen.yaml"] == (Kind.KITCHEN, "kitchen")
    assert {head.name for head in store.documents.heads(Kind.DESSERT)} == {"Apricot", "Chestnut", "Pêche", "Quince"}
    write_folder(tmp_path / "out", give_out(store))
    out = read_folder(tmp_path / "out")
    assert {name.rpartition("/")[2]: data for name, data in out.items()} == files
    assert set(out) >= {"desserts/peche.yaml", "kitchens/kitchen.yaml", "orders/orders.yaml"}
    # And in again into an empty one, from the folders it made.
    with open_store(tmp_path / "second.sqlite") as second:
        take_in(second, out, by(), kind_of=kind_of)
        assert give_out(second) == give_out(store)


def test_a_file_taken_in_again_is_a_new_version_only_when_it_differs(store, by):
    file = {"apricot.yaml": demo_text("apricot.yaml").encode()}
    take_in(store, file, by(), kind_of=kind_of)
    assert [one.became for one in take_in(store, file, by(), kind_of=kind_of)] == ["unchanged"]
    changed = {"apricot.yaml": file["apricot.yaml"] + b"# tasted\n"}
    (one,) = take_in(store, changed, by("Bela", "a note"), kind_of=kind_of)
    assert (one.became, one.n) == ("version", 2)
    assert store.documents.version(Kind.DESSERT, "apricot").act == "taken in"


def test_a_bad_file_is_refused_alone(store, by):
    files = {
        "latin.yaml": "name: Pêche".encode("latin-1"),
        "shopping.yaml": b"- milk\n",
        "broken.yaml": b"components: {",
        "nul.yaml": b"components: {}\nname: a\0b\n",
        "fine.yaml": b"name: Fine\ncomponents: {}\n",
    }
    taken = {one.file: one for one in take_in(store, files, by(), kind_of=kind_of)}
    assert [name for name, one in taken.items() if one.became == "new"] == ["fine.yaml"]
    assert all(one.trouble is not None and str(one.trouble) for name, one in taken.items() if name != "fine.yaml")
    assert store.kept()["document"] == 1


def test_nothing_outside_of_the_folder_is_read_or_written(tmp_path):
    inside = tmp_path / "inside"
    inside.mkdir()
    (tmp_path / "secret.yaml").write_text("kitchen: hidden")
    (inside / "link.yaml").symlink_to(tmp_path / "secret.yaml")
    (inside / "up").symlink_to(tmp_path)
    assert read_folder(inside) == {}
    for name in ("../out.yaml", "/demoule-out.yaml", "up/out.yaml"):
        with pytest.raises(BadInput):
            write_folder(inside, {name: b"x"})
    with pytest.raises(BadInput):
        read_folder(tmp_path / "not there")


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("kitchen: The Walled Garden\n", ("kitchen", "The Walled Garden")),
        ("name: Fig\ncomponents: {}\n", ("dessert", "Fig")),
        ("orders: []\n", ("orders", "saturday")),
        ("\ufefforders: []\nname: 7\n", ("orders", "7")),
    ],
)
def test_what_a_text_describes_is_told_by_its_top(text, answer):
    assert described(text, "saturday.yaml") == answer
