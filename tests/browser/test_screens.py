"""The main act of each screen, done with mouse and keyboard in a real browser."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from .conftest import PATIENCE, Kitchen, until

PAGES = ["/", "/bench/apricot", "/larder", "/cold/apricot", "/quick/cook", "/paper/apricot", "/kitchen"]
THYME = "f:/components/heart/weigh/thyme"
JELLY = "f:/components/heart/weigh/apricot jelly"


def field(page: Page, name: str):
    return page.locator(f'input[name="{name}"]')


def test_bench_moves_figures_while_the_caret_stays(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/apricot")
    jelly = field(page, JELLY)
    jelly.click()
    jelly.fill("1500")
    expect(page.get_by_text("was 1110 g")).to_be_visible(timeout=PATIENCE)
    assert page.evaluate("document.activeElement.name") == JELLY
    expect(page.locator("#kept")).to_contain_text("Noted")
    expect(page.locator('[id^="part-"] .was').first).to_be_visible()
    page.locator("#undo").click()
    expect(jelly).to_have_value("1110", timeout=PATIENCE)


def test_bench_by_keyboard_alone(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/quince")
    first = page.locator("details[open] .weigh .typed input").first
    first.focus()
    before = first.input_value()
    page.keyboard.press("Alt+ArrowUp")
    assert float(first.input_value()) == float(before) + 1
    page.keyboard.press("Enter")
    second = page.evaluate("document.activeElement.name")
    assert second != first.get_attribute("name")
    page.keyboard.press("ArrowUp")
    assert page.evaluate("document.activeElement.name") == first.get_attribute("name")
    page.keyboard.press("Escape")


def test_a_layer_is_chosen_on_the_picture(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/apricot")
    link = page.locator('#plate .for-wide a[href="?layer=body"]').first
    link.focus()
    page.keyboard.press("Enter")
    expect(page.locator('details[data-component="whipped ganache"]')).to_have_attribute("open", "", timeout=PATIENCE)


def test_a_line_comes_and_goes_and_a_version_is_kept(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/bench/chestnut")
    component = page.locator("details.component[open]")
    component.locator('input[data-add$="/weigh"]').fill("honey 12 g")
    component.get_by_role("button", name="Add", exact=True).first.click()
    expect(page.locator('input[name^="f:"][name$="/weigh/honey"]')).to_have_value("12", timeout=PATIENCE)
    page.locator("#keep").click()
    expect(page.locator("#kept")).to_contain_text("Kept as version 2", timeout=PATIENCE)
    with kitchen.memory() as store:
        from demoule.store import Kind

        assert "honey: 12 g" in store.documents.version(Kind.DESSERT, "chestnut").text


def test_larder_searches_as_typed(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/larder")
    page.locator("#words").fill("gelat")
    expect(page.locator("#list tbody th a").first).to_contain_text("gelatine", timeout=PATIENCE)
    page.locator("#list tbody th a").first.click()
    expect(page.locator("#item h2")).to_contain_text("elatine", timeout=PATIENCE)


def test_the_frost_is_dragged_and_what_if_moves_the_hours(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/cold/apricot")
    before = page.locator("#moment").inner_text()
    page.locator("#scrub").focus()
    page.keyboard.press("Home")
    assert page.locator("#moment").inner_text() != before
    assert page.locator(".still:visible").count() == 1
    lever = page.locator('input[data-for="f:/rooms/refrigerator/air"]')
    lever.focus()
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#answers .was").first).to_be_visible(timeout=PATIENCE)
    expect(page.locator("#trying")).to_be_visible()


def test_a_quick_answer_follows_its_fields(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/quick/freezing")
    first = page.locator(".one-answer b").inner_text()
    page.locator("#q-mix").fill("sucrose 20 g, water 80 g")
    expect(page.locator(".one-answer b")).not_to_have_text(first, timeout=PATIENCE)


def test_paper_shows_its_pages(page: Page, kitchen: Kitchen) -> None:
    page.goto(f"{kitchen.address}/paper/apricot")
    until(page, "document.querySelector('.pages img').naturalWidth > 0")
    assert page.locator(".pages li").count() >= 6


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1600])
@pytest.mark.parametrize("path", PAGES)
def test_nothing_is_wider_than_the_screen(page: Page, kitchen: Kitchen, width: int, path: str) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(kitchen.address + path)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("path", PAGES)
def test_every_field_has_a_name_and_every_picture_words(page: Page, kitchen: Kitchen, path: str) -> None:
    # WCAG 2.2: 1.1.1, 2.4.1, 3.1.1, 3.3.2, 4.1.2, as far as a page can be asked.
    page.goto(kitchen.address + path)
    told = page.evaluate(
        """() => {
          const bad = [];
          const fields = 'input:not([type=hidden]),select,textarea:not([hidden])';
          for (const one of document.querySelectorAll(fields))
            if (!one.labels?.length && !one.getAttribute('aria-label')) bad.push('field ' + one.outerHTML.slice(0, 90));
          for (const one of document.querySelectorAll('svg'))
            if (!one.closest('[aria-hidden=true]') && !one.querySelector('title') && !one.getAttribute('aria-label'))
              bad.push('picture ' + one.outerHTML.slice(0, 90));
          for (const one of document.querySelectorAll('button,a'))
            if (!one.textContent.trim() && !one.getAttribute('aria-label') && !one.querySelector('title,img[alt]'))
              bad.push('nameless ' + one.outerHTML.slice(0, 90));
          const ids = [...document.querySelectorAll('[id]')].map(one => one.id);
          const twice = ids.filter((id, at) => ids.indexOf(id) !== at);
          if (twice.length) bad.push('twice ' + twice.slice(0, 5));
          if (!document.documentElement.lang) bad.push('no language');
          const heads = document.querySelectorAll('h1').length;
          if (heads !== 1) bad.push('headings ' + heads);
          return bad;
        }"""
    )
    assert told == []


def test_first_visit_is_small(page: Page, kitchen: Kitchen) -> None:
    seen: list[int] = []
    client = page.context.new_cdp_session(page)
    client.send("Network.enable")
    client.on("Network.loadingFinished", lambda told: seen.append(int(told["encodedDataLength"])))
    page.goto(f"{kitchen.address}/bench/apricot", wait_until="networkidle")
    assert 0 < sum(seen) <= 150_000, sum(seen)
    assert re.search("Apricot", page.title())
