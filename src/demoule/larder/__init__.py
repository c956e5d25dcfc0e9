"""What we have: ingredients with their sources."""

from demoule.larder.ingredient import Additive, Ingredient, Keeping, Nutrients, Pack, Record
from demoule.larder.larder import Larder, standard_larder

__all__ = ["Additive", "Ingredient", "Keeping", "Larder", "Nutrients", "Pack", "Record", "standard_larder"]
