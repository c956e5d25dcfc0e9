"""What we have: ingredients with their sources."""

from demoule.larder.allergens import AllergenGroup, allergen_groups, allergen_names, in_other_market
from demoule.larder.hydrolysates import dextrose_equivalent, hydrolysate, mean_molar_mass
from demoule.larder.ingredient import NUTRIENTS, Additive, Ingredient, Keeping, Nutrients, Pack, Record
from demoule.larder.larder import Larder, standard_larder
from demoule.larder.limits import (
    CATEGORIES,
    ColourFact,
    ColourRule,
    Verdict,
    check_colour,
    check_colours,
    colour_fact,
    colour_rules,
    sulphites_declared,
    warning_phrase,
)
from demoule.larder.mixing import Mixed, mix
from demoule.larder.own import PER_100_G, own_item
from demoule.larder.rules.gelatine import LeafGrade, leaf_grades
from demoule.larder.spirits import ethanol_by_mass, spirit_density

__all__ = [
    "CATEGORIES",
    "NUTRIENTS",
    "PER_100_G",
    "Additive",
    "AllergenGroup",
    "ColourFact",
    "ColourRule",
    "Ingredient",
    "Keeping",
    "Larder",
    "LeafGrade",
    "Mixed",
    "Nutrients",
    "Pack",
    "Record",
    "Verdict",
    "allergen_groups",
    "allergen_names",
    "check_colour",
    "check_colours",
    "colour_fact",
    "colour_rules",
    "dextrose_equivalent",
    "ethanol_by_mass",
    "hydrolysate",
    "in_other_market",
    "leaf_grades",
    "mean_molar_mass",
    "mix",
    "own_item",
    "spirit_density",
    "standard_larder",
    "sulphites_declared",
    "warning_phrase",
]
