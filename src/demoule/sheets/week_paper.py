"""The week on paper: the picture, what to mind, a sheet for each person's day, and the lists."""

from __future__ import annotations

from typing import Any, Literal

from demoule.plan import Plan
from demoule.sheets.typesetting import set_pdf, set_svg_pages
from demoule.sheets.week_lists import day_sheets, deliveries, labels, pull_list
from demoule.sheets.week_picture import week_svg
from demoule.units import shown
from demoule.units.showing import System

__all__ = ["week_pages", "week_pdf"]

PaperSize = Literal["a4", "letter"]
_PAPER = {"a4": "a4", "letter": "us-letter"}


def week_pdf(plan: Plan, *, paper: PaperSize = "a4", system: System = "metric") -> bytes:
    """The sheets of a week as a tagged PDF that follows PDF/UA-1."""
    return set_pdf("week.typ", {**_model(plan, system), "paper": _PAPER[paper]})


def week_pages(plan: Plan, *, paper: PaperSize = "a4", system: System = "metric") -> list[str]:
    """The same pages as SVG."""
    return set_svg_pages("week.typ", {**_model(plan, system), "paper": _PAPER[paper]})


def _spare(plan: Plan) -> dict[str, int]:
    """Good pieces that the lots of the week would give beyond the orders, by dessert."""
    return dict(pair for answer in plan.answers for pair in answer.spare)


def _model(plan: Plan, system: System) -> dict[str, Any]:
    week = plan.week
    words = {"stop": "Stop.", "caution": "Caution.", "note": "Note."}

    def told(moment: int | None) -> str:
        return "" if moment is None else week.told(moment)

    return {
        "title": f"Week {week.start.isocalendar().week}, {week.kitchen.name}",
        "kitchen": week.kitchen.name,
        "picture": week_svg(plan, theme="print", most_findings=0),
        "picture_alt": "The week as containers: hands, moulds and rooms with what is in them, hour by hour",
        "answers": [
            {
                "order": answer.order,
                "service": week.told(answer.moment),
                "pieces": answer.pieces,
                "ready": answer.ready,
                "begins": told(answer.first_start),
                "does": answer.first_does,
                "heart": told(answer.first_heart),
                "out": [
                    {"dessert": name, "at": told(at), "early": told(early), "late": told(late)}
                    for name, at, early, late in answer.into_room
                ],
            }
            for answer in plan.answers
        ],
        "spare": ", ".join(f"{name} {count}" for name, count in _spare(plan).items()),
        "staying": [
            f"{one.person} until {week.told(one.until)}, {one.after / 3600:.1f} h after the shift, for "
            f"{one.work / 60:.0f} min of work"
            for one in plan.staying
        ],
        "findings": [
            {
                "severity": str(finding.severity),
                "word": words[str(finding.severity)],
                "says": finding.says,
                "why": finding.why,
                "remedy": finding.remedy[:1].upper() + finding.remedy[1:],
            }
            for finding in plan.findings
        ],
        "moved": [list(pair) for pair in plan.moved],
        "checked": f"Checked: {', '.join(plan.checked)}.",
        "sheets": [
            {
                "person": sheet.person,
                "day": f"{sheet.day:%A %d %B}",
                "hours": sheet.hours,
                "rows": [
                    {
                        "at": row.at,
                        "until": row.until,
                        "mark": row.mark,
                        "does": row.does,
                        "amount": row.amount,
                        "trays": row.trays,
                        "notes": row.notes,
                        "overtime": row.overtime,
                    }
                    for row in sheet.rows
                ],
            }
            for sheet in day_sheets(plan, system)
        ],
        "pull": [
            {
                "at": row.at,
                "not_before": row.not_before,
                "not_after": row.not_after,
                "order": row.order,
                "dessert": row.dessert,
                "lot": row.lot,
                "pieces": row.pieces,
                "room": row.room,
                "service": row.service,
                "person": row.person,
                "out_of": row.out_of,
                "day": f"{row.day:%A %d %B}",
            }
            for row in pull_list(plan)
        ],
        "deliveries": [
            {
                "day": f"{delivery.day:%A %d %B}",
                "lines": [
                    {
                        "what": line.ingredient.name,
                        "need": shown(line.need * 1000, "g", system=system),
                        "packs": ", ".join(f"{count} × {pack.name}" for pack, count in line.packs) or "by weight",
                    }
                    for line in delivery.lines
                ],
            }
            for delivery in deliveries(plan)
        ],
        "labels": [
            {
                "what": row.what,
                "lot": row.lot,
                "made": row.made,
                "keep": row.keep,
                "where": row.where,
                "allergens": row.allergens,
            }
            for row in labels(plan)
        ],
    }
