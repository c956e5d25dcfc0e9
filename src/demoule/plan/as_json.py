"""A plan as plain data for other programs: times on the kitchen's clock with their distance from UTC."""

from __future__ import annotations

import json
from typing import Any

from demoule.plan.help import Helps
from demoule.plan.result import Plan

__all__ = ["as_json", "helps_as_json", "schema", "written_schema"]

FORM = 1
"""Version of the form: within one, names do not change, and new ones may come."""


def as_json(plan: Plan, helps: Helps | None = None) -> dict[str, Any]:
    """Everything about a plan that can be written down; `helps` None: it was not asked what would help."""
    week = plan.week

    def clock(moment: int | None) -> str | None:
        return None if moment is None else week.clock(moment).isoformat()

    return {
        "demoule": FORM,
        "kitchen": week.kitchen.name,
        "zone": week.kitchen.zone,
        "start": week.start.isoformat(),
        "works": plan.works,
        "cancelled": plan.cancelled,
        "cost": {
            "unserved_pieces": plan.cost.unserved,
            "late_min": plan.cost.late * 5,
            "overtime_min": plan.cost.overtime * 5,
            "aim": plan.cost.total,
            "bound": plan.bound,
            "gap": plan.gap,
        },
        "answers": [
            {
                "order": a.order,
                "service": clock(a.moment),
                "pieces": a.pieces,
                "ready": a.ready,
                "begins": clock(a.first_start),
                "begins_with": a.first_does,
                "could_begin_later_min": None if a.slack is None else a.slack / 60,
                "first_heart": clock(a.first_heart),
                "out_of_the_freezer": [
                    {"dessert": name, "at": clock(at), "not_before": clock(early), "not_after": clock(late)}
                    for name, at, early, late in a.into_room
                ],
                "spare": dict(a.spare),
            }
            for a in plan.answers
        ],
        "tasks": [
            {
                "job": t.job.key,
                "lot": t.job.lot,
                "kind": t.job.kind,
                "does": t.job.does,
                "person": t.person,
                "start": clock(t.start),
                "end": clock(t.end),
                "overtime": t.overtime,
                "pieces": t.job.pieces,
                "batch_g": None if t.job.batch is None else round(t.job.batch * 1000, 1),
                "trays": {mould: list(numbers) for mould, numbers in t.trays},
            }
            for t in plan.tasks
        ],
        "stays": [
            {
                "in": s.resource,
                "places": [place + 1 for place in s.places],
                "from": clock(s.start),
                "to": clock(s.end),
                "lot": s.lot,
                "why": s.why,
            }
            for s in plan.stays
        ],
        "lots": [
            {
                "lot": lot.key,
                "dessert": lot.dessert,
                "pieces": lot.pieces,
                "started": lot.started,
                "spare": lot.spare,
                "stock": lot.stock,
                "made": lot.key not in plan.unserved,
                "for": [{"demand": part.demand, "pieces": part.pieces} for part in lot.parts],
            }
            for lot in week.lots
        ],
        "staying": [
            {"person": s.person, "until": clock(s.until), "after_the_shift_min": s.after / 60, "work_min": s.work / 60}
            for s in plan.staying
        ],
        "late": [{"demand": key, "min": seconds / 60} for key, seconds in plan.late],
        "clashes": [
            {
                "lot": c.lot,
                "what": c.what,
                "facts": list(c.facts),
                "remedies": list(c.remedies),
                "about": list(c.about),
                "around": c.around,
            }
            for c in plan.clashes
        ],
        "findings": [
            {
                "severity": str(f.severity),
                "rule": f.rule,
                "where": f.where,
                "says": f.says,
                "why": f.why,
                "remedy": f.remedy,
            }
            for f in plan.findings
        ],
        "moved": [{"what": what, "why": why} for what, why in plan.moved],
        "would_help": None if helps is None else helps_as_json(helps),
        "checked": list(plan.checked),
    }


def helps_as_json(helps: Helps) -> dict[str, Any]:
    """What each change was found to bring."""
    return {
        "tried": [
            {
                "change": one.change,
                "kind": one.kind,
                "more_pieces": one.pieces,
                "less_late_min": one.late,
                "less_overtime_min": one.overtime,
                "aim": one.aim,
                "serves": list(one.serves),
            }
            for one in helps.tried
        ],
        "untried": list(helps.untried),
    }


def schema() -> dict[str, Any]:
    """The JSON Schema of what `as_json` gives."""
    from pydantic import TypeAdapter  # takes long to import, and only JSON needs it

    from demoule.plan.document import WeekDocument

    told = TypeAdapter(WeekDocument).json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "demoule week",
        **{key: value for key, value in told.items() if key != "title"},
    }


def written_schema() -> str:
    """The schema as the text of its file, docs/reference/schemas/week.json."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"
