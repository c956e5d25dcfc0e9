from __future__ import annotations

import json
import math
from pathlib import Path

import jsonschema
import pytest

from demoule.dossier import as_json, dossier, schema
from demoule.dossier.as_json import written_schema

PUBLISHED = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "dossier.json"


def test_the_published_schema_is_current():
    # To renew it: write `written_schema()` of demoule.dossier.as_json into this file.
    assert PUBLISHED.read_text(encoding="utf-8") == written_schema()


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("market", ["EU", "US"])
def test_a_dossier_keeps_to_the_schema(small, market):
    plain = json.loads(json.dumps(as_json(dossier(small, market)), allow_nan=False))
    jsonschema.Draft202012Validator(schema()).validate(plain)


def test_a_wrong_document_is_refused(small):
    plain = as_json(dossier(small))
    del plain["label"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema()).validate(plain)


def test_what_is_written_out_is_what_was_worked_up(small):
    made = dossier(small)
    plain = as_json(made)
    assert plain["dessert"] == "Apricot"
    assert plain["demoule"] == 1
    assert len(plain["figures"]) == len(made.figures)
    assert sum(layer["mass_g"] for layer in plain["layers"]) == pytest.approx(1000 * small.piece.mass)
    # What every piece goes through and nobody writes is there, and marked.
    assert [stage["what"] for stage in plain["cold"] if not stage["assumed"]] == [
        "harden heart",
        "harden piece",
        "keep",
        "thaw",
    ]
    assert [stage["what"] for stage in plain["cold"] if stage["assumed"]] == ["even out", "dip and spray", "table"]
    assert plain["cold"][0]["air_c"] == pytest.approx(-35)
    assert plain["weighing"]["pieces"] == 20
    heart = next(need for need in plain["weighing"]["needs"] if need["component"] == "heart")
    assert heart["gives_g"] == pytest.approx(1000 * small.weighing.needs[0].gives) or heart["lines"]


def test_every_number_is_finite(small):
    def numbers(value):
        if isinstance(value, dict):
            for inner in value.values():
                yield from numbers(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from numbers(inner)
        elif isinstance(value, float):
            yield value

    assert all(math.isfinite(number) for number in numbers(as_json(dossier(small))))
