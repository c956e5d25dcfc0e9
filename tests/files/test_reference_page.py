import re
from pathlib import Path

import pytest

from demoule.files import desserts_of, kitchen_of, orders_of
from demoule.files.dessert import DessertEntry
from demoule.files.events import events_of
from demoule.files.kitchen import KitchenEntry
from demoule.files.orders import OrdersEntry
from demoule.files.steps import VERBS, StepEntry
from demoule.files.tree import read_trees

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "files.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.splitlines()[0])
def test_every_block_of_the_reference_page_can_be_read(block, larder):
    (tree,) = read_trees(block, "page")
    if "kitchen" in tree.value:
        assert kitchen_of(block, "page", larder).rooms
    elif "orders" in tree.value:
        assert orders_of(block, "page").orders
    elif "now" in tree.value:
        happened = events_of(block, "page")
        assert happened.away or happened.down or happened.failed or happened.cancelled
    elif "demoule" in tree.value:
        assert desserts_of(block, "page", larder)


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_stands_on_the_page(verb):
    assert f"`{verb}`" in PAGE


def test_every_phrase_of_the_page_is_a_step():
    table = PAGE.partition("| verb | fields | phrase |")[2].partition("\n\n")[0]
    phrases = [phrase for row in table.splitlines()[2:] for phrase in re.findall(r"`([^`]+)`", row.rsplit("|", 2)[1])]
    assert len(phrases) > 18
    for phrase in phrases:
        value = {"note": phrase[6:]} if phrase.startswith("note: ") else phrase
        assert StepEntry.model_validate(value).to_step()


@pytest.mark.parametrize("entry", [DessertEntry, KitchenEntry, OrdersEntry])
def test_every_key_stands_on_the_page(entry):
    seen = set()

    def walk(schema):
        if isinstance(schema, dict):
            seen.update(schema.get("properties", {}))
            for part in schema.values():
                walk(part)
        elif isinstance(schema, list):
            for part in schema:
                walk(part)

    walk(entry.model_json_schema(by_alias=True))
    missing = [key for key in sorted(seen) if not re.search(rf"[`{{ ]{re.escape(key)}[`:]", PAGE)]
    assert missing == []
