"""The answer for one dessert, with its sources and assumptions."""

from demoule.dossier.answer import Cost, CostLine, Dossier, Label, LabelLine, Named, SourceUsed
from demoule.dossier.as_json import as_json, schema
from demoule.dossier.cooling import RULES, CoolingVerdict, cooling_verdict, cooling_verdicts
from demoule.dossier.energy import Energy, declared_energy, eu_kcal, eu_kj, us_kcal
from demoule.dossier.evidence import evidence
from demoule.dossier.hygiene import GrowthClass, GrowthVerdict, listeria_class, time_between, worst_layer
from demoule.dossier.label import EnergyOfMix, draft_label, energy_of_mix, label_of_mix
from demoule.dossier.make import dossier
from demoule.dossier.pasteurisation import HeatStep, HeatVerdict, heat_steps, pasteurised
from demoule.dossier.rounding import printed_eu, printed_us
from demoule.dossier.verdict import Verdict

__all__ = [
    "RULES",
    "CoolingVerdict",
    "Cost",
    "CostLine",
    "Dossier",
    "Energy",
    "EnergyOfMix",
    "GrowthClass",
    "GrowthVerdict",
    "HeatStep",
    "HeatVerdict",
    "Label",
    "LabelLine",
    "Named",
    "SourceUsed",
    "Verdict",
    "as_json",
    "cooling_verdict",
    "cooling_verdicts",
    "declared_energy",
    "dossier",
    "draft_label",
    "energy_of_mix",
    "eu_kcal",
    "eu_kj",
    "evidence",
    "heat_steps",
    "label_of_mix",
    "listeria_class",
    "pasteurised",
    "printed_eu",
    "printed_us",
    "schema",
    "time_between",
    "us_kcal",
    "worst_layer",
]
