"""The cold room's log, the kitchen as a form and the curves of small questions, done in a real browser."""

from __future__ import annotations

import base64
import runpy
from pathlib import Path

from playwright.sync_api import Page, expect

from demoule.store import Kind

from .conftest import PATIENCE, Kitchen

log = runpy.run_path(str(Path(__file__).parents[1] / "web" / "probe_log.py"))["log"]
DROP = """([name, data]) => {
  const bytes = Uint8Array.from(atob(data), (one) => one.charCodeAt(0));
  const held = new DataTransfer();
  held.items.add(new File([bytes], name, { type: "text/csv" }));
  const spot = document.querySelector("main");
  for (const what of ["dragover", "drop"])
    spot.dispatchEvent(new DragEvent(what, { bubbles: true, cancelable: true, dataTransfer: held }));
}"""


def test_a_log_is_dropped_looked_at_learned_from_and_kept(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/cold/apricot")
    page.evaluate(DROP, ["tuesday.csv", base64.b64encode(log()).decode()])
    expect(page.locator("#learned")).to_contain_text("180 readings", timeout=PATIENCE)
    assert page.locator(".columns svg").count() == 2
    page.get_by_role("radio", name="door").check()
    page.locator("#learn-now").click()
    expect(page.get_by_role("alert")).to_contain_text("does not teach", timeout=PATIENCE)
    page.get_by_role("radio", name="piece").check()
    page.locator("#learn-now").click()
    expect(page.locator(".lesson svg").first).to_be_visible(timeout=PATIENCE)
    page.get_by_role("button", name="Keep in the kitchen").click()
    expect(page.locator("#answers")).to_contain_text("learned from tuesday.csv", timeout=PATIENCE)
    with kitchen.memory() as store:
        version = store.documents.version(Kind.KITCHEN, "the-walled-garden")
        assert "measured: 2026-11-12" in version.text
        assert "tuesday.csv" in version.why


def test_a_lever_is_dragged_and_let_go(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/cold/quince")
    lever = page.locator('input[data-for="f:/rooms/refrigerator/air"]')
    lever.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#answers .was").first).to_be_visible(timeout=PATIENCE)
    page.wait_for_function("() => !document.querySelector('.at-hand.before')", timeout=PATIENCE)
    page.get_by_role("button", name="As before").click()
    expect(page.locator("#answers .was")).to_have_count(0, timeout=PATIENCE)


def test_the_kitchen_is_changed_by_keyboard_and_kept(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/kitchen")
    room = page.locator('details[data-component="/rooms/store freezer"] > summary')
    room.focus()
    page.keyboard.press("Enter")
    air = page.locator('input[name="f:/rooms/store freezer/air"]')
    air.fill("-24")
    expect(page.locator("#kept")).to_contain_text("Noted", timeout=PATIENCE)
    expect(page.locator('[id="n:/rooms/store freezer/air"]')).to_have_text("was -20 °C", timeout=PATIENCE)
    new = page.locator('input[data-add="/people"]')
    new.fill("evening help")
    new.press("Enter")
    shift = page.locator('input[name="f:/people/evening help/shift"]')
    expect(shift).to_be_visible(timeout=PATIENCE)
    shift.fill("Fri 17:00")
    expect(page.locator('[id="n:/people/evening help/shift"]')).to_contain_text("hours of work", timeout=PATIENCE)
    shift.fill("Fri 17:00–22:00")
    expect(page.locator(".mistakes")).to_have_count(0, timeout=PATIENCE)
    page.locator("#keep").click()
    expect(page.locator("#kept")).to_contain_text("Kept as version", timeout=PATIENCE)
    page.reload()
    expect(page.locator('details[data-component="/people/evening help"]')).to_have_count(1)
    with kitchen.memory() as store:
        assert "-24 °C" in store.documents.version(Kind.KITCHEN, "the-walled-garden").text


def test_a_curve_follows_and_stands_as_a_table(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/quick/freezing")
    before = page.locator("figure.curve path").nth(1).get_attribute("d")
    page.locator("#q-mix").fill("sucrose 25 g, water 75 g")
    page.wait_for_function(
        "(was) => document.querySelectorAll('figure.curve path')[1].getAttribute('d') !== was", arg=before,
        timeout=PATIENCE,
    )  # fmt: skip
    page.locator("figure.curve summary").click()
    assert page.locator("figure.curve tbody tr").count() >= 8


def test_a_remedy_is_pressed_and_undone(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/apricot")
    offer = page.locator('#findings button[data-act="try"]').first
    expect(offer).to_contain_text("thickness 3.5 mm", timeout=PATIENCE)
    offer.click()
    thickness = page.locator('input[name="f:/piece/base/thickness"]')
    expect(thickness).to_have_value("3.5", timeout=PATIENCE)
    expect(page.locator("#findings")).not_to_contain_text("leaves 3.6 mm", timeout=PATIENCE)
    page.locator("#undo").click()
    expect(thickness).to_have_value("4.5", timeout=PATIENCE)


def test_a_recipe_is_pasted_and_a_share_is_typed(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/chestnut")
    page.locator("details.drawer summary", has_text="Paste a recipe").click()
    page.locator("#paste-words").fill("honey 12 g\nsalt\t2\n3 g vanilla powder")
    page.get_by_role("button", name="Add these lines").click()
    honey = page.locator('input[name$="/weigh/honey"]').first
    expect(honey).to_have_value("12", timeout=PATIENCE)
    expect(page.locator('input[name$="/weigh/salt"]').first).to_have_value("2")
    page.locator("#undo").click()
    expect(honey).to_have_count(0, timeout=PATIENCE)


def test_the_bench_in_french_speaks_french(page: Page, kitchen: Kitchen) -> None:
    page.context.add_cookies([{"name": "language", "value": "fr", "url": kitchen.address}])
    page.goto(f"{kitchen.address}/bench/apricot")
    expect(page.locator("#findings")).to_contain_text("Le cœur laisse 3,6 mm", timeout=PATIENCE)
    expect(page.locator("#strip")).to_contain_text("prête après")
    page.locator("#strip summary").first.click()
    expect(page.locator("#strip .slip").first).not_to_contain_text("Likely")
