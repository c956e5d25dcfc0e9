"""Colours against the limits of three markets: rule applications worked by hand, and traps of the law."""

from datetime import date

import pytest

from demoule.errors import BadInput, UnknownName
from demoule.figures import Status
from demoule.larder import (
    CATEGORIES,
    check_colour,
    check_colours,
    colour_fact,
    colour_rules,
    standard_larder,
    sulphites_declared,
    warning_phrase,
)

# Applications of the rules worked by hand. Sources: fr-order-1997 (group III), eu-2022-63 (E 171),
# eu-additives-database (gold), 21-cfr-73 (titanium dioxide, mica), fda-red-3, codex-gsfa. Status: derived from rows
# that were read, but for membership of group III after 2012, which is recalled.
CASES = [
    ("EU", "05.4", {"E 120": 180, "E 133": 200, "E 129": 90}, "within"),  # 470 of 500 together
    ("EU", "05.4", {"E 120": 180, "E 133": 200, "E 129": 130}, "over"),  # 510
    ("EU", "05.4", {"E 163": 2500}, "within"),  # group II, as much as needed
    ("EU", "05.4", {"E 171": 4000}, "refused"),
    ("EU", "16", {"E 102": 90, "E 133": 70}, "over"),  # 160 of 150
    ("EU", "16", {"E 102": 80, "E 133": 70}, "within"),  # 150 of 150
    ("EU", "16", {"E 122": 60}, "over"),  # 50 alone
    ("EU", "16", {"E 122": 50}, "within"),
    ("EU", "16", {"E 175": None}, "ask"),
    ("EU", "05.4 decoration of chocolates", {"E 175": None}, "within"),
    ("EU", "05.4", {"E 175": None}, "ask"),  # a coating of a dessert is no decoration of chocolates
    ("EU", "03", {"E 120": 160}, "over"),
    ("EU", "05.2", {"E 129": 250}, "within"),
    ("EU", "05.4", {"E 120": 450}, "within"),  # judged on the coating, not on the whole piece
    ("EU", "16", {"E 104": 1}, "ask"),
    ("EU", "16", {"E 110": 1}, "ask"),
    ("EU", "05.4", {"E 124": 1}, "ask"),
    ("EU", "05.4", {"E 127": 1}, "ask"),
    ("EU", "05.4", {"E 120": None}, "ask"),
    ("EU", "12.1", {"E 120": 1}, "ask"),
    # Each limit from both sides, nearer than a twentieth.
    ("EU", "05.4", {"E 120": 500}, "within"),
    ("EU", "05.4", {"E 120": 505}, "over"),
    ("EU", "05.2", {"E 120": 300}, "within"),
    ("EU", "05.2", {"E 120": 305}, "over"),
    ("EU", "07.2", {"E 120": 200}, "within"),
    ("EU", "07.2", {"E 120": 205}, "over"),
    ("EU", "04.2", {"E 120": 200}, "within"),
    ("EU", "04.2", {"E 120": 205}, "over"),
    ("EU", "03", {"E 120": 150}, "within"),
    ("EU", "03", {"E 120": 152}, "over"),
    ("EU", "16", {"E 120": 150}, "within"),
    ("EU", "16", {"E 120": 152}, "over"),
    ("EU", "16", {"E 155": 50}, "within"),
    ("EU", "05.2", {"E 155": 51}, "over"),
    ("EU", "07.2", {"E 122": 51}, "over"),
    ("EU", "03", {"E 122": 51}, "over"),
    ("US", "confection", {"E 555": 12500}, "within"),
    ("US", "frosting", {"E 555": 12600}, "over"),
    ("US", "any food", {"E 171": 10000}, "within"),
    ("US", "any food", {"E 171": 10100}, "over"),
    ("Codex", "05.4", {"INS 102": 505}, "over"),
    ("Codex", "05.4", {"INS 110": 300}, "within"),
    ("Codex", "05.4", {"INS 110": 305}, "over"),
    ("Codex", "05.4", {"INS 104": 51}, "over"),
    ("Codex", "05.4", {"INS 132": 305}, "over"),
    ("Codex", "05.4", {"INS 101": 1000}, "within"),
    ("Codex", "05.4", {"INS 101": 1010}, "over"),
    ("US", "gelatin dessert", {"mica pigment": 10000}, "within"),
    ("US", "gelatin dessert", {"mica pigment": 13000}, "over"),
    ("US", "cake", {"mica pigment": 10}, "ask"),
    ("US", "any non-standardised food", {"titanium dioxide": 8000}, "within"),
    ("US", "any non-standardised food", {"titanium dioxide": 12000}, "over"),
    ("US", "coating", {"FD&C Red No. 40": 300}, "within"),
    ("US", "coating", {"E 104": 1}, "refused"),
    ("US", "coating", {"E 122": 1}, "refused"),
    ("US", "coating", {"E 172": 500}, "ask"),
    ("US", "candy", {"E 172": 500}, "within"),
    ("US", "candy", {"E 172": 1500}, "over"),
    ("US", "coating", {"gold": None}, "ask"),
    ("US", "coating", {"carmine": 200}, "within"),
    ("Codex", "05.4", {"INS 102": 480}, "within"),
    ("Codex", "05.4", {"INS 124": 60}, "over"),
    ("Codex", "05.2", {"INS 120": 310}, "over"),
    ("Codex", "16", {"INS 102": 1}, "ask"),
]
GRAVITY = ["within", "ask", "over", "refused"]


@pytest.mark.parametrize(("market", "category", "doses", "outcome"), CASES)
def test_rule_applications(market, category, doses, outcome):
    verdicts = check_colours(doses, market, category)
    assert max((v.outcome for v in verdicts), key=GRAVITY.index) == outcome
    for verdict in verdicts:
        assert verdict.says
        assert verdict.source
        assert verdict.market == market


def test_red_3_until_15_january_2027():
    # Source: fda-red-3, order of January 2025, quoted from reports.
    for day, outcome in ((date(2026, 12, 1), "within"), (date(2027, 1, 15), "within"), (date(2027, 3, 1), "refused")):
        assert check_colour("FD&C Red No. 3", "US", "coating", 100, on=day).outcome == outcome
    assert check_colour("FD&C Red 3", "US", "coating", 100).outcome == "ask"


def test_warning_of_six_colours():
    # Source: eu-1333-2008, Annex V, read.
    for number in ("E 102", "E 104", "E 110", "E 122", "E 124", "E 129"):
        assert "activity and attention in children" in check_colour(number, "EU", "16", 1).warning
    assert check_colour("E 120", "EU", "16", 1).warning == ""
    assert check_colour("E 129", "US", "coating", 1).warning == ""
    assert warning_phrase(["E 160a"]) == ""
    assert warning_phrase(["E 129", "E 102"]).startswith("E 129, E 102: ")


def test_combined_sum_is_said_once_and_only_of_group_iii():
    verdicts = check_colours({"E 120": 100, "E 133": 100, "E 160a": 5000}, "EU", "05.4")
    together = [v for v in verdicts if "+" in v.colour]
    assert [(v.colour, v.met, v.limit) for v in together] == [("E 120 + E 133", 200, 500)]
    assert not [v for v in check_colours({"E 120": 100}, "EU", "05.4") if "+" in v.colour]


def test_a_colour_of_untold_strength_is_not_shown_to_be_within():
    for verdict in check_colours({"E 120": None, "E 133": 10}, "EU", "05.4"):
        if verdict.colour != "E 133":
            assert verdict.outcome == "ask"
    over = check_colours({"E 120": None, "E 133": 510}, "EU", "05.4")
    assert over[-1].outcome == "over"


def test_no_number_is_invented_where_the_text_must_be_read():
    for number in ("E 104", "E 110", "E 124"):
        assert check_colour(number, "EU", "16", 10).limit is None
    assert all(rule.limit is None for rule in colour_rules("EU") if rule.kind == "read the text")


def test_never_called_safe():
    for market, category, doses, _ in CASES:
        for verdict in check_colours(doses, market, category):
            assert "safe" not in verdict.says


def test_rules_carry_their_source():
    for market in ("EU", "US", "Codex"):
        for rule in colour_rules(market):
            assert rule.source
            assert rule.locator
            assert isinstance(rule.status, Status)
    assert set(CATEGORIES) >= {"03", "05.2", "05.4", "07.2", "16"}


def test_colours_by_any_of_their_names():
    for name, number in {
        "tartrazine": "E 102",
        "INS 102": "E 102",
        "e102": "E 102",
        "FD&C Yellow No. 5": "E 102",
        "β-carotene": "E 160a",
        "titanium dioxide": "E 171",
        "carmines": "E 120",
        "E160c": "E 160c",
        "E 150 D": "E 150d",
    }.items():
        assert colour_fact(name).e_number == number
    with pytest.raises(UnknownName):
        colour_fact("E 999")


def test_what_cannot_be_asked():
    with pytest.raises(BadInput):
        check_colour("E 120", "Mars", "16", 1)
    with pytest.raises(BadInput):
        check_colour("E 120", "EU", "16", -1)


def test_dust_that_is_not_food_is_marked():
    # A dust sold as non-toxic, without an ingredient list, is not food in either market. Source: fda-glitter, read.
    for name in ("surface dust labelled non-toxic", "decorative glitter", "non-toxic dust"):
        assert "not food" in standard_larder().find(name).traits


def test_sulphites_count_from_10_mg_per_kg():
    # Source: eu-1169-2011, Annex II: above 10 mg/kg. 150 mg/kg at 4 % of the dessert is 6 mg/kg.
    assert not sulphites_declared(150 * 0.04)
    assert not sulphites_declared(10)
    assert sulphites_declared(10.5)
