"""Whatever a program sends to the interface, it is answered in the one shape of an error and never breaks anything."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from demoule.files import demo_text
from demoule.store import Store
from demoule.web.app import create_app
from demoule.web.settings import Settings

from .conftest import HereAndNow, filled

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
PATIENCE = 40.0  # s for all operations together; a machine that is slower tries fewer requests
LEAST = 3  # requests that every operation gets at least


@pytest.fixture(scope="module")
def memory(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    path: Path = tmp_path_factory.mktemp("fuzz") / "memory.sqlite"
    with filled(path) as store:
        yield store


def tried_out(operation: Any, until: float) -> int:
    """How many requests an operation was sent, the least also when the time is up; raises what the checks find."""
    sent, first = 0, list[Exception]()

    @given(case=operation.as_strategy(), known=st.booleans())
    @settings(
        max_examples=25, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    def answered(case: Any, known: bool) -> None:
        nonlocal sent
        if sent >= LEAST and time.monotonic() > until:
            return
        if known and "slug" in (case.path_parameters or {}):
            case.path_parameters["slug"] = "apricot"  # one that is there
        if known and isinstance(case.body, dict) and isinstance(case.body.get("text"), str):
            case.body["text"] = demo_text("quince.yaml")
        sent += 1
        try:
            case.call_and_validate(checks=CHECKS)
        except Exception as error:
            first.append(error)
            raise

    try:
        answered()
    except Exception as error:
        raise (first or [error])[0] from None  # tried again, it may find the time up
    return sent


def test_whatever_a_program_sends_is_answered(memory: Store) -> None:
    app = create_app(memory, Settings(a_minute=10_000_000), HereAndNow(1))
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", app)
    operations = [found.ok() for found in schema.get_all_operations()]
    assert len(operations) > 20
    ends = time.monotonic() + PATIENCE
    wrong: dict[str, str] = {}
    for place, operation in enumerate(operations):
        try:
            assert tried_out(operation, time.monotonic() + (ends - time.monotonic()) / (len(operations) - place)) > 0
        except Exception as error:
            wrong[operation.label] = str(error)[:700]
    assert not wrong, "\n\n".join(f"{label}: {words}" for label, words in wrong.items())
