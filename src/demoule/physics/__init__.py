"""Published equations: how a mixture behaves, one quantity a function, over composition and temperature."""

from demoule.physics.boiling import (
    ATMOSPHERE,
    boiling_point,
    boiling_stretched,
    pressure_at_altitude,
    solids_at_boiling_point,
    steam_pressure,
    water_left_at_boiling_point,
    water_lost_to_solids,
)
from demoule.physics.density import (
    aerated_density,
    density_of_mix,
    density_of_sucrose_solution,
    density_of_water,
    density_stretched,
)
from demoule.physics.fat import FAT_HEAT, fat_heat, solid_fat
from demoule.physics.freezing import (
    freezing_point,
    freezing_stretched,
    glass_onset,
    ice_fraction,
    ice_share,
    latent_heat_of_ice,
)
from demoule.physics.heat import (
    conductivity,
    conductivity_with_air,
    conductivity_with_ice,
    enthalpy,
    heat_stretched,
    specific_heat,
)
from demoule.physics.refraction import (
    baume,
    brix_from_baume,
    brix_from_refractive_index,
    refractive_index,
    refractive_index_of_mix,
    soluble_solids,
    soluble_solids_stretched,
)
from demoule.physics.solubility import SOLUBLE, SucroseTable, solubility, solubility_stretched, sucrose_solubility
from demoule.physics.sweetness import RELATIVE_SWEETNESS, Sweetness, sweetness
from demoule.physics.thermal import ThermalTable, thermal_table
from demoule.physics.viscosity import viscosity_of_mix, viscosity_of_sucrose_solution, viscosity_stretched
from demoule.physics.water import (
    WaterPhase,
    water_activity,
    water_activity_over_ice,
    water_activity_stretched,
    water_held,
    water_phase,
)

__all__ = [
    "ATMOSPHERE",
    "FAT_HEAT",
    "RELATIVE_SWEETNESS",
    "SOLUBLE",
    "SucroseTable",
    "Sweetness",
    "ThermalTable",
    "WaterPhase",
    "aerated_density",
    "baume",
    "boiling_point",
    "boiling_stretched",
    "brix_from_baume",
    "brix_from_refractive_index",
    "conductivity",
    "conductivity_with_air",
    "conductivity_with_ice",
    "density_of_mix",
    "density_of_sucrose_solution",
    "density_of_water",
    "density_stretched",
    "enthalpy",
    "fat_heat",
    "freezing_point",
    "freezing_stretched",
    "glass_onset",
    "heat_stretched",
    "ice_fraction",
    "ice_share",
    "latent_heat_of_ice",
    "pressure_at_altitude",
    "refractive_index",
    "refractive_index_of_mix",
    "solid_fat",
    "solids_at_boiling_point",
    "solubility",
    "solubility_stretched",
    "soluble_solids",
    "soluble_solids_stretched",
    "specific_heat",
    "steam_pressure",
    "sucrose_solubility",
    "sweetness",
    "thermal_table",
    "viscosity_of_mix",
    "viscosity_of_sucrose_solution",
    "viscosity_stretched",
    "water_activity",
    "water_activity_over_ice",
    "water_activity_stretched",
    "water_held",
    "water_left_at_boiling_point",
    "water_lost_to_solids",
    "water_phase",
]
