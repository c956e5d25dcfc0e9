"""What the place does to a cooking: its height above the sea, its hob, its pans and its rooms."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.errors import UnknownName
from demoule.physics.tissue import Tissue
from demoule.units import Fraction, Kelvin, Metre, Watt, WattPerSquareMetreKelvin

__all__ = ["Chill", "Surroundings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chill:
    """A room in which a component cools: its air, and the heat it takes from a surface."""

    name: str
    air: Kelvin
    surface: WattPerSquareMetreKelvin


# Air and surface coefficients of common equipment (practice); a kitchen's own rooms replace them.
_USUAL_ROOMS = (
    Chill(name="refrigerator", air=276.15, surface=10.0),
    Chill(name="blast freezer", air=238.15, surface=20.0),
    Chill(name="freezer", air=253.15, surface=8.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What cooking depends on beside the component.

    Parameters
    ----------
    altitude
        Above sea level [m].
    hob_power, hob_efficiency
        Electric power of one hob [W], and the share that reaches the pot.
    air
        Temperature of the warm kitchen [K].
    pans
        Diameters of the pans [m].
    rooms
        Where things are cooled.
    factors
        Learned in this kitchen: "evaporation", "hob" (heat into the pot) and "candying" (its speed) multiply what is
        computed.
    tissues
        Flesh of fruit as candying here has taught it, by component; "" counts for all fruit.
    folding
        Share of the air that folding loses here; None: the usual share.
    """

    altitude: Metre = 0.0
    hob_power: Watt = 3500.0
    hob_efficiency: Fraction = 0.85
    air: Kelvin = 295.15
    pans: tuple[Metre, ...] = (0.16, 0.20, 0.24, 0.28)
    rooms: tuple[Chill, ...] = _USUAL_ROOMS
    factors: tuple[tuple[str, float], ...] = ()
    tissues: tuple[tuple[str, Tissue], ...] = ()
    folding: Fraction | None = None

    @property
    def heat(self) -> Watt:
        """Heat that one hob puts into a pot at full power [W]."""
        return self.hob_power * self.hob_efficiency * self.factor("hob")

    def factor(self, what: str) -> float:
        """A learned factor, 1 when nothing was learned."""
        return dict(self.factors).get(what, 1.0)

    def tissue(self, component: str) -> Tissue | None:
        """What was learned of a component's fruit, or of all fruit; None when nothing was."""
        known = dict(self.tissues)
        return known.get(component, known.get(""))

    def room(self, name: str) -> Chill:
        """A room by name; without a name the refrigerator, or the mildest room that is above freezing.

        Raises
        ------
        UnknownName
            When no room is called so.
        """
        if name:
            for room in self.rooms:
                if room.name.casefold() == name.casefold():
                    return room
            if name.casefold() in {"kitchen", "bench", "room"}:
                return Chill(name=name, air=self.air, surface=8.0)
            raise UnknownName("room", name, [room.name for room in self.rooms])
        above = [room for room in self.rooms if room.air > 273.15]
        return min(above, key=lambda room: room.air, default=_USUAL_ROOMS[0])

    @property
    def coldest(self) -> Chill:
        """The coldest room."""
        return min(self.rooms, key=lambda room: room.air, default=_USUAL_ROOMS[1])
