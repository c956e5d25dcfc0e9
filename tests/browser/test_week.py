"""The week in a real browser: jobs moved by keyboard and pointer, day sheets ticked on bad Wi-Fi and a dying server."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from demoule.files import DEMO_FILES, demo_text
from demoule.plan import Plan, fits_of
from demoule.store import By, Kind, open_store
from demoule.web.week_reading import plan_of

from .conftest import PATIENCE, Kitchen, until
from .planned import SLUG, texts, week_text, with_week
from .test_accessible import barriers

WEEK = f"/week/{SLUG}"
PAGES = (
    WEEK, f"{WEEK}/day", f"{WEEK}/now", f"{WEEK}/paper", f"/log/{SLUG}", "/orders/orders", "/week/begin",
    f"{WEEK}?task=Apricot%201%20fill",
)  # fmt: skip


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory, dressed: Path) -> Iterator[Kitchen]:
    path = tmp_path_factory.mktemp("memory") / "memory.sqlite"
    with open_store(path) as store:
        by = By(who="chef", at=datetime(2026, 11, 23, 8, tzinfo=UTC))
        for name in DEMO_FILES[:3]:
            store.documents.begin(Kind.DESSERT, name.removesuffix(".yaml").title(), demo_text(name), by)
        store.documents.begin(Kind.KITCHEN, "The Walled Garden", demo_text("kitchen.yaml"), by)
        with_week(store)
    found = Kitchen(path, dressed)
    found.start()
    yield found
    found.stop()


def plan() -> Plan:
    return plan_of(week_text(), texts())


def block(page: Page, job: str):
    return page.locator(f'.for-week .task[data-task="{job}"]')


def happened(kitchen: Kitchen) -> list[tuple[str, str]]:
    with kitchen.memory() as store:
        return [(one.task, one.kind) for one in store.happened.list(SLUG)]


def sheet_of(kitchen: Kitchen, place: int) -> tuple[str, list[str]]:
    """A person's day with several jobs: its address, and the jobs; each test takes a day of its own."""
    days: dict[tuple[str, str], list[str]] = {}
    for task in plan().tasks:
        day = plan().week.clock(task.start).date().isoformat()
        days.setdefault((task.person, day), []).append(task.job.key)
    full = sorted((jobs, who) for who, jobs in days.items() if len(jobs) >= 4)
    jobs, (person, day) = full[place]
    return f"{kitchen.address}{WEEK}/day?person={person}&day={day}", jobs


def idle(page: Page) -> None:
    until(page, "!Object.keys(localStorage).some((key) => key.startsWith('demoule:ticks'))")


def test_a_job_is_moved_by_keyboard_and_what_breaks_stands_beside_it(page: Page, kitchen: Kitchen) -> None:
    page.goto(kitchen.address + WEEK)
    job = next(task.job.key for task in plan().tasks if task.job.kind == "fill")
    block(page, job).focus()
    page.keyboard.press("Enter")
    expect(page.locator("#move")).to_be_visible(timeout=PATIENCE)
    until(page, f"document.activeElement.dataset.task === {job!r}")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator(".breaks")).to_contain_text(job, timeout=PATIENCE)
    expect(page.locator("#trial")).to_contain_text("not kept yet")
    expect(page.locator("#keep-week .strong")).to_be_disabled()
    expect(block(page, job)).to_have_class(re.compile("moved"))
    expect(page.locator("#was-" + re.sub(r"[^a-z0-9]+", "-", job.casefold()))).to_be_attached()
    assert page.evaluate("document.activeElement.dataset.task") == job
    page.get_by_role("button", name=re.compile("^Back to")).click()
    expect(page.locator(".trial")).to_have_count(0, timeout=PATIENCE)
    expect(page.locator(".breaks")).to_have_count(0)


def test_blocks_are_read_with_the_arrows_before_one_is_chosen(page: Page, kitchen: Kitchen) -> None:
    page.goto(kitchen.address + WEEK)
    assert page.locator('.for-week .task[tabindex="0"]').count() == 1
    page.locator('.for-week .task[tabindex="0"]').focus()
    first = page.evaluate("document.activeElement.dataset.task")
    page.keyboard.press("ArrowRight")
    second = page.evaluate("document.activeElement.dataset.task")
    assert second != first
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.closest('.lane').dataset.person") != plan().task(first).person
    page.keyboard.press("Home")


def test_a_block_is_drawn_with_the_pointer_to_another_hour(page: Page, kitchen: Kitchen) -> None:
    page.goto(kitchen.address + WEEK)
    job = next(task.job.key for task in plan().tasks if task.job.kind == "finish")
    spot = block(page, job).locator(":scope > rect")
    spot.scroll_into_view_if_needed()
    box = spot.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y, steps=4)
    page.mouse.move(x + 60, y, steps=4)
    page.mouse.up()
    expect(page.locator("#trial")).to_contain_text("Moved by hand: 1", timeout=PATIENCE)
    with kitchen.memory() as store:
        draft = store.drafts.of(Kind.WEEK, SLUG, "chef")
        assert draft is not None
        moved = plan_of(draft.text, texts()).task(job)
        assert moved is not None
        assert moved.start > plan().task(job).start  # type: ignore[union-attr]
    page.get_by_role("button", name="As it was kept").click()
    expect(page.locator(".trial")).to_have_count(0, timeout=PATIENCE)


def test_a_try_made_while_the_network_is_cut_goes_by_itself(page: Page, kitchen: Kitchen) -> None:
    page.goto(kitchen.address + WEEK)
    job = next(task.job.key for task in plan().tasks if task.job.kind == "spray")
    block(page, job).focus()
    page.keyboard.press("Enter")
    expect(page.locator("#move")).to_be_visible(timeout=PATIENCE)
    until(page, f"document.activeElement.dataset.task === {job!r}")
    page.context.set_offline(True)
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    page.context.set_offline(False)
    expect(page.locator("#trial")).to_contain_text("Moved by hand: 1", timeout=PATIENCE)
    until(page, "!Object.keys(localStorage).some((key) => key.startsWith('demoule:week'))")
    with kitchen.memory() as store:
        draft = store.drafts.of(Kind.WEEK, SLUG, "chef")
        assert draft is not None
        moved = plan_of(draft.text, texts()).task(job)
    assert moved is not None
    assert moved.start == plan().task(job).start + 900  # type: ignore[union-attr]
    page.get_by_role("button", name="As it was kept").click()
    expect(page.locator(".trial")).to_have_count(0, timeout=PATIENCE)


def test_a_day_sheet_is_ticked_with_the_network_cut(page: Page, kitchen: Kitchen) -> None:
    address, jobs = sheet_of(kitchen, 0)
    page.goto(address)
    page.context.set_offline(True)
    for job in jobs[:2]:
        page.locator(f'button.tick[data-kind="end"][data-task="{job}"]').click()
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    expect(page.locator("#offline")).to_contain_text("4 tick(s) wait here", timeout=PATIENCE)
    expect(page.locator(f'button.tick[data-task="{jobs[0]}"][data-kind="end"]')).to_have_attribute(
        "aria-pressed", "true"
    )
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("All noted", timeout=PATIENCE)
    expect(page.locator("#offline")).to_be_hidden(timeout=PATIENCE)
    expect(page.locator(".sheet li.done")).to_have_count(2)
    noted = happened(kitchen)
    for job in jobs[:2]:
        assert noted.count((job, "end")) == 1
        assert noted.count((job, "start")) == 1


def test_four_of_ten_posts_fail_and_every_tick_arrives_once(page: Page, kitchen: Kitchen) -> None:
    chance = random.Random(11)

    def perhaps(route: Route) -> None:
        if chance.random() < 0.4:
            route.abort()
        else:
            route.continue_()

    address, jobs = sheet_of(kitchen, 1)
    page.goto(address)
    page.route(re.compile(r".*/ticks\?.*"), perhaps)
    for job in jobs[:3]:
        page.locator(f'button.tick[data-kind="end"][data-task="{job}"]').click()
        page.wait_for_timeout(250)
    idle(page)
    noted = happened(kitchen)
    for job in jobs[:3]:
        assert noted.count((job, "end")) == 1


def test_a_closed_sheet_brings_its_ticks_back(browser: Browser, kitchen: Kitchen) -> None:
    address, jobs = sheet_of(kitchen, 2)
    context = browser.new_context(locale="en-GB", viewport={"width": 820, "height": 1180})
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    page.goto(address)
    context.route(re.compile(r".*/ticks\?.*"), lambda route: route.abort())
    page.locator(f'button.tick[data-kind="end"][data-task="{jobs[0]}"]').click()
    page.wait_for_timeout(400)
    page.close(run_before_unload=False)
    context.unroute_all()
    assert (jobs[0], "end") not in happened(kitchen)
    again = context.new_page()
    again.goto(address)
    idle(again)
    expect(again.locator(".sheet li.done")).to_have_count(1, timeout=PATIENCE)
    context.close()
    assert happened(kitchen).count((jobs[0], "end")) == 1


def test_a_server_killed_among_ticks_loses_none(page: Page, kitchen: Kitchen) -> None:
    address, jobs = sheet_of(kitchen, 3)
    page.goto(address)
    page.locator(f'button.tick[data-kind="end"][data-task="{jobs[0]}"]').click()
    kitchen.kill()
    page.locator(f'button.tick[data-kind="end"][data-task="{jobs[1]}"]').click()
    words = page.locator("#note textarea")
    page.locator(".wrong-form summary").click()
    words.fill("The bowl came off")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    kitchen.start()
    idle(page)
    expect(page.locator("#kept")).to_contain_text("All noted", timeout=PATIENCE)
    noted = happened(kitchen)
    for job in jobs[:2]:
        assert noted.count((job, "end")) == 1
    with kitchen.memory() as store:
        assert [one.note for one in store.happened.list(SLUG) if one.kind == "note"] == ["The bowl came off"]


def test_a_server_killed_while_a_week_is_kept_keeps_it_once(page: Page, kitchen: Kitchen) -> None:
    job, fit = next((t.job.key, fits[0]) for t in plan().tasks if (fits := fits_of(plan(), t.job.key, tries=10)))
    page.goto(f"{kitchen.address}{WEEK}?task={job}")
    page.locator(".fits button").first.click()
    expect(page.locator("#trial")).to_contain_text("not kept yet", timeout=PATIENCE)
    page.locator("#why").fill("quieter")
    page.locator("#keep-week .strong").click()
    kitchen.kill()
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    kitchen.start()
    expect(page.locator("#kept")).to_contain_text("Kept as version 2", timeout=PATIENCE)
    with kitchen.memory() as store:
        history = store.documents.history(Kind.WEEK, SLUG)
        assert [one.n for one in history] == [2, 1]
        assert history[0].why == "quieter"
        moved = plan_of(history[0].text, texts()).task(job)
    assert moved is not None
    assert (moved.start, moved.person) == (fit.start, fit.person)


def test_orders_are_typed_with_the_network_cut_and_kept(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/orders/orders")
    page.context.set_offline(True)
    page.locator('input[name="f:/orders/0/Apricot"]').fill("120")
    expect(page.locator("#offline")).to_be_visible(timeout=PATIENCE)
    page.context.set_offline(False)
    expect(page.locator("#kept")).to_contain_text("Noted", timeout=PATIENCE)
    page.locator("input[data-add]").fill("wedding Friday 18:00")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator('input[name="f:/orders/2/what"]')).to_have_value("wedding", timeout=PATIENCE)
    page.locator("#keep").click()
    expect(page.locator("#kept")).to_contain_text("Kept as version 2", timeout=PATIENCE)
    with kitchen.memory() as store:
        text = store.documents.version(Kind.ORDERS, "orders").text
    assert "Apricot: 120" in text
    assert "what: wedding" in text


@pytest.mark.parametrize("path", PAGES)
def test_no_barrier_on_a_screen_that_is_filled(browser: Browser, kitchen: Kitchen, path: str) -> None:
    told: list[str] = []
    for theme, language in (("day", "en"), ("night", "fr")):
        context = browser.new_context(viewport={"width": 1280, "height": 940}, reduced_motion="reduce")
        context.set_default_timeout(PATIENCE)
        choices = (("theme", theme), ("language", language))
        context.add_cookies([{"name": name, "value": value, "url": kitchen.address} for name, value in choices])
        page = context.new_page()
        page.goto(kitchen.address + path)
        for one in page.locator("details").all():
            one.evaluate("one => { if (!one.name) one.open = true; }")
        for width in (390, 1280):
            page.set_viewport_size({"width": width, "height": 940})
            told += [f"{theme} {language} {width}: {line}" for line in barriers(page)]
        context.close()
    assert not told, "\n".join(dict.fromkeys(told))


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1600])
def test_nothing_is_wider_than_the_screen(page: Page, kitchen: Kitchen, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    for path in PAGES:
        page.goto(kitchen.address + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def test_the_first_visit_of_a_week_is_small(page: Page, kitchen: Kitchen) -> None:
    seen: list[int] = []
    client = page.context.new_cdp_session(page)
    client.send("Network.enable")
    client.on("Network.loadingFinished", lambda told: seen.append(int(told["encodedDataLength"])))
    page.goto(kitchen.address + WEEK, wait_until="networkidle")
    assert 0 < sum(seen) <= 150_000, sum(seen)
