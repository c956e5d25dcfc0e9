"""What the bench does to a finished piece, and what was learned in this kitchen."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.dossier.checks.registry import check, finding
from demoule.dossier.coat_figures import HOLDS, RIME, bath_of, bench_of, standing
from demoule.dossier.soft_figures import good_match, good_of
from demoule.dossier.view import View
from demoule.dossier.words import degrees, opened, rounded
from demoule.figures import Finding, Severity

__all__ = ["against_good_batch", "frost_on_bench", "learned_factors", "topping_up"]

_AT_EASE = 600.0  # s to the frost that spoils a skin, beyond which nobody need hurry (judged)
_APART = 0.05  # share of the volume in ice by which a cut feels different (judged)
_FEW = 20  # pieces


@check("frost on the bench", looks_at="how soon frost settles where pieces are finished", source="lewis-relation")
def frost_on_bench(view: View) -> Iterator[Finding]:
    """A frozen piece in the air of the room in which it is dipped and sprayed."""
    if not view.worked.dessert.piece.skins:
        return
    bench = bench_of(view)
    _, seen, _ = standing(view, RIME)
    _, spoils, _ = standing(view, HOLDS)
    if seen.time is None or spoils.time is None or spoils.time > _AT_EASE:
        return
    hurried = spoils.time < 60
    yield finding(
        Severity.CAUTION if hurried else Severity.NOTE,
        "frost on the bench",
        "piece.skin",
        f"In “{bench.name}” ({degrees(bench.air)}, {100 * bench.humidity[1]:.0f} %"
        f"{'' if bench.told else ' taken, for none is told'}) frost is seen on a piece {_clock(seen.time)} after it "
        f"left the freezer, and after {_clock(spoils.time)} it spoils the hold of what comes on top.",
        why=f"The dew point is {degrees(seen.dew_point)}; 2 g/m² are seen, 5 g/m² part skin and piece.",
        remedy="take out no more pieces than are dipped or sprayed in that time, or work in a drier or cooler room.",
    )


def _clock(seconds: float) -> str:
    return f"{round(seconds / 5) * 5:.0f} s" if seconds < 90 else f"{rounded(seconds / 60, 2)} min"


@check("topping up", looks_at="how many pieces a bath serves before it must be topped up")
def topping_up(view: View) -> Iterator[Finding]:
    """A bath that runs too low before all pieces are dipped."""
    for layer in view.worked.piece.layers:
        plan = bath_of(view, layer) if layer.dipped is not None else None
        if plan is None or plan.added <= 0:
            continue
        yield finding(
            Severity.CAUTION if plan.per_round < _FEW else Severity.NOTE,
            "topping up",
            layer.where,
            f"A full bath of {opened(layer.component)} ({1000 * plan.start:.0f} g) covers {plan.per_round} pieces; "
            f"{1000 * plan.added:.0f} g must be added for {view.worked.weighing.started}.",
            why=f"Below {1000 * plan.least:.0f} g a piece is no longer covered.",
            remedy="keep that much melted at the temperature of the bath, and top up between rounds.",
        )


@check("good batch", looks_at="how a layer cuts against the chef's own good batch")
def against_good_batch(view: View) -> Iterator[Finding]:
    """Ice when it is eaten, against that of the batch that cut well."""
    for part, where, eaten_at in good_of(view):
        match = good_match(part, eaten_at)
        if match is None or abs(match.harder) < _APART:
            continue
        word = "harder" if match.harder > 0 else "softer"
        at = f"serve it with {degrees(match.at)} there" if match.at is not None else "change its sugars"
        yield finding(
            Severity.NOTE,
            "good batch",
            where,
            f"Eaten at {degrees(eaten_at)}, {part.name} cuts {word} than your good batch: {100 * match.now:.0f} % of "
            f"its volume is ice, where the good one had {100 * match.wanted:.0f} %.",
            why="Within one recipe firmness follows the ice; from one recipe to another it does not.",
            remedy=f"{at}, or move its sugars.",
        )


@check("learned here", looks_at="which factors come from this kitchen's own measurements")
def learned_factors(view: View) -> Iterator[Finding]:
    """Each factor with the measurement that it came from."""
    for row in view.worked.learned:
        yield finding(
            Severity.NOTE,
            "learned here",
            "calibrations",
            f"Learned from {row.learned_from}: {row.what}, {rounded(row.factor, 2)}"
            f"{' times what the model says' if row.what.split(': ')[-1] in _FACTORS else ''}.",
            why=f"What is predicted with it is likely within {100 * row.spread:.0f} %.",
            remedy="measure again when the recipe, the tool or the hand changes.",
        )


_FACTORS = frozenset(["dip", "dip film", "dip freeze-on", "evaporation", "candying"])
