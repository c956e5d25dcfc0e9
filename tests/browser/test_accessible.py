"""No barrier that axe-core knows of on any screen, by day and night, in both languages, from phone to laptop.

What a machine can find is a part of what can be wrong: the keyboard has its own tests, and a person's eye no test.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from demoule.store import By, Role, open_store

from .conftest import PATIENCE, Kitchen

WIDTHS = (390, 820, 1280)
LOOKS = (("day", "en"), ("night", "fr"), ("day", "fr"), ("night", "en"))

SCREENS = (
    "/", "/larder", "/larder?item=honey", "/bench/apricot", "/bench/apricot/versions/1", "/cold/apricot", "/quick",
    "/quick/freezing", "/paper/apricot", "/kitchen", "/orders", "/week", "/day", "/log", "/nowhere",
)  # fmt: skip

RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]},
    "resultTypes": ["violations"],
}


def barriers(page: Any) -> list[str]:
    """What axe finds wrong, each in a line: the rule, and the first things that break it."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [
        f"{one['id']}: {one['help']}: " + " | ".join(str(node["html"])[:160] for node in one["nodes"][:3])
        for one in found
    ]


@pytest.mark.parametrize("path", SCREENS)
def test_no_barrier_on_a_screen(browser: Browser, kitchen: Kitchen, path: str) -> None:
    assert not (told := barriers_of(browser, kitchen, path)), "\n".join(told)


def test_no_barrier_at_the_door_and_among_people(browser: Browser, tmp_path: Path, dressed: Path) -> None:
    path = tmp_path / "memory.sqlite"
    with open_store(path) as store:
        by = By(who="ada", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
        store.people.add("ada", Role.OWNER, "plum stones in ada's jar", by)
    place = Kitchen(path, dressed)
    place.start()
    try:
        told = barriers_of(browser, place, "/sign-in") + barriers_of(browser, place, "/people", who="ada")
    finally:
        place.stop()
    assert not told, "\n".join(told)


def barriers_of(browser: Browser, kitchen: Kitchen, path: str, who: str = "") -> list[str]:
    """What axe finds on a screen in all its looks."""
    told: list[str] = []
    for theme, language in LOOKS:
        context = browser.new_context(viewport={"width": 1280, "height": 940}, reduced_motion="reduce")
        context.set_default_timeout(PATIENCE)
        context.add_cookies(
            [
                {"name": name, "value": value, "url": kitchen.address}
                for name, value in (("theme", theme), ("language", language))
            ]
        )
        page = context.new_page()
        if who:
            page.goto(f"{kitchen.address}/sign-in?back={path}")
            page.locator('input[name="name"]').fill(who)
            page.locator('input[name="password"]').fill(f"plum stones in {who}'s jar")
            page.locator('main button:not([type="button"])').first.click()
            page.wait_for_url(f"**{path}")
        else:
            page.goto(kitchen.address + path)
        for one in page.locator("details").all():
            one.evaluate("one => { if (!one.name) one.open = true; }")
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 940})
            told += [f"{theme} {language} {width}: {line}" for line in barriers(page)]
        context.close()
    return list(dict.fromkeys(told))
