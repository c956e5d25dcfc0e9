import time

import pytest

from demoule.batch import plain_kitchen
from demoule.errors import BadInput, Mistakes
from demoule.files import check_text, read_dessert, read_desserts
from demoule.larder import standard_larder
from demoule.worked import work_up

PLAIN = """\
demoule: 1
name: Plum
components:
  mix:
    weigh: {water: 100 g, sugar: 50 g, cream 35 %: 200 g}
    steps: [boil]
piece:
  mould: {half sphere: 60 mm}
  body: mix
"""


# What is changed in the plain file, and the one thing that must be said: line, column, words, remedy.
ONE = [
    ("sugar: 50 g", "suger: 50 g", 5, 27, "neither in the larder nor a component", "“sugar”"),
    ("50 g", "50,5 g", 5, 34, "the comma of “50,5 g” ends a part", "50.5 g"),
    ("50 g", "-50 g", 5, 34, "negative", "730 g"),
    ("50 g", "−50 g", 5, 34, "negative", "730 g"),
    ("50 g", "0 g", 5, 34, "zero", "730 g"),
    ("50 g", "1e9 g", 5, 34, "too much", "unit"),
    ("50 g", ".nan", 5, 34, "no amount", "730 g"),
    ("50 g", "2026-01-01", 5, 34, "no amount", "2 leaves"),
    ("sugar: 50 g", "egg white: 4", 5, 38, "no unit", "4 pieces"),
    ("50 g", "some", 5, 34, "text where an amount belongs", "730 g"),
    ("50 g", "50", 5, 34, "no unit", "50 g"),
    ("50 g", "50 ounzes", 5, 34, "“ounzes” is not known", "ounces"),
    ("sugar: 50 g", "sugar", 5, 27, "amount is expected", "730 g"),
    ("sugar: 50 g", "mix: 50 g", 5, 27, "“mix” contains itself", "take one"),
    ("sugar: 50 g", "sugar: half", 5, 34, "another component only", "730 g"),
    ("demoule: 1\n", "", 1, 1, "“demoule” is missing", "demoule: 1"),
    ("demoule: 1", "demoule: 2", 1, 10, "form of file", "demoule: 1"),
    ("name: Plum", "nmae: Plum", 2, 1, "“nmae” is no name", "“name”"),
    ("name: Plum", "name: [a]", 2, 1, "name or a few words", ""),
    ("components:", "componets:", 3, 1, "“componets” is no name", "“components”"),
    ("weigh: {water: 100 g, sugar: 50 g, cream 35 %: 200 g}", "weigh:", 5, 5, "Nothing stands", "name: value"),
    ("weigh: {water: 100 g, sugar: 50 g, cream 35 %: 200 g}", "weigh: 5 g", 5, 12, "“5 g” stands where", ""),
    ("weigh: {water: 100 g, sugar: 50 g, cream 35 %: 200 g}", "weigh: []", 5, 5, "Nothing stands", ""),
    ("steps: [boil]", "stepps: [boil]", 6, 5, "“stepps” is no name", "“steps”"),
    ("name: Plum", 'name: "Plum', 2, 7, "opened here and not closed", "close it"),
    ("body: mix", "body: mix\n}", 10, 1, "} stands here that nothing opened", "take it out"),
    ("steps: [boil]", "steps: boil", 6, 12, "where a list belongs", "dash"),
    ("boil]", "boill]", 6, 13, "no step that is known", "“boil”"),
    ("boil]", "pour on chocolate]", 6, 13, "no step that is known", "note: pour on chocolate"),
    ("boil]", "{boil: 2 min, pan: 24 cm}]", 6, 13, "one verb", "boil: {for: 2 min}"),
    ("boil]", "{boil: {fro: 2 min}}]", 6, 21, "“fro” is no name", "“for”"),
    ("boil]", "{boil: {pan: big}}]", 6, 26, "no vessel", "24 cm"),
    ("boil]", "{cool: {to: 5 °C, pan: GN 1/5}}]", 6, 36, "no hotel pan of size 1/5", "GN"),
    ("boil]", "heat]", 6, 13, "“to” is missing", ""),
    ("boil]", "heat half the creme to 60 °C]", 6, 13, "none of the lines", "“cream 35 %”|lines are"),
    ("boil]", "candy in syrop at 85 °C]", 6, 13, "“syrop” is no component", ""),
    ("boil]", "{rest: {at least: 48 h, at most: 12 h}}]", 6, 14, "longest rest is shorter", ""),
    ("boil]", "{whip: {overrun: 60 %, density: 0.5}}]", 6, 14, "both told", ""),
    ("boil]", "{candy: {in: mix, piece: brick 5 mm}}]", 6, 38, "“brick” is none of", ""),
    ("steps: [boil]", "loses: {pan: 30 g}", 6, 18, "share of what enters it", "pan: 2 %"),
    ("steps: [boil]", "loses: {pan: 120 %}", 6, 18, "more than there is", ""),
    ("steps: [boil]", "base: butter", 4, 3, "“butter” is not weighed", ""),
    ("steps: [boil]", "pH: 15", 6, 9, "no pH", ""),
    ("half sphere", "half spher", 8, 11, "“half spher” is no name", "“half sphere”"),
    ("60 mm}", "60 mm, sphere: 50 mm}", 8, 3, "2 shapes", ""),
    ("{half sphere: 60 mm}", "{profile: [[0, 20], [5]]}", 8, 11, "Point 2 is no pair", ""),
    ("{half sphere: 60 mm}", "{profile: [[9, 20], [5, 2]]}", 8, 11, "Point 2 lies below", ""),
    ("body: mix", "body: mxi", 9, 9, "“mxi” is no component", "“mix”"),
    ("body: mix", "body: mix\n  heart: {component: mix}", 10, 3, "no form", "half sphere"),
    ("body: mix", "body: mix\n  skin: [{spray: {component: velvet}}]", 10, 11, "not told", "lands: 1.8 g"),
    ("body: mix", "body: mix\n  skin: [{dip: {component: mix, bath: -30 °C}}]", 10, 11, "not warmer", ""),
    ("body: mix", "body: mix\n  garnish: {what: leaf}", 10, 3, "“eaten” is missing", ""),
    ("body: mix", "body: mix\n  garnish: {what: leaf, eaten: maybe}", 10, 32, "yes or no", ""),
    ("body: mix", "body: mix\ncold: {thaw: {in: f, ready: core 2 °C}}", 10, 29, "window", "-1 to 2"),
    (
        "body: mix",
        "body: mix\ncold: {thaw: {in: f, ready: heart slicable}}",
        10,
        29,
        "no word for how soft",
        "“sliceable”",
    ),
    ("body: mix", "body: mix\ncold: {thaw: {in: f, ready: spoon-soft}}", 10, 29, "which layer", "heart spoon-soft"),
    ("body: mix", "body: mix\ncold: {thaw: {in: f, ready: core firm}}", 10, 29, "not of the core", "heart firm"),
    ("body: mix", "body: mix\ncold: {thaw: {in: f, ready: heart 2 °C}}", 10, 29, "told in words", "core -1 to 2"),
    ("body: mix", "body: mix\ncold: {thawing: {in: f}}", 10, 8, "done in the cold", "“thaw”"),
    ("body: mix", "body: mix\ncold: {keep: {in: f, until: cor -18 °C}}", 10, 29, "no place", "“core”"),
    ("piece:\n", "pieces: 2.5\npiece:\n", 7, 9, "whole number", ""),
]


@pytest.mark.parametrize(("old", "new", "line", "column", "says", "remedy"), ONE)
def test_one_mistake_is_told_once_where_it_is(said, old, new, line, column, says, remedy):
    (found,) = said(PLAIN.replace(old, new, 1))
    assert found[:2] == (line, column)
    assert any(part in found[2] for part in says.split("|"))
    assert any(part in found[3] for part in remedy.split("|"))


def test_an_ambiguous_comma_is_refused(said):
    text = PLAIN.replace("{water: 100 g, sugar: 50 g, cream 35 %: 200 g}", "\n      water: 1,110 g\n      sugar: 50 g")
    ((line, column, says, remedy),) = said(text)
    assert (line, column) == (6, 14)
    assert "can mean 1.11 or 1110 g" in says
    assert "1 110" in remedy


def test_a_comma_in_a_name_splits_a_flow_mapping_and_is_told(said):
    text = PLAIN.replace("cream 35 %: 200 g", "cream 35 %, whipped: 200 g")
    assert any("cream 35 %" in says or "amount" in says for _, _, says, _ in said(text))


def test_all_mistakes_come_at_once_in_the_order_of_lines(said, sketch):
    wrong = sketch
    for old, new in [
        ("730 g, sugar: 876 g", "-730 g, sugr: 0 g"),
        ("- boil\n", "- boill\n"),
        ("1 min, water", "1 min, watr"),
        ("for: 2 min", "for: soon"),
        ("half the cream", "half the creme"),
        ("overrun: 60 %", "overun: 60 %"),
        ("mould: apricot 80 ml", "mold: apricot 80 ml"),
        ("component: coating", "component: coatng"),
        ("bath: 34 °C", "bath: 34"),
        ("eaten: yes", "eaten: maybe"),
        ("until: core -18", "until: cor -18"),
    ]:
        assert old in wrong
        wrong = wrong.replace(old, new)
    found = said(wrong)
    assert [(line, column) for line, column, _, _ in found] == sorted((line, column) for line, column, _, _ in found)
    told = " ".join(f"{says} {remedy}" for _, _, says, remedy in found)
    for part in (
        "negative", "“sugar”", "zero", "“boil”", "“water”", "soon", "creme", "“overrun”", "“mould”", "“coating”",
        "“34” has no unit", "maybe", "“core”",
    ):  # fmt: skip
        assert part in told
    assert len(found) == 14  # twice the cold


def test_components_that_contain_each_other_are_found(said):
    text = PLAIN.replace(
        "steps: [boil]", "steps: [boil]\n  a: {weigh: {b: 1 g}}\n  b: {weigh: {c: 1 g}}\n  c: {weigh: {a: 1 g}}"
    )
    ((line, _, says, _),) = said(text)
    assert line == 9
    assert says == "“a” contains itself: “a” contains “b” contains “c” contains “a”."


def test_fruit_candied_in_itself_is_found(said):
    text = PLAIN.replace("[boil]", "[candy in mix at 85 °C]")
    ((_, _, says, _),) = said(text)
    assert "contains itself" in says


def test_a_deep_chain_of_components_is_no_trouble(read):
    chain = "".join(f"  c{k}: {{weigh: {{c{k + 1}: 1 g}}}}\n" for k in range(900))
    text = PLAIN.replace("piece:", f"{chain}  c900: {{weigh: {{sugar: 1 g}}}}\npiece:")
    assert len(read(text).components) == 902


def test_moulds_and_rooms_must_be_the_kitchen_s_when_it_is_given(said, demonstration):
    kitchen = demonstration[1]
    text = PLAIN.replace("{half sphere: 60 mm}", "apricott 80 ml").replace("[boil]", "[cool to 5 °C in fridge]")
    text += "cold: {thaw: {in: refridgerator}}\n"
    found = said(text, kitchen)
    assert [(line, says.split("“")[0]) for line, _, says, _ in found] == [
        (6, "The kitchen has no room called "),
        (8, "The kitchen has no mould called "),
        (10, "The kitchen has no room called "),
    ]
    assert "apricot 80 ml" in found[1][3]
    assert "“refrigerator”" in found[2][3]


OTHER = [
    ("- a\n- b\n", "a list"),
    ("just words\n", "a bare text"),
    ("kitchen: Mine\nrooms: {}\n", "a kitchen, not a dessert"),
    ("orders: []\n", "an order book|a order book"),
]


@pytest.mark.parametrize(("text", "says"), OTHER)
def test_what_is_no_dessert_at_all_is_said_in_one_sentence(said, text, says):
    ((_, _, told, _),) = said(text)
    assert any(part in told for part in says.split("|"))


def test_two_desserts_of_one_name_are_refused(said):
    ((line, _, says, _),) = said(f"{PLAIN}---\n{PLAIN}")
    assert line == 12
    assert "Another dessert is called “Plum”" in says


def test_a_file_of_two_is_no_single_dessert(tmp_path, larder):
    place = tmp_path / "two.yaml"
    place.write_text(f"{PLAIN}---\n{PLAIN.replace('Plum', 'Cherry')}", encoding="utf-8")
    assert len(read_desserts(place, larder)) == 2
    with pytest.raises(Mistakes, match="2 desserts: “Plum”, “Cherry”"):
        read_dessert(place, larder)


def test_a_text_can_be_checked_without_an_error(larder):
    assert check_text(PLAIN, "d.yaml", larder) == []
    assert [m.line for m in check_text(PLAIN.replace("50 g", "50"), "d.yaml", larder)] == [5]
    assert [m.line for m in check_text("a: 'x", "d.yaml", larder)] == [1]
    assert len(check_text(PLAIN.encode("utf-16"), "d.yaml", larder)) == 1


def test_a_hundred_kilobytes_of_nonsense_are_answered_soon(larder):
    text = "demoule: 1\nname: x\ncomponents:\n" + "".join(f"  c{k}: {{weigh: {{x{k}: {k} q}}}}\n" for k in range(300))
    start = time.process_time()
    found = check_text(text, "d.yaml", larder)
    assert len(found) >= 600
    # Not a timing of our speed: a search through every name for every typing error would take minutes.
    assert time.process_time() - start < 20


def test_a_mould_that_no_hand_could_fill_is_refused_at_its_line(read):
    kitchen = plain_kitchen(standard_larder())
    with pytest.raises(BadInput, match="check sizes and units") as caught:
        work_up(read(PLAIN.replace("60 mm", "0.6 mm"), kitchen), kitchen)
    assert "piece" in str(caught.value.places)


def test_a_component_with_the_name_of_what_it_weighs_is_told_to_take_another(said):
    text = PLAIN.replace("mix", "sablé").replace("water: 100 g", "puffed rice: 40 g")
    text = text.replace("sablé", "puffed rice")
    [(_, _, says, remedy)] = said(text)
    assert "contains itself" in says
    assert "“puffed rice mix”" in remedy


def test_every_sheet_that_is_wrong_is_told_at_once(said):
    text = PLAIN.replace(
        "components:",
        "own items:\n  pulp: {per 100 g: {water: 83 g, sugars: 30 g}}\n"
        "  cream x: {like: cream 35 %, allergens: {EU: [mlik]}}\ncomponents:",
    )
    found = said(text)
    assert [line for line, *_ in found] == [4, 5]
    assert "113.0 g" in found[0][2]
    assert "mlik" in found[1][2]
