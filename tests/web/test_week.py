"""Week, orders, day sheets and Log: the main act of each, and who may do it."""

from __future__ import annotations

import json
import re
import time
from datetime import UTC, datetime
from html import unescape
from typing import Any

import pytest
from starlette.testclient import TestClient

from demoule.plan import Plan, broken_by, moved_by_hand
from demoule.store import By, Kind, Role, Store
from demoule.web.week_reading import plan_of

from .conftest import sign_in
from .planned import SLUG, START, texts, week_text, with_week

WEEK = f"/week/{SLUG}"


@pytest.fixture
def week(client: TestClient, store: Store) -> TestClient:
    with_week(store)
    client.get("/week/begin")
    return client


def plan_kept() -> Plan:
    return plan_of(week_text(), texts())


def csrf(page: str) -> str:
    found = re.search(r'(?:data-csrf|name="csrf" value)="(\w+)"', page)
    assert found is not None
    return found[1]


def attempt(client: TestClient, **fields: str) -> dict[str, object]:
    data = {"csrf": csrf(client.get(WEEK).text), **fields}
    answer = client.post(f"{WEEK}/try", data=data, headers={"accept": "application/json"})
    assert answer.status_code == 200, answer.text
    told: dict[str, object] = answer.json()
    return told


def test_the_week_opens_with_its_four_answers_and_every_container(week: TestClient) -> None:
    page = week.get("/week", follow_redirects=True).text
    main = max(plan_kept().answers, key=lambda answer: answer.pieces)
    assert f"{main.pieces} pieces" in page
    for name in ("chef", "cook", "junior", "apricot 80 ml", "half sphere 15 ml", "blast freezer", "refrigerator"):
        assert f'<span class="name">{name}</span>' in page
    # Every job stands in the picture as something that can be chosen, and in the list beside it.
    for task in plan_kept().tasks:
        assert page.count(f'data-task="{task.job.key}"') >= 2, task.job.key
    assert "style=" not in page
    assert not re.search(r"<script(?![^>]* src=)", page)


def test_a_container_is_as_high_as_its_places_and_blocks_stand_at_their_hours(week: TestClient) -> None:
    from demoule.web.week_pictures import axis_of

    plan = plan_kept()
    axis = axis_of(plan)
    page = week.get(WEEK).text
    task = next(task for task in plan.tasks if task.job.kind == "fill")
    block = re.search(rf'data-task="{task.job.key}"[^>]*><title>[^<]*</title><rect x="([\d.]+)%"', page)
    assert block is not None
    assert float(block[1]) == pytest.approx(axis.x(task.start), abs=0.01)
    # An hour of the night is a sixth of an hour of the day.
    day = axis.days[1]
    hours = [axis.x(axis.at(day, hour)) for hour in (1, 2, 12, 13)]
    assert (hours[3] - hours[2]) / (hours[1] - hours[0]) == pytest.approx(6.0)


def test_a_job_moved_says_what_breaks_in_the_checkers_words_and_keeps_nothing(week: TestClient, store: Store) -> None:
    task = next(task for task in plan_kept().tasks if task.job.kind == "dip")
    told = attempt(week, job=task.job.key, later="-600", person=task.person)
    stops = str(told["regions"]["stops"])  # type: ignore[index]
    assert "This breaks" in stops
    moved = moved_by_hand(plan_kept(), task.job.key, task.start - 36000, task.person)
    words = [one.says for one in broken_by(moved) if task.job.key in one.says][:6]
    assert words
    for one in words:
        assert one[1:] in unescape(stops)
    assert f'data-task="{task.job.key}"' in stops
    assert len(store.documents.history(Kind.WEEK, SLUG)) == 1
    draft = store.drafts.of(Kind.WEEK, SLUG, "chef")
    assert draft is not None
    page = week.get(WEEK).text
    assert "Trying: not kept yet." in page
    assert "disabled" in page
    refused = week.post(f"{WEEK}/keep", data={"csrf": csrf(page), "rev": str(draft.rev)})
    assert refused.status_code == 422
    assert "breaks" in refused.text
    week.post(f"{WEEK}/as-kept", data={"csrf": csrf(page)})
    assert "Trying: not kept yet." not in week.get(WEEK).text


def test_a_job_put_to_a_fitting_hour_is_kept_once(week: TestClient, store: Store) -> None:
    from demoule.plan import fits_of

    plan = plan_kept()
    job, fit = next((task.job.key, fits[0]) for task in plan.tasks if (fits := fits_of(plan, task.job.key, tries=12)))
    clock = plan.week.clock(fit.start)
    told = attempt(week, job=job, fit=f"{clock:%Y-%m-%d}|{clock:%H:%M}|{fit.person}")
    assert told["tried"] is True
    page = week.get(WEEK).text
    assert "This breaks" not in page
    for _ in range(2):  # sent twice, kept once
        answer = week.post(
            f"{WEEK}/keep",
            data={"csrf": csrf(page), "rev": str(told["rev"]), "key": "k1", "why": "quieter"},
            headers={"accept": "application/json"},
        )
        assert answer.json()["kept"] == 2
    new = plan_of(store.documents.version(Kind.WEEK, SLUG).text, texts()).task(job)
    assert new is not None
    assert (new.start, new.person) == (fit.start, fit.person)


def test_an_hour_is_typed_as_people_write_it_and_nonsense_is_answered(week: TestClient) -> None:
    plan = plan_kept()
    task = next(task for task in plan.tasks if task.job.kind == "finish")
    day = plan.week.clock(task.start).date().isoformat()
    for words in ("09:35", "9h35", "9.35"):
        told = attempt(week, job=task.job.key, day=day, time=words, person=task.person)
        assert "09:35" in str(told["regions"]["task"]) or "09:35" in str(told["regions"]["list"])  # type: ignore[index]
    data = {"csrf": csrf(week.get(WEEK).text), "job": task.job.key, "day": day, "time": "noonish"}
    assert week.post(f"{WEEK}/try", data=data).status_code == 422


def test_two_people_move_jobs_in_one_week(week: TestClient, store: Store) -> None:
    from demoule.web.week_working import week_holds, week_moved

    def moved(*moves: dict[str, Any]) -> str:
        return str(week_moved(texts=texts(), text=week_text(), moves=list(moves)))

    # Two jobs that each have room, so that either move alone may be kept.
    free = (
        (task, minutes)
        for task in plan_kept().tasks
        for minutes in (5, -5, 10, -10)
        if not week_holds(texts=texts(), text=moved({"job": task.job.key, "later": minutes}))
    )
    mine, by = next(free)
    theirs, their_by = next(one for one in free if one[0].job.lot != mine.job.lot)
    attempt(week, job=mine.job.key, later=str(by))
    other = moved({"job": theirs.job.key, "later": their_by})
    rev = store.documents.head(Kind.WEEK, SLUG).rev
    store.documents.save(Kind.WEEK, SLUG, other, By(who="bo", at=datetime.now(UTC)), rev=rev)
    draft = store.drafts.of(Kind.WEEK, SLUG, "chef")
    assert draft is not None
    page = week.get(WEEK).text
    answer = week.post(f"{WEEK}/keep", data={"csrf": csrf(page), "rev": str(draft.rev)})
    assert answer.status_code == 409
    assert mine.job.key in unescape(answer.text)
    assert theirs.job.key in unescape(answer.text)
    fields = {
        "csrf": csrf(answer.text),
        "mine": draft.text,
        f"c:/{mine.job.key}": "mine",
        f"c:/{theirs.job.key}": "theirs",
    }
    week.post(f"{WEEK}/settle", data=fields)
    settled = store.drafts.of(Kind.WEEK, SLUG, "chef")
    assert settled is not None
    both = plan_of(settled.text, texts())
    assert both.task(mine.job.key).start == mine.start + 60 * by  # type: ignore[union-attr]
    assert both.task(theirs.job.key).start == theirs.start + 60 * their_by  # type: ignore[union-attr]


def test_planning_in_a_process_of_its_own_keeps_the_best_when_stopped(client: TestClient, store: Store) -> None:
    by = By(who="chef", at=datetime.now(UTC))
    text = "demoule: 1\norders:\n  - {what: shop, when: Sat 10:00, Chestnut: 12}\n"
    store.documents.begin(Kind.ORDERS, "Small", text, by, slug="small")
    page = client.get("/week/begin").text
    page = client.get("/week/begin").text
    sent = {"csrf": csrf(page), "book": "small", "from": START}
    where = client.post("/week/plan", data=sent, follow_redirects=False).headers["location"]
    end = time.monotonic() + 240
    stopped = False
    while True:
        told = client.get(f"{where}/state", headers={"accept": "application/json"}).json()
        if told["state"] in ("done", "failed"):
            break
        if told["state"] == "looking" and not stopped:
            stopped = True
            client.post(f"{where}/stop", data={"csrf": csrf(client.get("/week/begin").text)})
        assert time.monotonic() < end
        time.sleep(0.2)
    assert told["state"] == "done", told
    assert told["leads"] == f"/week/small-{START}"
    assert "Ready" in client.get(told["leads"]).text
    assert store.documents.version(Kind.WEEK, f"small-{START}").n == 1


def test_what_cannot_be_planned_is_said_in_words(client: TestClient, store: Store) -> None:
    by = By(who="chef", at=datetime.now(UTC))
    text = "demoule: 1\norders:\n  - {what: feast, when: Sat 10:00, Chestnut: 90000}\n"
    store.documents.begin(Kind.ORDERS, "Feast", text, by, slug="feast")
    client.get("/week/begin")
    sent = {"csrf": csrf(client.get("/week/begin").text), "book": "feast", "from": "not a day"}
    assert client.post("/week/plan", data=sent).status_code == 422
    sent["from"] = START
    where = client.post("/week/plan", data=sent, follow_redirects=False).headers["location"]
    end = time.monotonic() + 240
    while (told := client.get(f"{where}/state").json())["state"] not in ("done", "failed"):
        assert time.monotonic() < end
        time.sleep(0.2)
    assert told["state"] == "failed"
    assert "order less" in told["regions"]["progress"]


def test_a_page_of_a_planning_that_is_gone_says_so(client: TestClient) -> None:
    answer = client.get("/week/planning/nothinghere")
    assert answer.status_code == 404
    assert "What was kept is untouched" in answer.text


# ---- orders


def test_orders_are_typed_tried_and_kept_like_a_dessert(week: TestClient, store: Store) -> None:
    page = week.get("/orders", follow_redirects=True).text
    text = store.documents.version(Kind.ORDERS, "orders").text
    fields = {"csrf": csrf(page), "rev": "1", "text": text, "f:/orders/0/Apricot": "100", "f:/stock/Quince": ""}
    told = week.post("/orders/orders/figures", data=fields).json()
    assert "Apricot: 100" in told["text"]
    assert "# Invented for the demonstration" in told["text"]
    assert "Quince: 18" not in told["text"]
    assert told["notes"]["/orders/0/Apricot"] == ["was", "was 96"]
    draft = store.drafts.of(Kind.ORDERS, "orders", "chef")
    assert draft is not None
    assert draft.text == told["text"]
    kept = week.post("/orders/orders/keep", data={**fields, "key": "a"}, headers={"accept": "application/json"}).json()
    assert kept["kept"] == 2
    assert store.documents.version(Kind.ORDERS, "orders").text == told["text"]
    stale = week.post("/orders/orders/keep", data={**fields, "f:/orders/0/Apricot": "120"})
    assert stale.status_code == 409
    assert "Two people" in stale.text
    assert "Changed since this week was planned" in week.get(WEEK).text


@pytest.mark.parametrize(
    ("words", "when"),
    [
        ("wedding Saturday 18:00", "Saturday 18:00"),
        ("feast, 2026-12-12 19:30", "2026-12-12 19:30"),
        ("tea", "Saturday 19:00"),
    ],
)
def test_an_order_is_added_from_one_line_and_taken_out(week: TestClient, words: str, when: str) -> None:
    from demoule.files import orders_of

    page = week.get("/orders/orders").text
    sent = {"csrf": csrf(page), "rev": "1", "text": texts()["orders"], "act": "add order", "words": words}
    told = week.post("/orders/orders/figures", data=sent).json()
    order = orders_of(told["text"], "orders").orders[2]
    assert order.due.written == when
    assert words.startswith(order.what)
    sent |= {"text": told["text"], "act": "remove", "at": "/orders/2"}
    assert week.post("/orders/orders/figures", data=sent).json()["text"] == texts()["orders"]


def test_days_are_typed_in_french(week: TestClient) -> None:
    week.cookies.set("language", "fr")
    page = week.get("/orders/orders").text
    assert "samedi 19:30" in page
    sent = {"csrf": csrf(page), "rev": "1", "text": texts()["orders"], "f:/orders/0/when": "vendredi 18 h 30"}
    told = week.post("/orders/orders/figures", data=sent).json()
    assert "Friday 18:30" in told["text"]
    sent["f:/orders/0/when"] = "samedi 19:30"
    assert week.post("/orders/orders/figures", data=sent).json()["text"] == texts()["orders"]


def test_a_mistake_in_an_order_stands_beside_its_field(week: TestClient) -> None:
    page = week.get("/orders/orders").text
    sent = {"csrf": csrf(page), "rev": "1", "text": texts()["orders"], "f:/orders/1/when": "some day"}
    told = week.post("/orders/orders/figures", data=sent).json()
    assert told["good"] is False
    assert told["notes"]["/orders/1/when"][0] == "wrong"


# ---- day sheets and the Log


def a_day(client: TestClient, person: str = "cook") -> tuple[str, str]:
    plan = plan_kept()
    first = min(task.start for task in plan.tasks_of(person))
    day = plan.week.clock(first).date().isoformat()
    return day, client.get(f"{WEEK}/day", params={"person": person, "day": day}).text


def tick(client: TestClient, page: str, day: str, *ticks: dict[str, object], person: str = "cook") -> object:
    sent = [{"day": day, "at": f"{day}T09:00:00Z", **one} for one in ticks]
    return client.post(
        f"{WEEK}/ticks", params={"person": person, "day": day}, data={"csrf": csrf(page), "ticks": json.dumps(sent)}
    )


def test_a_tick_counts_as_what_happened_and_once(week: TestClient, store: Store) -> None:
    day, page = a_day(week)
    task = next(task for task in plan_kept().tasks_of("cook"))
    assert 'class="on"' in page
    ticks = (
        {"key": "s", "kind": "start", "task": task.job.key, "start": f"{day}T05:10:00Z"},
        {"key": "w", "kind": "weight", "task": task.job.key, "note": "sugar", "really": "812,5"},
        {"key": "t", "kind": "temperature", "task": task.job.key, "core": "−19,5"},
        {"key": "e", "kind": "end", "task": task.job.key, "end": f"{day}T05:50:00Z"},
    )
    for _ in range(2):  # a bad Wi-Fi sends twice
        assert tick(week, page, day, *ticks).status_code == 200  # type: ignore[attr-defined]
    start, weight, temperature, end = store.happened.list(SLUG)
    assert start.start == datetime.fromisoformat(f"{day}T05:10:00+00:00")
    assert weight.mass == pytest.approx(0.8125)
    assert temperature.temperature == pytest.approx(273.15 - 19.5)
    assert end.who == "cook"
    after = week.get(f"{WEEK}/day", params={"person": "cook", "day": day}).text
    assert 'class="done"' in after
    week.post(f"{WEEK}/undo", data={"csrf": csrf(after), "person": "cook", "day": day})
    assert len(store.happened.list(SLUG)) == 3
    assert len(store.happened.list(SLUG, whole=True)) == 5


def test_a_sheet_is_ticked_without_a_script(week: TestClient, store: Store) -> None:
    _, page = a_day(week)
    form = re.search(r'<form method="post"[^>]*data-note="end".*?</form>', page, re.DOTALL)
    assert form is not None
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
    fields = {key: unescape(value) for key, value in fields.items()}
    answer = week.post(f"{WEEK}/tick", data={**fields, "core": "-18"} if "core" in form[0] else fields)
    assert answer.status_code == 200
    assert fields["task"] in {one.task for one in store.happened.list(SLUG) if one.kind == "end"}


@pytest.mark.parametrize(
    ("one", "says"),
    [
        ({"kind": "weight", "note": "sugar", "really": "a lot"}, "a lot"),
        ({"kind": "temperature", "core": "cold"}, "cold"),
        ({"kind": "pieces", "pieces": "-3"}, "-3"),
        ({"kind": "dance"}, "dance"),
    ],
)
def test_what_cannot_be_read_is_answered_and_nothing_noted(
    week: TestClient, store: Store, one: dict[str, object], says: str
) -> None:
    day, page = a_day(week)
    answer = tick(week, page, day, {"key": "good", "kind": "note", "note": "fine", "task": ""}, {"key": "x", **one})
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert says in answer.text  # type: ignore[attr-defined]
    assert store.happened.list(SLUG) == ()


def test_weights_stand_on_the_sheet_as_the_weigh_up_has_them(week: TestClient) -> None:
    plan = plan_kept()
    lot = next(lot for lot in plan.week.lots if lot.weighing is not None)
    assert lot.weighing is not None
    need = lot.weighing.needs[0]
    task = min((t for t in plan.tasks if t.job.component == need.component), key=lambda t: t.start)
    day = plan.week.clock(task.start).date().isoformat()
    told = week.get(f"/api/weeks/{SLUG}/day", params={"person": task.person, "on": day}).json()
    row = next(row for row in told["rows"] if row["job"] == task.job.key)
    lines = [line["planned"] for line in row["lines"] if line["of"] == need.component]
    assert lines == [f"{line.mass * need.makings * 1000:.1f} g" for line in need.lines]


def test_the_log_lays_hours_weights_and_the_core_beside_the_plan(week: TestClient) -> None:
    plan = plan_kept()
    lot = next(lot for lot in plan.week.lots if lot.weighing is not None and any(j.kind == "demould" for j in lot.jobs))
    fill, out = (next(plan.task(j.key) for j in lot.jobs if j.kind == kind) for kind in ("fill", "demould"))
    assert fill is not None
    assert out is not None
    day, page = a_day(week)
    zero = plan.week.start
    late = 1500  # s after the plan

    def clock(moment: float) -> str:
        from datetime import timedelta

        return (zero.astimezone(UTC) + timedelta(seconds=moment)).isoformat()

    answer = tick(
        week, page, day,
        {"key": "1", "kind": "start", "task": fill.job.key, "start": clock(fill.start + late), "at": clock(fill.start)},
        {"key": "2", "kind": "end", "task": fill.job.key, "end": clock(fill.end + late), "at": clock(fill.end)},
        {"key": "3", "kind": "temperature", "task": out.job.key, "core": "-19.2", "at": clock(out.start + late)},
        {"key": "4", "kind": "pieces", "task": out.job.key, "pieces": "17", "at": clock(out.start + late)},
        {"key": "5", "kind": "note", "task": out.job.key, "note": "one torn", "at": clock(out.start + late)},
    )  # fmt: skip
    assert answer.status_code == 200  # type: ignore[attr-defined]
    html = unescape(week.get(f"/log/{SLUG}").text)
    assert "+25\u202fmin" in html
    assert "−19.2" in html
    assert "one torn" in html
    assert 'class="band-area"' in html
    assert "<b>17</b>" in html
    told = week.get(f"/api/weeks/{SLUG}/log").json()
    assert told["lots"][0]["lot"] == lot.key
    assert {row["off"] for row in told["lots"][0]["hours"]} == {25}


def test_who_is_where_at_a_moment_is_what_the_plan_says(week: TestClient) -> None:
    plan = plan_kept()
    task = next(task for task in plan.tasks if task.job.kind == "fill")
    moment = plan.week.clock(task.start + 300).isoformat()
    told = week.get(f"/api/weeks/{SLUG}/now", params={"at": moment}).json()
    person = next(one for one in told["people"] if one["person"] == task.person)
    assert [one["job"] for one in person["does"]] == [task.job.key]
    mould = task.job.trays[0][0]
    place = next(one for one in told["places"] if one["name"] == mould)
    assert task.job.lot in {one["lot"] for one in place["inside"]}
    assert week.get(f"{WEEK}/now").status_code == 200


def test_the_week_goes_to_paper_lists_and_calendars(week: TestClient) -> None:
    assert week.get(f"{WEEK}/week.pdf").content.startswith(b"%PDF-")
    assert week.get(f"{WEEK}/paper").text.count("<img ") >= 3
    assert week.get(f"{WEEK}/paper/1.svg").text.startswith("<svg")
    assert week.get(f"{WEEK}/paper/999.svg").status_code == 404
    assert week.get(f"{WEEK}/lists/day-sheets.csv").text.startswith("day,person,from")
    assert week.get(f"{WEEK}/lists/..%2f..%2fetc").status_code == 404
    mine = week.get(f"{WEEK}/week.ics", params={"person": "cook"}).text
    assert mine.count("BEGIN:VEVENT") == len(plan_kept().tasks_of("cook"))
    assert "/week/paper" in week.get("/paper/apricot").text


# ---- people, programs, languages


def test_a_reader_looks_a_cook_ticks_and_a_chef_plans(team: TestClient, store: Store) -> None:
    with_week(store)
    by = By(who="ada", at=datetime.now(UTC))
    store.people.add("dee", Role.COOK, "plum stones in dee's jar", by)
    job = plan_kept().tasks[-1].job.key
    day = START
    for name, may_tick, may_plan in (("cy", False, False), ("dee", True, False), ("bo", True, True)):
        sign_in(team, name)
        page = team.get(WEEK).text
        assert ("/change" in page) is may_plan
        sheet = team.get(f"{WEEK}/day").text
        assert ("undo-tick" in sheet) is may_tick
        noted = tick(team, sheet, day, {"key": name, "kind": "note", "note": "x", "task": job})
        assert noted.status_code == (200 if may_tick else 403)  # type: ignore[attr-defined]
        moved = team.post(f"{WEEK}/try", data={"csrf": csrf(sheet), "job": job, "later": "5"})
        assert moved.status_code == (200 if may_plan else 403)
        kept = team.post("/orders/orders/keep", data={"csrf": csrf(sheet), "text": texts()["orders"], "rev": "1"})
        assert kept.status_code == (200 if may_plan else 403)
        team.post("/sign-out", data={"csrf": csrf(sheet)})
    assert {one.who for one in store.happened.list(SLUG)} == {"cook"}


def test_a_post_from_elsewhere_is_refused(week: TestClient) -> None:
    for path in ("try", "keep", "as-kept", "change", "settle", "restore", "ticks", "tick", "undo"):
        assert week.post(f"{WEEK}/{path}", data={"csrf": "0" * 64}).status_code == 403, path
    assert week.post("/week/plan", data={"csrf": ""}).status_code == 403
    for path in ("figures", "keep", "settle", "as-kept", "restore"):
        assert week.post(f"/orders/orders/{path}", data={}).status_code == 403, path


def test_programs_do_the_same(week: TestClient, store: Store) -> None:
    week.cookies.clear()
    week.headers["accept"] = "application/json"
    assert week.get("/api/weeks").json()[0]["slug"] == SLUG
    told = week.get(f"/api/weeks/{SLUG}").json()
    assert told["plan"]["broken"] == []
    assert len(told["plan"]["tasks"]) == len(plan_kept().tasks)
    job = next(task.job.key for task in plan_kept().tasks if task.job.kind == "dip")
    moved = week.post(f"/api/weeks/{SLUG}/moves", json={"moves": [{"job": job, "later": -600}]}).json()
    assert moved["broken"]
    refused = week.put(f"/api/weeks/{SLUG}", json={"rev": moved["rev"]})
    assert refused.status_code == 422
    assert week.delete(f"/api/weeks/{SLUG}/tried").status_code == 204
    assert week.get(f"/api/weeks/{SLUG}/fits", params={"job": "nothing"}).status_code == 422
    noted = week.post(
        f"/api/weeks/{SLUG}/happened",
        json={"ticks": [{"key": "p", "kind": "weight", "day": START, "task": job, "mass": "28 oz", "note": "sugar"}]},
    )
    # An avoirdupois ounce is 28.349523125 g by definition. Source: nist-sp811, appendix B (recalled).
    assert noted.json()[0]["mass"] == pytest.approx(28 * 0.028349523125)
    book = week.get("/api/orders/orders").json()
    saved = week.put("/api/orders/orders", json={"text": book["text"] + "# more\n", "rev": book["rev"]})
    assert saved.json()["n"] == 2
    assert week.put("/api/orders/orders", json={"text": book["text"], "rev": book["rev"]}).status_code == 409
    paths = week.get("/api/openapi.json").json()["paths"]
    assert {"/api/weeks/{slug}/moves", "/api/weeks/{slug}/happened", "/api/plannings/{ident}"} <= set(paths)


@pytest.mark.parametrize(
    "path", [WEEK, f"{WEEK}/day", f"{WEEK}/now", f"/log/{SLUG}", f"{WEEK}/paper", "/orders/orders", "/week/begin"]
)
def test_every_page_stands_in_french(week: TestClient, path: str) -> None:
    week.cookies.set("language", "fr")
    page = re.sub(r"<textarea.*?</textarea>", " ", week.get(path).text, flags=re.DOTALL)  # a file keeps its own words
    page = unescape(re.sub(r"<[^>]+>", " ", page))
    assert 'lang="fr"' in week.get(path).text
    for english in (" rests", "Fill ", "Demould", "Take out", "freezer", "not kept", "pieces kept", "Ready", "Monday"):
        assert english not in page, english


def test_words_stand_in_both_languages_with_the_same_blanks() -> None:
    import tomllib
    from importlib import resources

    folder = resources.files("demoule.web").joinpath("words")
    en, fr = (
        tomllib.loads(folder.joinpath(f"{language}-week.toml").read_text(encoding="utf-8")) for language in ("en", "fr")
    )
    blanks = re.compile(r"\{(\w+)\}")
    for table, texts_of in en.items():
        assert set(texts_of) == set(fr[table]), table
        for key, words in texts_of.items():
            assert set(blanks.findall(words)) == set(blanks.findall(fr[table][key])), key
    for english, french in fr["week_says"].items():
        assert set(blanks.findall(french)) <= set(blanks.findall(english)), english


def test_what_the_planner_says_has_its_french() -> None:
    from demoule.web.week_words import told

    plan = plan_kept()
    english = [finding.says for finding in plan.findings] + [finding.why for finding in plan.findings]
    english += [finding.remedy for finding in plan.findings if finding.remedy]
    english += [job.does for lot in plan.week.lots for job in lot.jobs]
    english += [lag.why for lot in plan.week.lots for lag in lot.lags]
    english += [stay.why for stay in plan.stays]
    english += list(plan.checked)
    for task in plan.tasks[::7]:
        moved = moved_by_hand(plan, task.job.key, max(task.start - 36000, 0), "cook")
        english += [one.says for one in broken_by(moved)]
    assert len(english) > 30
    same = {"machines"}  # one word in both languages
    assert {words for words in english if told(words, "fr") == words} - same == set()


def test_a_kept_week_is_taken_in_again_from_its_file(client: TestClient, store: Store) -> None:
    page = client.get("/").text
    files = {"files": ("week-50.yaml", week_text().encode())}
    assert client.post("/take-in", data={"csrf": csrf(page)}, files=files).status_code in (200, 303)
    assert store.documents.version(Kind.WEEK, "week-50").text == week_text()
