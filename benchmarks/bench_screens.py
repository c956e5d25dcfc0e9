"""The screens as a real process: start to first page, memory of an open page, and edit to new figures with 20 people.

Run: python benchmarks/bench_screens.py [--short]. Goals: first page within 2 s of the start; 100 kB for an open page;
95 of 100 edits answered within 150 ms. The clock on the wall depends on who else is at work on the machine: how far it
is stretched is measured and printed. The start is held to the goal times the stretch. With 20 people a queue forms that
no stretch sets right, so their goal is judged only on a machine that is quiet (stretched less than 1.3 times); on any
machine what one edit takes of the processor up to its new figures is held to the same 150 ms.

How people edit here: 20 people, each with a page of their own open, type a new amount into one line of the recipe and
look at what it does before they type the next, 5 s between two edits on average (exponentially distributed, never
under 0.4 s): 4 edits a second in the kitchen. Each edit is posted whole as the page posts it, over a connection that
stays open. Measured is the time from the post to the last byte of the answer with the new figures of mixtures, masses
and the picture; the hours of the cold follow by a second post and are measured apart. What the page itself adds, a rest
of 30 ms after the last key and its drawing, is measured in a browser by bench_tablet.py.
"""

from __future__ import annotations

import http.client
import json
import platform
import random
import statistics
import sys
import threading
import time
import zlib
from urllib.parse import urlencode

from served import Served, fields_of, load, served, stretched

START, PAGE, EDIT = 2.0, 100_000, 0.150
PEOPLE, PAUSE, LEAST = 20, 5.0, 0.4
QUIET = 1.3  # times that the clock may be stretched for 20 people to be judged by it
OPEN = 200


class Person:
    """Somebody with a page of the Bench open."""

    def __init__(self, place: Served, slug: str, seed: int) -> None:
        self.slug = slug
        self.chance = random.Random(seed)
        self.connection = http.client.HTTPConnection("127.0.0.1", place.port, timeout=120)
        self.connection.request("GET", f"/bench/{slug}", headers={"accept": "text/html", "accept-encoding": "gzip"})
        answer = self.connection.getresponse()
        page = answer.read()
        assert answer.status == 200, (slug, answer.status)
        self.cookie = "; ".join(
            value.split(";")[0] for key, value in answer.getheaders() if key.lower() == "set-cookie"
        )
        self.fields = fields_of(zlib.decompress(page, 31).decode()) | {"view": "wide"}
        self.lines = [
            name for name, value in self.fields.items()
            if name.startswith("f:") and "/weigh/" in name and value.replace(".", "", 1).isdigit()
        ]  # fmt: skip
        self.written = {name: float(self.fields[name]) for name in self.lines}
        self.first: list[float] = []
        self.whole: list[float] = []
        self.sent = 0
        self.refused = 0

    def edit(self, *, whole: bool = True) -> None:
        """Type one amount, and wait for the new figures and, unless told otherwise, for the hours that follow."""
        name = self.chance.choice(self.lines)
        amount = self.written[name] * self.chance.uniform(0.97, 1.03)
        self.fields[name] = f"{amount:.1f}" if amount < 100 else f"{amount:.0f}"
        began = time.perf_counter()
        told = self._post({})
        self.first.append(time.perf_counter() - began)
        if not told["good"]:
            self.refused += 1
            self.fields[name] = f"{self.written[name]:g}"  # a page shows the mistake; the chef mends it
        if not whole:
            return
        if told.get("later"):
            told = self._post({"rest": "1"})
        self.whole.append(time.perf_counter() - began)
        assert not told.get("later")

    def _post(self, more: dict[str, str]) -> dict[str, object]:
        headers = {
            "accept": "application/json", "accept-encoding": "gzip", "cookie": self.cookie,
            "content-type": "application/x-www-form-urlencoded",
        }  # fmt: skip
        body = urlencode(self.fields | more)
        try:
            answer = self._sent(body, headers)
        except (ConnectionError, http.client.HTTPException):  # it was idle for long, and a browser opens a new one
            self.connection.close()
            answer = self._sent(body, headers)
        data = answer.read()
        assert answer.status == 200, (answer.status, data[:300])
        self.sent += len(data)
        found: dict[str, object] = json.loads(zlib.decompress(data, 31))
        return found

    def _sent(self, body: str, headers: dict[str, str]) -> http.client.HTTPResponse:
        self.connection.request("POST", f"/bench/{self.slug}/figures", body, headers)
        return self.connection.getresponse()

    def work(self, until: float, pause: float) -> None:
        """Edit now and then until a moment."""
        time.sleep(self.chance.uniform(0, pause))
        while time.perf_counter() < until:
            began = time.perf_counter()
            self.edit()
            wait = max(LEAST, self.chance.expovariate(1 / pause))
            time.sleep(max(0.0, began + wait - time.perf_counter()))


missed: list[str] = []


def at(values: list[float], share: float) -> float:
    """The value that a share of all does not pass."""
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def start_to_first_page(place: Served, times: int) -> None:
    """Start it several times; the first start, which makes fonts and tables, is not counted."""
    place.start()
    place.stop()
    found, busy = [], []
    stretch = stretched()
    for _ in range(times):
        found.append(place.start())
        busy.append(place.busy()["pages"])
        place.stop()
    print(
        f"start to first page: {min(found):.2f} s at best, {statistics.median(found):.2f} s in the middle of {times}; "
        f"{min(busy):.2f} s of the processor; goal {START:.1f} s"
    )
    assert min(found) <= START * max(1.0, stretch), f"{min(found):.2f} s, the clock stretched {stretch:.2f} times"


def memory_of_a_page(place: Served, pages: int) -> None:
    """What the process that serves pages grows by when many have one open, each over a connection of its own."""
    slugs = [f"apricot-{3 * k}" for k in range(7)]
    opened = [Person(place, slugs[k % len(slugs)], k) for k in range(20)]  # what is loaded once is loaded now
    for person in opened[:7]:
        person.edit()
    before = place.memory()
    opened += [Person(place, slugs[k % len(slugs)], k) for k in range(pages)]
    after = place.memory()
    each = (after["pages"] - before["pages"]) / pages
    print(
        f"memory: {each / 1000:.0f} kB for each of {pages} open pages; goal {PAGE / 1000:.0f} kB; "
        f"pages {after['pages'] / 1e6:.0f} MB, numerics {after['numerics'] / 1e6:.0f} MB"
    )
    assert each <= PAGE, each
    for person in opened:
        person.connection.close()


def first_part(place: Served, times: int) -> None:
    """What an edit takes of the processor up to its new figures."""
    person = Person(place, "apricot-0", 7)
    for _ in range(4):
        person.edit(whole=False)
    person.first.clear()
    time.sleep(2.0)  # what was asked for with the page is answered by now
    before = place.busy()
    for _ in range(times):
        person.edit(whole=False)
    after = place.busy()
    page, numerics = ((after[what] - before[what]) / times for what in ("pages", "numerics"))
    print(
        f"an edit up to its new figures: {1000 * (page + numerics):.0f} ms of the processor ({1000 * page:.0f} for the "
        f"page, {1000 * numerics:.0f} for the numerics), {1000 * min(person.first):.0f} ms on the wall at best, "
        f"{1000 * statistics.median(person.first):.0f} in the middle; goal {1000 * EDIT:.0f} ms"
    )
    if page + numerics > EDIT:
        missed.append(f"{1000 * (page + numerics):.0f} ms of the processor for an edit")
    person.connection.close()


def edits(place: Served, slugs: list[str], seconds: float, called: str, pause: float = PAUSE) -> None:
    """So many people as there are slugs edit for a while, with a mean pause of some seconds."""
    people = [Person(place, slug, 100 + k) for k, slug in enumerate(slugs)]
    for person in people:  # what a document needs once is not what an edit costs
        person.edit()
        person.first.clear()
        person.whole.clear()
        person.sent = 0
    time.sleep(0.5)
    stretch = stretched()
    before = place.busy()
    until = time.perf_counter() + seconds
    threads = [threading.Thread(target=person.work, args=(until, pause)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    after = place.busy()
    time.sleep(1.0)  # what is still under way is not the machine's other work
    stretch = (stretch + stretched()) / 2
    first = [one for person in people for one in person.first]
    whole = [one for person in people for one in person.whole]
    count = len(first)
    print(
        f"{called}: {count} edits, {count / seconds:.1f} a second; new figures after {1000 * at(first, 0.5):.0f} ms in "
        f"the middle, {1000 * at(first, 0.95):.0f} ms for 95 of 100, {1000 * max(first):.0f} ms at worst; "
        f"the hours too after {1000 * at(whole, 0.5):.0f} and {1000 * at(whole, 0.95):.0f} ms"
    )
    print(
        f"  of the processor, an edit: {1000 * (after['pages'] - before['pages']) / count:.0f} ms for the page, "
        f"{1000 * (after['numerics'] - before['numerics']) / count:.0f} ms for the numerics; "
        f"{sum(person.sent for person in people) / count / 1000:.1f} kB over the wire; clock stretched {stretch:.2f} "
        f"times; {sum(person.refused for person in people)} told a mistake"
    )
    if stretch > QUIET:
        print(f"  not judged: the machine is busy with other things (quiet is less than {QUIET} times)")
    elif at(first, 0.95) > EDIT:
        missed.append(f"{called}: {1000 * at(first, 0.95):.0f} ms are more than {1000 * EDIT:.0f}")
    for person in people:
        person.connection.close()


def main() -> None:
    """Measure all, and hold it to the goals."""
    short = "--short" in sys.argv
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, {load()}")
    with served(copies=24) as place:
        start_to_first_page(place, 2 if short else 5)
        place.start()
        memory_of_a_page(place, OPEN)
        seconds = 15.0 if short else 60.0
        first_part(place, 20)
        edits(place, ["apricot-0"], seconds, "1 person, in haste", pause=1.0)
        slugs = [f"{('apricot', 'quince', 'chestnut')[k % 3]}-{k}" for k in range(PEOPLE)]
        edits(place, slugs, seconds, f"{PEOPLE} people, each on a dessert of their own")
        edits(place, ["apricot"] * PEOPLE, seconds, f"{PEOPLE} people on one dessert")
    print(load())
    assert not missed, "; ".join(missed)


if __name__ == "__main__":
    main()
