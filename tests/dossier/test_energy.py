from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import COUNT, Composition, Constituent
from demoule.dossier.energy import EU_KCAL, EU_KJ, US_KCAL, declared_energy, eu_kcal, eu_kj, us_kcal
from demoule.dossier.published import rows
from demoule.errors import BadInput

C = Constituent

# One constituent for each component named in the laws' tables; salatrims, mannitol and others have none of their own.
STANDS_FOR = {
    "carbohydrate except polyols": C.SUCROSE,
    "polyols except erythritol": C.SORBITOL,
    "erythritol": C.ERYTHRITOL,
    "protein": C.PROTEIN,
    "fat": C.COCOA_BUTTER,
    "alcohol (ethanol)": C.ETHANOL,
    "organic acid": C.ACIDS,
    "fibre": C.FIBRE,
    "carbohydrate total": C.FIBRE,
    "maltitol": C.OTHER_POLYOLS,
    "sorbitol": C.SORBITOL,
}


@pytest.mark.parametrize(
    "row",
    [r for r in rows("energy_factors") if r["component"] in STANDS_FOR],
    ids=lambda r: f"{r['market']} {r['component']} {r['unit']}",
)
def test_factors_are_those_of_the_law(row):
    # Sources: eu-1169-2011 Annex XIV; us-21cfr101-9 (c)(1)(i); usda-handbook-74.
    constituent = STANDS_FOR[row["component"]]
    table = {"EU": {"kcal/g": EU_KCAL, "kJ/g": EU_KJ}, "US": {"kcal/g": US_KCAL}}[row["market"]][row["unit"]]
    assert table[constituent] == float(row["value"])


def test_carbohydrates_share_one_factor_and_fats_another():
    for table, carbohydrate, fat in ((EU_KCAL, 4, 9), (EU_KJ, 17, 37), (US_KCAL, 4, 9)):
        for c in (
            C.GLUCOSE,
            C.LACTOSE,
            C.MALTOTRIOSE,
            C.DEXTRINS,
            C.MALTODEXTRINS,
            C.STARCH,
            C.UNKNOWN_SUGARS,
            C.PROTEIN,
        ):
            assert table[c] == carbohydrate
        for f in (C.MILK_FAT, C.COCOA_BUTTER, C.OTHER_FAT):
            assert table[f] == fat
        assert table[C.WATER] == table[C.SALT] == table[C.ASH] == 0


def test_many_compositions_at_once_are_each_what_they_are_alone():
    rng = np.random.default_rng(7)
    x = rng.dirichlet(np.ones(COUNT), size=5)
    for function in (eu_kcal, eu_kj, us_kcal):
        assert function(x) == pytest.approx([float(function(row)) for row in x])
    protein = x[:, C.PROTEIN] * 0.98
    assert eu_kcal(x, protein) == pytest.approx([float(eu_kcal(r, p)) for r, p in zip(x, protein, strict=True)])


def test_kilojoules_are_not_kilocalories_times_a_constant():
    # eu-1169-2011 Annex XIV: fat 9 kcal and 37 kJ (4.11), sugar 4 and 17 (4.25).
    fat = declared_energy(Composition.of({C.OTHER_FAT: 1}))
    sugar = declared_energy(Composition.of({C.SUCROSE: 1}))
    assert fat.kj is not None
    assert sugar.kj is not None
    assert fat.kj / fat.kcal == pytest.approx(37 / 9)
    assert sugar.kj / sugar.kcal == pytest.approx(17 / 4)


def test_untold_solids_widen_the_band_and_fat_among_them_widens_it_more():
    told = {C.WATER: 0.5, C.SUCROSE: 0.4, C.UNKNOWN_SOLIDS: 0.1}
    plain = declared_energy(Composition.of(told))
    fatty = declared_energy(Composition.of(told, unknown=[C.OTHER_FAT]))
    assert plain.kcal_low == pytest.approx(1.6)
    assert plain.kcal == pytest.approx(2.0)
    assert plain.kcal_high == pytest.approx(2.0)
    assert fatty.kcal_high == pytest.approx(1.6 + 0.9)


@given(st.lists(st.floats(0.001, 1), min_size=COUNT, max_size=COUNT))
def test_energy_lies_between_nothing_and_pure_fat(parts):
    composition = Composition.of(dict(zip(C, parts, strict=True)))
    for market in ("EU", "US"):
        energy = declared_energy(composition, market)
        assert 0 <= energy.kcal_low <= energy.kcal <= energy.kcal_high <= 9


def test_a_market_without_factors_is_refused():
    with pytest.raises(BadInput, match="market"):
        declared_energy(Composition.of({C.WATER: 1}), "MARS")  # type: ignore[arg-type]
