"""The week: who does what when, in which mould and freezer, checked by fresh eyes before it leaves."""

from demoule.plan.aims import Cost
from demoule.plan.as_json import as_json, helps_as_json
from demoule.plan.build import build_week
from demoule.plan.checker import RULES, Broken, check
from demoule.plan.help import Help, Helps, what_would_help
from demoule.plan.kept import Fit, Kept, Place, after, again, broken_by, fits_of, kept_of, moved_by_hand
from demoule.plan.make import plan, plan_week
from demoule.plan.replan import Added, Away, Cancelled, Down, Event, Failed, replan
from demoule.plan.result import Answer, Clash, Plan, Stay, Task
from demoule.plan.search import Effort
from demoule.plan.week import Demand, Hands, Hold, Job, Lag, Lot, Part, Resource, Use, Week

__all__ = [
    "RULES",
    "Added",
    "Answer",
    "Away",
    "Broken",
    "Cancelled",
    "Clash",
    "Cost",
    "Demand",
    "Down",
    "Effort",
    "Event",
    "Failed",
    "Fit",
    "Hands",
    "Help",
    "Helps",
    "Hold",
    "Job",
    "Kept",
    "Lag",
    "Lot",
    "Part",
    "Place",
    "Plan",
    "Resource",
    "Stay",
    "Task",
    "Use",
    "Week",
    "after",
    "again",
    "as_json",
    "broken_by",
    "build_week",
    "check",
    "fits_of",
    "helps_as_json",
    "kept_of",
    "moved_by_hand",
    "plan",
    "plan_week",
    "replan",
    "what_would_help",
]
