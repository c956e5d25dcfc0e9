from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

import demoule.files
from demoule.files import (
    DEMO_FILES,
    demo_text,
    desserts_of,
    kitchen_of,
    notes,
    orders_of,
    read_desserts,
    read_kitchen,
    schemas,
    written,
)
from demoule.files.schema import written_schemas
from demoule.files.tree import read_trees

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "docs" / "examples").glob("*.yaml"))
SCHEMAS = ROOT / "docs" / "reference" / "schemas"


def kind_of(value):
    return next((name for name in ("kitchen", "orders") if name in value), "dessert")


def test_the_demonstration_holds_together(demonstration):
    desserts, kitchen, orders = demonstration
    assert [dessert.name for dessert in desserts] == ["Apricot", "Quince", "Chestnut"]
    assert set(orders.desserts) == {dessert.name for dessert in desserts}
    for dessert in desserts:
        assert notes(dessert) == ()
        for component in dessert.components:
            for line in component.weighed:
                if line.what not in {one.name for one in dessert.components}:
                    assert kitchen.larder.find(line.what).price is not None, line.what


def test_every_demonstration_file_says_that_it_is_invented():
    for name in DEMO_FILES:
        assert "invented" in demo_text(name).splitlines()[0].lower()


def test_one_making_fills_the_cavities_the_kitchen_owns(demonstration):
    desserts, kitchen, _ = demonstration
    for dessert, cavities in zip(desserts, (60, 32, 45), strict=True):
        mould = kitchen.mould(dessert.piece.mould)
        assert mould.per_tray * mould.owned == cavities
        assert f"fills {cavities} cavities" in demo_text(f"{dessert.name.lower()}.yaml")


def test_the_stated_yields_follow_from_the_stated_losses(demonstration):
    """Evaporation, then each vessel's share of what enters it; masses to the gram."""
    for dessert in demonstration[0]:
        for component in dessert.components:
            if not component.losses or any(line.amount.mass is None for line in component.weighed):
                continue
            if any(type(step).__name__ in ("Candy", "Bake") for step in component.steps):
                continue
            mass = sum(line.amount.mass for line in component.weighed) - (component.evaporation or 0)
            for _, share in component.losses:
                mass *= 1 - share
            assert component.gives == pytest.approx(mass, abs=0.001), component.name


def test_there_are_examples():
    assert len(EXAMPLES) >= 4


@pytest.mark.parametrize("place", EXAMPLES, ids=lambda place: place.stem)
def test_every_example_of_the_docs_can_be_read(place, larder):
    value = read_trees(place.read_text(encoding="utf-8"), place.name)[0].value
    if kind_of(value) == "kitchen":
        assert read_kitchen(place, larder).moulds
        return
    for dessert in read_desserts(place, larder):
        assert dessert.components
        assert dessert.programme.stages


@pytest.mark.parametrize("name", DEMO_FILES)
def test_the_demonstration_meets_its_schemas(name):
    for tree in read_trees(demo_text(name), name):
        jsonschema.Draft202012Validator(schemas()[kind_of(tree.value)]).validate(tree.value)


@pytest.mark.parametrize("place", EXAMPLES, ids=lambda place: place.stem)
def test_the_examples_meet_their_schemas(place):
    for tree in read_trees(place.read_text(encoding="utf-8"), place.name):
        jsonschema.Draft202012Validator(schemas()[kind_of(tree.value)]).validate(tree.value)


WRONG = [
    ("dessert", {"demoule": 1, "name": "x", "components": {}, "piece": {}}),
    ("dessert", {"demoule": 1, "name": "x"}),
    ("kitchen", {"demoule": 1, "kitchen": "x", "rooms": {"a": {"blows": "1 m/s"}}}),
    ("orders", {"demoule": 1, "orders": [{"what": "x"}]}),
    ("orders", {"demoule": 1, "orders": [{"what": "x", "when": "Mon 10:00", "Plum": "many"}]}),
]


@pytest.mark.parametrize(("name", "value"), WRONG)
def test_the_schemas_refuse_what_the_reader_refuses(name, value):
    assert not jsonschema.Draft202012Validator(schemas()[name]).is_valid(value)


def test_the_published_schemas_are_current():
    # Mend with: python -c "from demoule.files.schema import write_schemas; write_schemas('docs/reference/schemas')"
    for file, text in written_schemas().items():
        assert (SCHEMAS / file).read_text(encoding="utf-8") == text
        jsonschema.Draft202012Validator.check_schema(schemas()[file.removesuffix(".json")])


def test_a_dessert_written_from_its_value_reads_back_to_itself(demonstration, larder, sketch):
    kitchen = demonstration[1]
    sources = [*demonstration[0], *desserts_of(sketch, "sketch", larder)]
    for place in EXAMPLES:
        if "kitchen" not in place.stem:
            sources += [d for d in read_desserts(place, larder) if not d.own_items]
    assert len(sources) >= 6
    for dessert in sources:
        text = written(dessert)
        (again,) = desserts_of(text, "again", kitchen.larder)
        assert written(again) == text
        assert [type(step) for c in again.components for step in c.steps] == [
            type(step) for c in dessert.components for step in c.steps
        ]
        assert again.piece.mould == dessert.piece.mould


def test_the_files_of_the_demonstration_are_part_of_the_package():
    for name in DEMO_FILES:
        assert files("demoule.files").joinpath("demo", name).is_file()


def test_the_layer_exports_what_it_lists():
    assert sorted(demoule.files.__all__, key=lambda name: (not name.isupper(), name)) == demoule.files.__all__
    for name in demoule.files.__all__:
        assert hasattr(demoule.files, name)


def test_texts_are_read_without_a_disk():
    assert kitchen_of(demo_text("kitchen.yaml"), "k").name == "The Walled Garden"
    assert orders_of(demo_text("orders.yaml"), "o").orders
