"""The screens in a real browser: bytes of a first visit to every room, and first figures on a slowed tablet.

Run: python benchmarks/bench_tablet.py; needs the system's Chromium. Goals: a first visit of any room within 150 kB as
they go over the wire, head lines included; figures on the screen within 1.5 s of asking for the Bench.

The slowed tablet: 820 by 1180 points, four times slower than this machine, over a network of 5 Mbit/s down and 1 Mbit/s
up with 40 ms there and back, nothing kept from before. What the server takes is part of it. Goals on the clock are held
to the clock times the stretch that is measured at the start.
"""

from __future__ import annotations

import platform
import shutil
import statistics
import time
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from served import Served, load, served, stretched

VISIT, FIGURES = 150_000, 1.5
SLOWER, DOWN, UP, LATENCY = 4, 5e6 / 8, 1e6 / 8, 40
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
]
EDIT = 1.0


def rooms(browser: Browser, place: Served) -> list[str]:
    """The rooms that the navigation of a first page leads to."""
    page = browser.new_page()
    page.goto(place.address + "/bench/apricot")
    found = [link.get_attribute("href") or "" for link in page.locator("nav.rooms a").all()]
    page.close()
    return list(dict.fromkeys(found))


def first_visit(browser: Browser, place: Served, path: str) -> int:
    """Bytes of a first visit, as they go over the wire."""
    context = browser.new_context(viewport={"width": 1280, "height": 940})
    page = context.new_page()
    seen: list[int] = []
    client = context.new_cdp_session(page)
    client.send("Network.enable")
    client.on("Network.loadingFinished", lambda told: seen.append(int(told["encodedDataLength"])))
    page.goto(place.address + path, wait_until="networkidle", timeout=120_000)
    context.close()
    return sum(seen)


def slowed(browser: Browser) -> tuple[Any, Any]:
    """A page on a slowed tablet."""
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    client = context.new_cdp_session(page)
    client.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    client.send("Network.enable")
    client.send(
        "Network.emulateNetworkConditions",
        {"offline": False, "latency": LATENCY, "downloadThroughput": DOWN, "uploadThroughput": UP},
    )
    return context, page


def first_figures(browser: Browser, place: Served) -> tuple[float, float]:
    """Seconds until the figures stand on the screen, and from a key pressed to a figure that moved."""
    context, page = slowed(browser)
    page.goto(place.address + "/bench/apricot", wait_until="commit", timeout=120_000)
    page.wait_for_selector('#strip .figure[data-f="piece/material_cost"] .value', timeout=120_000)
    at = page.evaluate(
        "() => { const paint = performance.getEntriesByName('first-contentful-paint')[0];"
        " return (paint ? paint.startTime : performance.now()) / 1000; }"
    )
    page.wait_for_load_state("networkidle")
    field = page.locator('details[open] .weigh .typed input[inputmode="decimal"]').first
    field.focus()
    page.evaluate(
        """() => {
          const field = document.activeElement;
          const mass = () => document.querySelector('#strip .figure[data-f="piece/material_cost"]')?.outerHTML;
          const before = mass();
          new MutationObserver(() => { if (mass() !== before && !window.moved) window.moved = performance.now(); })
            .observe(document.getElementById('strip'), { childList: true, subtree: true });
          field.value = String(parseFloat(field.value) * 2);
          window.began = performance.now();
          field.dispatchEvent(new Event('input', { bubbles: true }));
        }"""
    )
    ends = time.monotonic() + 30
    while not page.evaluate("window.moved") and time.monotonic() < ends:
        page.wait_for_timeout(50)
    moved = page.evaluate("(window.moved - window.began) / 1000")
    page.evaluate("document.getElementById('recipe').dispatchEvent(new Event('reset'))")
    context.close()
    return float(at), float(moved)


def main() -> None:
    """Measure, and hold it to the goals."""
    where = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    assert where, "no Chromium on this machine: apt-get install chromium"
    stretch = max(1.0, stretched())
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, {load()}")
    with served(copies=3) as place, sync_playwright() as play:
        place.start()
        browser = play.chromium.launch(executable_path=where, args=ARGS)
        for path in rooms(browser, place):
            first_visit(browser, place, path)  # what is computed once is computed now
        sizes = {path: first_visit(browser, place, path) for path in rooms(browser, place)}
        for path, size in sizes.items():
            print(f"first visit of {path}: {size / 1000:.0f} kB; goal {VISIT / 1000:.0f} kB")
        found = [first_figures(browser, place) for _ in range(5)]
        browser.close()
        at, moved = (statistics.median(one) for one in zip(*found, strict=True))
        print(
            f"slowed tablet: first figures after {at:.2f} s, goal {FIGURES} s; "
            f"a key to its new figure after {moved:.2f} s, goal {EDIT} s; clock stretched {stretch:.2f} times"
        )
    print(load())
    assert max(sizes.values()) <= VISIT, sizes
    assert at <= FIGURES * stretch
    assert moved <= EDIT * stretch


if __name__ == "__main__":
    main()
