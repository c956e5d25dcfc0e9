"""The week on paper, as tables and in a calendar: they tell of the same jobs as the plan."""

from __future__ import annotations

import csv
import datetime
import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from zoneinfo import ZoneInfo

from icalendar import Calendar
from pypdf import PdfReader

from demoule.plan import Plan
from demoule.sheets.week_calendar import week_calendar
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
                if not line.is_component:
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


def test_the_same_plan_gives_the_same_paper(made: Plan):
    one, other = week_pdf(made), week_pdf(made)
    assert one == other
    pages = PdfReader(io.BytesIO(one)).pages
    text = "".join(page.extract_text() for page in pages)
    assert "Out of the freezer" in text
    assert "To be in the house" in text
    assert len(pages) > 10
