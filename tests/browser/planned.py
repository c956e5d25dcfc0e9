"""The planned week of the tests of pages, for those in a browser."""

from __future__ import annotations

import importlib.util
from pathlib import Path

_SPEC = importlib.util.spec_from_file_location("planned_week", Path(__file__).parents[1] / "web" / "planned.py")
assert _SPEC is not None
assert _SPEC.loader is not None
_PLANNED = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_PLANNED)

SLUG: str = _PLANNED.SLUG
texts, week_text, with_week = _PLANNED.texts, _PLANNED.week_text, _PLANNED.with_week
