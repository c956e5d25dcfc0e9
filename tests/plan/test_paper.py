"""The week on paper, as tables and in a calendar: they tell of the same jobs as the plan."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import jsonschema
import pytest
import vobject
from icalendar import Calendar
from pypdf import PdfReader

from demoule.plan import Help, Helps, Plan, as_json
from demoule.plan.as_json import written_schema
from demoule.sheets.week_calendar import week_calendar
from demoule.sheets.week_containers import lanes_of
from demoule.sheets.week_lists import day_sheets, deliveries, labels, pull_list, week_csv
from demoule.sheets.week_paper import week_pdf
from demoule.sheets.week_picture import lot_marks, week_svg


def test_every_job_stands_on_one_day_sheet(made: Plan):
    rows = [row for sheet in day_sheets(made) for row in sheet.rows]
    assert len(rows) == len(made.tasks)
    fill = next(row for row in rows if row.lot == "Quince 1" and "fill moulds" in row.does)
    assert fill.trays == "quince 110 ml, trays 1–4"
    assert "32 pieces" in fill.amount


def test_the_pull_list_holds_every_piece_that_is_served(made: Plan):
    assert sum(row.pieces for row in pull_list(made)) == sum(demand.pieces for demand in made.week.demands)


def test_what_is_delivered_is_there_before_it_is_used(made: Plan):
    for delivery in deliveries(made):
        assert any(made.week.clock(task.start).date() == delivery.day for task in made.tasks)
        for line in delivery.lines:
            assert line.need > 0


def test_packs_of_all_deliveries_cover_what_is_weighed(made: Plan):
    bought: dict[str, float] = {}
    for delivery in deliveries(made):
        for line in delivery.lines:
            packed = sum(pack.mass * count for pack, count in line.packs)
            bought[line.ingredient.name] = bought.get(line.ingredient.name, 0.0) + (packed or line.need)
    weighed: dict[str, float] = {}
    for lot in made.week.lots:
        for need in lot.weighing.needs if lot.weighing else ():
            for line in need.lines:
                if not line.is_component and line.what != "water":  # nobody orders it
                    name = made.week.worked[lot.dessert].larder.find(line.what).name
                    weighed[name] = weighed.get(name, 0.0) + line.exact * need.makings
    for name, mass in weighed.items():
        assert bought.get(name, 0.0) >= mass * (1 - 1e-6), name


def test_a_label_says_until_when(made: Plan):
    finished = [row for row in labels(made) if row.what.startswith("Quince, 32")]
    assert finished
    assert finished[0].allergens
    assert finished[0].lot.endswith("Q1")


def test_marks_are_one_for_each_lot(made: Plan):
    marks = [mark for lot, mark in lot_marks(made).items() if "stock" not in lot]
    assert len(set(marks)) == len(marks)


def test_the_picture_is_well_formed_and_shows_every_job_and_container(made: Plan):
    root = ET.fromstring(week_svg(made))
    ids = [element.get("id", "") for element in root.iter()]
    assert sum(name.startswith("task-") for name in ids) == len(made.tasks)
    words = "".join(root.itertext())
    for name in ("chef", "cook", "junior", "blast freezer", "store freezer", "refrigerator", "apricot 80 ml"):
        assert name in words


def test_tables_are_read_back(made: Plan):
    tables = week_csv(made)
    rows = list(csv.reader(io.StringIO(tables["day-sheets.csv"])))
    assert len(rows) == len(made.tasks) + 1
    assert {len(row) for row in rows} == {len(rows[0])}


def test_the_calendar_is_read_back_with_real_hours(made: Plan):
    calendar = Calendar.from_ical(week_calendar(made))
    events = {str(event["uid"]): event for event in calendar.walk("VEVENT")}
    assert len(events) == len(made.tasks) + len(made.answers)
    fill = next(
        e for e in events.values() if str(e["summary"]).startswith("Quince 1: ") and "fill moulds" in e["summary"]
    )
    task = made.task("Quince 1 fill")
    assert task is not None
    assert fill["dtstart"].dt == made.week.clock(task.start)
    assert fill["dtend"].dt - fill["dtstart"].dt == datetime.timedelta(seconds=task.job.seconds)
    assert calendar.walk("VTIMEZONE")[0]["tzid"] == "Europe/Vienna"


def test_a_rest_across_the_change_of_the_clock_keeps_its_hours_in_the_calendar(made: Plan):
    # The same plan, seven real days laid over the last Sunday of October (Directive 2000/84/EC, recalled).
    start = datetime.datetime(2026, 10, 19, tzinfo=ZoneInfo("Europe/Vienna"))
    week = replace(made.week, start=start)
    evening = 5 * 86400 + 20 * 3600
    tasks = (
        replace(made.tasks[0], start=evening, end=evening + 300),
        replace(made.tasks[1], start=evening + 12 * 3600, end=evening + 12 * 3600 + 300),
    )
    calendar = Calendar.from_ical(week_calendar(replace(made, week=week, tasks=tasks, answers=())))
    one, other = (event["dtstart"].dt for event in calendar.walk("VEVENT"))
    assert other.astimezone(datetime.UTC) - one.astimezone(datetime.UTC) == datetime.timedelta(hours=12)
    assert (one.hour, other.hour) == (20, 7)


@pytest.mark.parametrize("start", [datetime.date(2026, 10, 19), datetime.date(2026, 3, 23)], ids=["autumn", "spring"])
def test_another_library_reads_the_calendar_and_finds_nothing_missing(made: Plan, start: datetime.date):
    week = replace(made.week, start=datetime.datetime.combine(start, datetime.time(), ZoneInfo("Europe/Vienna")))
    text = week_calendar(replace(made, week=week)).decode()
    read = vobject.readOne(text)
    assert read.validate(raiseException=True)
    by_hour = {str(event.uid.value): event for event in read.vevent_list}
    assert len(by_hour) == len(made.tasks) + len(made.answers)
    for event in by_hour.values():
        assert event.dtstamp.value.tzinfo is not None
        assert event.dtend.value > event.dtstart.value
    # Its own reading of the zone that the file brings along gives the same moments, on both sides of the change.
    hours = sorted(e.dtstart.value.astimezone(datetime.UTC) for e in by_hour.values())
    wanted = [week.clock(task.start) for task in made.tasks] + [week.clock(a.moment) for a in made.answers]
    assert hours == sorted(moment.astimezone(datetime.UTC) for moment in wanted)
    # Lines end as RFC 5545, 3.1 asks, and none is longer than 75 octets.
    lines = text.encode().split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)


@pytest.mark.parametrize(
    ("start", "clock"),
    [
        (datetime.datetime(2026, 10, 24, 20, tzinfo=ZoneInfo("Europe/Vienna")), 7),  # 25 October has 25 hours
        (datetime.datetime(2026, 3, 28, 20, tzinfo=ZoneInfo("Europe/Vienna")), 9),  # 29 March has 23
    ],
)
def test_twelve_hours_of_rest_are_twelve_real_hours(made: Plan, start: datetime.datetime, clock: int):
    monday = start.replace(hour=0) - datetime.timedelta(days=5)
    week = replace(made.week, start=monday)
    evening = round((start.astimezone(datetime.UTC) - monday.astimezone(datetime.UTC)).total_seconds())
    tasks = (
        replace(made.tasks[0], start=evening, end=evening + 300),
        replace(made.tasks[1], start=evening + 12 * 3600, end=evening + 12 * 3600 + 300),
    )
    read = vobject.readOne(week_calendar(replace(made, week=week, tasks=tasks, answers=())).decode())
    one, other = (event.dtstart.value for event in read.vevent_list)
    assert other.astimezone(datetime.UTC) - one.astimezone(datetime.UTC) == datetime.timedelta(hours=12)
    assert (one.hour, other.hour) == (20, clock)


def test_the_hour_that_comes_twice_is_told_apart(made: Plan):
    # 02:30 and 02:30 again on 25 October: a time on the clock means the first (RFC 5545, 3.3.5).
    week = replace(made.week, start=datetime.datetime(2026, 10, 19, tzinfo=ZoneInfo("Europe/Vienna")))
    first = 6 * 86400 + 2 * 3600 + 1800
    tasks = tuple(
        replace(task, start=at, end=at + 300) for task, at in zip(made.tasks[:2], (first, first + 3600), strict=True)
    )
    calendar = Calendar.from_ical(week_calendar(replace(made, week=week, tasks=tasks, answers=())))
    one, other = (event["dtstart"].dt for event in calendar.walk("VEVENT"))
    assert other.astimezone(datetime.UTC) - one.astimezone(datetime.UTC) == datetime.timedelta(hours=1)


def test_a_plan_made_later_replaces_the_entries_of_the_one_before(made: Plan):
    later = replace(made, week=replace(made.week, now=3 * 86400))
    one, other = (Calendar.from_ical(week_calendar(plan)).walk("VEVENT")[0] for plan in (made, later))
    assert one["uid"] == other["uid"]
    assert other["dtstamp"].dt > one["dtstamp"].dt


def test_a_week_as_json_keeps_to_the_published_schema(made: Plan):
    published = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "week.json"
    # To renew it: write `written_schema()` of demoule.plan.as_json into this file.
    assert published.read_text(encoding="utf-8") == written_schema()
    told = json.loads(published.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(told)
    short = Helps(tried=(Help(change="a tray", kind="tray", pieces=1, late=0.0, overtime=0.0, aim=1),), untried=("b",))
    for helps in (None, short):
        plain = json.loads(json.dumps(as_json(made, helps), allow_nan=False))
        jsonschema.Draft202012Validator(told).validate(plain)
    del plain["tasks"][0]["person"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(told).validate(plain)


def test_the_page_on_json_names_every_key_of_a_week(made: Plan):
    page = (Path(__file__).parents[2] / "docs" / "reference" / "json.md").read_text(encoding="utf-8")
    part = page.partition("\n## week\n")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`.*?) \|", part, re.MULTILINE)
    assert set(as_json(made)) == {key for row in rows for key in re.findall(r"`([a-z_]+)`", row)}


def test_machines_stand_in_the_picture_and_no_two_uses_in_one_lane_meet(made: Plan):
    words = "".join(ET.fromstring(week_svg(made)).itertext())
    for resource in made.week.resources:
        if resource.kind != "machine" or resource.counted == "pan":
            continue
        by_lane: dict[int, list[tuple[int, int]]] = {}
        for lane, task, end in lanes_of(made, resource.name):
            assert lane < resource.amount
            by_lane.setdefault(lane, []).append((task.start, end))
        assert by_lane
        assert resource.name in words
        for spans in by_lane.values():
            assert all(one[1] <= other[0] for one, other in pairwise(sorted(spans)))


def test_rooms_carry_a_hatch_besides_their_colour(made: Plan):
    # Blast freezer dense, store freezer wide, refrigerator dashes: a grey copy tells them apart.
    text = week_svg(made, theme="print")
    for name in ("dense", "wide", "dashes"):
        assert text.count(f"url(#room-{name})") == 1
    assert "−36 °C" in text


def test_pieces_are_taken_out_between_the_hours_told(made: Plan):
    for answer in made.answers:
        for _, at, early, late in answer.into_room:
            assert early <= at <= late
    shelves = [row for row in pull_list(made) if "stock" not in row.lot]
    assert all(row.out_of.startswith("store freezer, level") for row in shelves)


def test_nobody_orders_water_and_a_label_says_whose_it_is(made: Plan):
    assert not any(line.ingredient.name == "water" for delivery in deliveries(made) for line in delivery.lines)
    assert any(row.what == "coating, for Apricot" for row in labels(made))
    assert any(row.where == "store freezer, −20 °C" for row in labels(made))


def test_a_pan_has_one_label_and_what_keeps_for_months_a_day(made: Plan):
    cooked = [row.what for row in labels(made) if ", for " in row.what]
    lots = [(row.what, row.lot) for row in labels(made) if ", for " in row.what]
    assert cooked
    assert len(set(lots)) == len(lots)
    finished = next(row for row in labels(made) if row.what.startswith("Quince, 32"))
    assert datetime.datetime.strptime(finished.keep, "%a %d %b %Y")
    assert next(row for row in labels(made) if row.what.startswith("coating")).keep[-3] == ":"


def test_a_day_sheet_says_where_to_put_it_and_when_there_is_a_break(made: Plan):
    fill = next(r for sheet in day_sheets(made) for r in sheet.rows if r.lot == "Quince 1" and "fill moulds" in r.does)
    assert fill.notes.startswith("into the blast freezer, level")
    assert any("break 11:30 to 12:00" in sheet.hours for sheet in day_sheets(made))


def test_who_stays_after_the_shift_is_said_with_all_the_hours_until_it_is_done(made: Plan):
    # Five minutes of work an hour and a half after the end of the chef's Tuesday.
    end = [b for _, b in made.week.hands[0].blocks][3]
    late = replace(made.tasks[0], person="chef", start=end + 5400, end=end + 5700, overtime=True)
    (one,) = replace(made, tasks=(late,)).staying
    assert (one.person, one.until - end, one.after, one.work) == ("chef", 5700, 5700, 300)
    assert made.week.told(one.until) == "Tue 17:05"


def test_letter_paper_has_the_same_sheets(made: Plan):
    pages = PdfReader(io.BytesIO(week_pdf(made, paper="letter"))).pages
    assert float(pages[1].mediabox.width) == pytest.approx(612, abs=1)
    assert all(page.extract_text().strip() for page in pages)


def test_the_same_plan_gives_the_same_paper(made: Plan):
    one, other = week_pdf(made), week_pdf(made)
    assert one == other
    pages = PdfReader(io.BytesIO(one)).pages
    text = "".join(page.extract_text() for page in pages)
    assert "Out of the freezer" in text
    assert "To be in the house" in text
    assert len(pages) > 10
