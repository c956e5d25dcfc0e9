"""The week: who does what when, in which mould and freezer, checked by fresh eyes before it leaves."""

from demoule.plan.aims import Cost
from demoule.plan.build import build_week
from demoule.plan.checker import RULES, Broken, check
from demoule.plan.make import plan, plan_week
from demoule.plan.result import Answer, Clash, Plan, Stay, Task
from demoule.plan.search import Effort
from demoule.plan.week import Demand, Hands, Hold, Job, Lag, Lot, Part, Resource, Use, Week

__all__ = [
    "RULES",
    "Answer",
    "Broken",
    "Clash",
    "Cost",
    "Demand",
    "Effort",
    "Hands",
    "Hold",
    "Job",
    "Lag",
    "Lot",
    "Part",
    "Plan",
    "Resource",
    "Stay",
    "Task",
    "Use",
    "Week",
    "build_week",
    "check",
    "plan",
    "plan_week",
]
