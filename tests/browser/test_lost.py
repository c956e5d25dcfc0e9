"""Bad Wi-Fi, a dying server, two people: nothing typed and no version is lost, and the page says what is going on."""

from __future__ import annotations

import random
import re

from playwright.sync_api import Browser, Page, Route, expect

from demoule.store import Kind

from .conftest import PATIENCE, Kitchen, until

THYME = "f:/components/heart/weigh/thyme"
JELLY = "f:/components/heart/weigh/apricot jelly"


def draft_of(kitchen: Kitchen, slug: str = "apricot") -> str:
    with kitchen.memory() as store:
        found = store.drafts.of(Kind.DESSERT, slug, "chef")
        return found.text if found is not None else ""


def head_of(kitchen: Kitchen, slug: str = "apricot") -> str:
    with kitchen.memory() as store:
        return store.documents.version(Kind.DESSERT, slug).text


def test_a_cut_is_told_and_what_is_typed_goes_by_itself(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/apricot")
    page.context.set_offline(True)
    page.locator(f'input[name="{THYME}"]').fill("6")
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    expect(page.locator("#offline")).to_contain_text("No Wi-Fi.")
    page.locator(f'input[name="{JELLY}"]').fill("1234")
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("Noted", timeout=PATIENCE)
    expect(page.locator("#offline")).to_be_hidden(timeout=PATIENCE)
    text = draft_of(kitchen)
    assert "thyme: 6 g" in text
    assert "apricot jelly: 1234 g" in text


def test_four_of_ten_posts_fail_and_the_last_value_stands(page: Page, kitchen: Kitchen) -> None:
    chance = random.Random(7)

    def perhaps(route: Route) -> None:
        if chance.random() < 0.4:
            route.abort()
        else:
            route.continue_()

    page.route(re.compile(r".*/figures$"), perhaps)
    page.goto(f"{kitchen.address}/bench/quince")
    first = page.locator("details[open] .weigh .typed input").first
    name = first.get_attribute("name")
    assert name is not None
    for grams in range(300, 312):
        first.fill(str(grams))
        page.wait_for_timeout(160)
    what = name.rsplit("/", 1)[-1]
    until(
        page,
        "document.getElementById('kept').textContent.includes('Noted') && !document.body.classList.contains('waiting')",
    )
    until(page, "Object.keys(localStorage).length === 0")
    assert f"{what}: 311" in draft_of(kitchen, "quince")


def test_a_closed_page_brings_back_what_never_went(browser: Browser, kitchen: Kitchen) -> None:
    context = browser.new_context(locale="en-GB")
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    page.goto(f"{kitchen.address}/bench/chestnut")
    page.wait_for_load_state("networkidle")
    context.route(re.compile(r".*/figures$"), lambda route: route.abort())
    first = page.locator("details[open] .weigh .typed input").first
    first.fill("777")
    page.wait_for_timeout(300)
    page.close(run_before_unload=False)
    context.unroute(re.compile(r".*/figures$"))
    context.unroute_all()
    again = context.new_page()
    again.goto(f"{kitchen.address}/bench/chestnut")
    expect(again.locator("#kept")).to_contain_text("is back", timeout=PATIENCE)
    expect(again.locator("details[open] .weigh .typed input").first).to_have_value("777", timeout=PATIENCE)
    context.close()
    assert "777 g" in draft_of(kitchen, "chestnut")


def test_a_server_killed_in_mid_save_loses_no_version_and_nothing_typed(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/apricot")
    page.locator(f'input[name="{JELLY}"]').fill("1001")
    expect(page.locator("#kept")).to_contain_text("Noted", timeout=PATIENCE)
    page.locator("#keep").click()
    expect(page.locator("#kept")).to_contain_text("Kept as version", timeout=PATIENCE)
    with kitchen.memory() as store:
        before = len(store.documents.history(Kind.DESSERT, "apricot"))
    page.locator(f'input[name="{JELLY}"]').fill("1002")
    page.locator("#keep").click()
    kitchen.kill()
    page.locator(f'input[name="{THYME}"]').fill("8")
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    kitchen.start()
    expect(page.locator("#offline")).to_be_hidden(timeout=PATIENCE)
    until(page, "/Noted|Kept/.test(document.getElementById('kept').textContent)")
    until(page, "Object.keys(localStorage).length === 0")
    # What was noted comes through at once; what was to be kept waits for its own next try.
    history = []
    for _ in range(PATIENCE // 250):
        with kitchen.memory() as store:
            history = store.documents.history(Kind.DESSERT, "apricot")
        if len(history) > before:
            break
        page.wait_for_timeout(250)
    assert any("apricot jelly: 1002 g" in one.text for one in history)
    assert before < len(history) <= before + 2
    assert [one.n for one in history] == list(range(len(history), 0, -1))
    assert "thyme: 8 g" in draft_of(kitchen) or "thyme: 8 g" in head_of(kitchen)


def test_two_people_on_one_dessert(browser: Browser, kitchen: Kitchen) -> None:
    contexts = [browser.new_context(locale="en-GB") for _ in range(2)]
    one, other = (context.new_page() for context in contexts)
    for page in (one, other):
        page.set_default_timeout(PATIENCE)
        page.goto(f"{kitchen.address}/bench/quince")
    fields = one.locator('details[open] .weigh .typed input[name^="f:"]')
    names = [fields.nth(k).get_attribute("name") for k in range(2)]
    one.locator(f'input[name="{names[0]}"]').fill("760")
    one.locator("#keep").click()
    expect(one.locator("#kept")).to_contain_text("Kept as version", timeout=PATIENCE)
    other.locator(f'input[name="{names[1]}"]').fill("57")
    other.locator("#keep").click()
    expect(other.locator("#conflict")).to_contain_text("Two people, one dessert", timeout=PATIENCE)
    expect(other.locator("#conflict")).to_contain_text("760 g")
    expect(other.locator("#conflict")).to_contain_text("57 g")
    mine = str(names[0])[2:]
    other.locator(f'input[name="c:{mine}"][value="theirs"]').check()
    other.get_by_role("button", name="Keep what is chosen").click()
    other.wait_for_url("**/bench/quince")
    text = head_of(kitchen, "quince")
    assert "760 g" in text
    assert "57 g" in text
    for context in contexts:
        context.close()
