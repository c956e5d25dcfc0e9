from __future__ import annotations

import importlib
import pkgutil

import demoule.cold


def test_everything_named_is_there_and_documented():
    for name in demoule.cold.__all__:
        assert getattr(demoule.cold, name).__doc__


def test_every_module_opens_with_its_sentence():
    for found in pkgutil.iter_modules(demoule.cold.__path__):
        module = importlib.import_module(f"demoule.cold.{found.name}")
        assert module.__doc__
        assert module.__doc__.strip().split("\n")[0].endswith(".")
