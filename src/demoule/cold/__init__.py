"""What time does in the cold: freezing, keeping, standing and thawing of a piece, with bands.

Importing this layer does not load the compiled solver; the first run does.
"""

from demoule.cold.life import run_programme
from demoule.cold.programme import Programme, Room, Stage, Until
from demoule.cold.quick import CoreTime, cool_pan, time_to_core
from demoule.cold.run import ColdRun, Curve, Film, Loaded, Mark, StageRun, Still, Swing, Window, Zones
from demoule.cold.series import Conducted, conduction
from demoule.cold.softness import Softness, ice_volume, softness
from demoule.cold.surface import Surface, surface_coefficient
from demoule.cold.whole import whole_life

__all__ = [
    "ColdRun",
    "Conducted",
    "CoreTime",
    "Curve",
    "Film",
    "Loaded",
    "Mark",
    "Programme",
    "Room",
    "Softness",
    "Stage",
    "StageRun",
    "Still",
    "Surface",
    "Swing",
    "Until",
    "Window",
    "Zones",
    "conduction",
    "cool_pan",
    "ice_volume",
    "run_programme",
    "softness",
    "surface_coefficient",
    "time_to_core",
    "whole_life",
]
