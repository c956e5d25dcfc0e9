import math

import pytest

from demoule.cold.programme import Until
from demoule.files import notes
from demoule.files.written import written as text_of
from demoule.formula.component import (
    Amount,
    Bake,
    Blanch,
    Blend,
    Boil,
    Candy,
    Cook,
    Cool,
    Drain,
    Fold,
    Freeze,
    Heat,
    Hydrate,
    Note,
    Rest,
    SetGel,
    Strain,
    Whip,
)
from demoule.piece.design import (
    Cone,
    Cylinder,
    Dip,
    Dome,
    HalfSphere,
    Profile,
    Ring,
    Sphere,
    Spheroid,
    Spray,
)

PLAIN = """\
demoule: 1
name: Plum
components:
  mix:
    weigh: {water: 100 g, sugar: 50 g, cream 35 %: 200 g}
    steps: STEPS
piece:
  mould: {half sphere: 60 mm}
  body: mix
"""


def plain(steps="[]"):
    return PLAIN.replace("STEPS", steps)


def component(dessert, name):
    return next(one for one in dessert.components if one.name == name)


def test_the_first_sketch_is_accepted_word_for_word(read, sketch):
    dessert = read(sketch)
    assert dessert.name == "Apricot"
    syrup = component(dessert, "light syrup")
    assert [line.what for line in syrup.weighed] == ["water", "sugar", "glucose syrup 60 DE"]
    assert syrup.weighed[0].amount == Amount(mass=0.73, written="730 g")
    assert syrup.weighed[0].where == "components.light syrup.weigh.water"
    assert syrup.steps == (Boil(),)
    blanch, candy, rest = component(dessert, "candied apricot").steps
    assert blanch == Blanch(duration=60, water=3)
    assert (candy.syrup, candy.piece, candy.size, candy.covered) == ("light syrup", "wedge", 0.016, True)
    assert (rest.at_least, rest.at_most) == (12 * 3600, 72 * 3600)
    boil, cool, blend = component(dessert, "apricot jelly").steps
    assert boil.pan.open_area == pytest.approx(math.pi * 0.12**2)
    assert cool.pan.depth == 0.04
    assert blend.loses == 0.02
    heat, _, _, whip = component(dessert, "whipped ganache").steps
    assert (heat.part, heat.to) == ("half the cream", pytest.approx(358.15))
    assert whip.overrun == 0.6
    piece = dessert.piece
    assert (piece.mould, piece.heart.mould, piece.heart.joined) == ("apricot 80 ml", "half sphere 15 ml", 2)
    assert piece.body.component == "whipped ganache"
    dip, spray = piece.skins
    assert isinstance(dip, Dip)
    assert (dip.bath, dip.piece, dip.duration) == (pytest.approx(307.15), pytest.approx(253.15), 2)
    assert isinstance(spray, Spray)
    assert (spray.lands, spray.overspray) == (pytest.approx(0.0018), 0.4)
    assert piece.garnishes[0].eaten is True
    stages = {stage.what: stage for stage in dessert.programme.stages}
    assert list(stages) == ["harden heart", "harden piece", "keep", "thaw"]
    assert stages["harden heart"].until == Until(place="core", temperature=pytest.approx(255.15))
    assert stages["keep"].at_most == pytest.approx(3 * 30.4375 * 86400)
    assert stages["thaw"].ready == (pytest.approx(272.15), pytest.approx(275.15))


@pytest.mark.parametrize(
    ("told", "core", "body", "soft"),
    [
        ("ready: heart sliceable to spoon-soft", None, None, [("heart", 0.30, 0.02)]),
        ("ready: heart spoon-soft", None, None, [("heart", 0.12, 0.02)]),
        ("ready: heart thawed to firm", None, None, [("heart", 0.45, 0.0)]),
        ("ready: core -1 to 2 °C, body: spoon-soft", (272.15, 275.15), None, [("body", 0.12, 0.02)]),
        ("ready: heart sliceable, body: -1 to 6 °C", None, (272.15, 279.15), [("heart", 0.30, 0.12)]),
    ],
)
def test_a_window_to_eat_is_told_in_degrees_or_in_words_for_softness(read, told, core, body, soft):
    dessert = read(PLAIN.replace("STEPS", "[]") + "cold: {thaw: {in: refrigerator, " + told + "}}\n")
    (thaw,) = dessert.programme.stages
    assert thaw.has_window
    assert thaw.ready == (None if core is None else pytest.approx(core))
    assert thaw.ready_body == (None if body is None else pytest.approx(body))
    assert [(one.layer, one.most, one.least) for one in thaw.softened] == soft
    (again,) = read(text_of(dessert)).programme.stages
    assert again.softened == thaw.softened


def test_recipes_that_a_piece_names_and_no_file_writes_are_the_house_s_and_said_so(read, sketch):
    dessert = read(sketch)
    house = [one.name for one in dessert.components if one.where.startswith("house.")]
    assert house == ["coating", "velvet", "almond disc"]
    assert [note.rule for note in notes(dessert)] == ["house recipe"] * 3


def test_a_recipe_that_nothing_uses_is_a_note_and_no_error(read):
    dessert = read(PLAIN.replace("piece:", "  spare: {weigh: {sugar: 10 g}}\npiece:").replace("STEPS", "[]"))
    assert [(note.rule, note.where) for note in notes(dessert)] == [("component not used", "components.spare")]


STEPS = [
    ("boil", Boil()),
    ("boil 2 min", Boil(duration=120)),
    ("boil gently 5 min, covered", Boil(duration=300, strength="gentle", covered=True)),
    ("{boil: 2 min}", Boil(duration=120)),
    ("{boil: {for: 2 min, evaporates: 75 g}}", Boil(duration=120, evaporates=0.075)),
    ("{boil: }", Boil()),
    ("simmer 10 min", Boil(duration=600, strength="gentle")),
    ("hydrate", Hydrate()),
    ("hydrate 20 min", Hydrate(duration=1200)),
    ("heat to 60 °C", Heat(to=333.15)),
    ("heat half the cream to 185 °F", Heat(to=358.15, part="half the cream")),
    ("melt to 45 °C", Heat(to=318.15)),
    ("{heat: {to: 85 °C, what: half the cream, covered: yes}}", Heat(to=358.15, part="half the cream", covered=True)),
    ("cook to 118 °C", Cook(to_temperature=391.15)),
    ("{cook: 118 °C}", Cook(to_temperature=391.15)),
    ("{cook: 56.7 °Bx}", Cook(to_solids=0.567)),
    ("cook to 60 %", Cook(to_solids=0.6)),
    ("{cook: {to: 60 °Bx, power: 2 kW}}", Cook(to_solids=0.6, power=2000)),
    ("blanch 1 min twice", Blanch(duration=60, times=2)),
    ("drain", Drain()),
    ("blend", Blend()),
    ("blend, loses 2 %", Blend(loses=0.02)),
    ("mix", Blend()),
    ("{blend: {loses: 2 %, at: 40 °C}}", Blend(loses=0.02, at=313.15)),
    ("strain, loses 3 %", Strain(loses=0.03)),
    ("cool to 5 °C", Cool(to=278.15)),
    ("cool to 41 °F in blast freezer", Cool(to=278.15, room="blast freezer")),
    ("set 4 h at 4 °C", SetGel(duration=14400, at=277.15)),
    ("set", SetGel()),
    ("rest 12–48 h", Rest(at_least=43200, at_most=172800)),
    ("rest 12-48 h at 3 °C", Rest(at_least=43200, at_most=172800, at=276.15)),
    ("rest 12 h", Rest(at_least=43200)),
    ("{rest: 12 to 72 h}", Rest(at_least=43200, at_most=259200)),
    ("{rest: {at least: 12 h, at most: 2 days}}", Rest(at_least=43200, at_most=172800)),
    ("whip", Whip()),
    ("whip to 60 %", Whip(overrun=0.6)),
    ("whip to 60 % overrun", Whip(overrun=0.6)),
    ("{whip: 60 %}", Whip(overrun=0.6)),
    ("whip to 0.50 g/ml", Whip(density=500)),
    ("fold in cream whipped to 0.52 g/ml", Fold(part="cream", density=520)),
    ("{fold: {what: cream, air lost: 10 %}}", Fold(part="cream", air_lost=0.1)),
    ("bake 170 °C 12 min, loses 15 %", Bake(at=443.15, duration=720, loses=0.15)),
    (
        "{bake: {at: 340 °F, for: 12 min, loses: 15 %, cut: 26 mm, per sheet: 140, sheet: 300×400}}",
        Bake(at=444.2611111111111, duration=720, loses=0.15, cut=0.026, per_sheet=140, sheet=(0.3, 0.4)),
    ),
    ("freeze in blast freezer to -18 °C", Freeze(room="blast freezer", to=255.15)),
    ("{note: pour on the chocolate}", Note(text="pour on the chocolate")),
    ("note pour on the chocolate", Note(text="pour on the chocolate")),
    ("{note: {says: knead, for: 5 min, at: 20 °C}}", Note(text="knead", minutes=5, at=293.15)),
]


def close(one, other):
    """Equal field by field, numbers nearly so."""
    if type(one) is not type(other):
        return False
    return all(
        getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-9)
        if isinstance(getattr(other, name), (int, float, tuple)) and not isinstance(getattr(other, name), bool)
        else getattr(one, name) == getattr(other, name)
        for name in type(other).__dataclass_fields__
    )


@pytest.mark.parametrize(("written", "step"), STEPS)
def test_steps_are_words_phrases_or_mappings(read, written, step):
    text = plain(f"[{written}]") if written.startswith("{") else plain(f'["{written}"]')
    (got,) = read(text).components[0].steps
    assert close(got, step), got


def test_candying_takes_a_phrase_too(read):
    text = PLAIN.replace("components:", "components:\n  syrup: {weigh: {sugar: 1 kg, water: 700 g}}")
    (candy,) = read(text.replace("STEPS", "[candy in syrup at 85 °C for 4 h]")).components[1].steps
    assert close(candy, Candy(syrup="syrup", temperature=358.15, duration=14400))
    written = "[candy: {in: syrup, piece: cubes 8 mm, ratio: 2.5, gives: 690 g, solids: 42 %, skin: yes}]"
    (candy,) = read(text.replace("STEPS", written)).components[1].steps
    assert close(candy, Candy(syrup="syrup", piece="cube", size=0.008, ratio=2.5, gives=0.69, solids=0.42, skin=True))


AMOUNTS = [
    ("730 g", {"mass": 0.73}),
    ("2.5 oz", {"mass": 2.5 * 0.028349523125}),
    ("¾ cup", {"volume": 0.75 * 236.5882365e-6}),
    ("2 leaves", {"count": 2}),
    ("35 %", {"percent": 0.35}),
    ("12,5 g", {"mass": 0.0125}),
]


@pytest.mark.parametrize(("written", "expected"), AMOUNTS)
def test_amounts_are_masses_volumes_counts_and_percentages(read, written, expected):
    text = plain().replace("sugar: 50 g", f'sugar: "{written}"')
    amount = read(text).components[0].weighed[1].amount
    ((name, value),) = expected.items()
    assert getattr(amount, name) == pytest.approx(value)
    assert amount.written == written


def test_a_share_is_taken_of_another_component(read):
    text = """\
demoule: 1
name: Plum
components:
  base: {weigh: {sugar: 100 g, water: 100 g}}
  mix:
    weigh:
      - half the base
      - 200 g cream 35 %
      - cream 35 %: 50 g
      - base: a quarter
piece: {mould: {half sphere: 60 mm}, body: mix}
"""
    lines = read(text).components[1].weighed
    assert [(line.what, line.amount.share, line.amount.mass) for line in lines] == [
        ("base", 0.5, None),
        ("cream 35 %", None, 0.2),
        ("cream 35 %", None, 0.05),
        ("base", 0.25, None),
    ]
    assert lines[2].where == "components.mix.weigh.2.cream 35 %"


def test_a_component_tells_what_was_measured(read):
    text = plain("[boil]").replace(
        "steps:",
        "base: cream 35 %\n    to make: 2 kg\n    loses: {evaporation: 75 g, pan: 2 %, bag: 4 %}\n    gives: 1110 g\n"
        "    density: 1.12\n    pH: 3.4\n    label: plum cream\n    steps:",
    )
    one = read(text).components[0]
    assert (one.base, one.to_make, one.evaporation, one.gives) == ("cream 35 %", 2, 0.075, 1.11)
    assert one.losses == (("pan", 0.02), ("bag", 0.04))
    assert (one.density, one.ph, one.label_name) == (1120, 3.4, "plum cream")


SHAPES = [
    ("{sphere: {radius: 26.83 mm, flat: 26 mm}}", Sphere(radius=0.02683, flat=0.026)),
    ("{sphere: 54 mm}", Sphere(radius=0.027)),
    ("{half sphere: {radius: 19.28 mm}}", HalfSphere(radius=0.01928)),
    ("{half sphere: 1.5 in}", HalfSphere(radius=0.01905)),
    ("{spheroid: 58 × 62 mm}", Spheroid(diameter=0.058, height=0.062)),
    ("{spheroid: {diameter: 58 mm, height: 60 mm, flat: 26 mm}}", Spheroid(diameter=0.058, height=0.06, flat=0.026)),
    ("{disc: 45×18 mm}", Cylinder(diameter=0.045, height=0.018)),
    ("{cylinder: {diameter: 45 mm, height: 1.8 cm}}", Cylinder(diameter=0.045, height=0.018)),
    ("{cone: 40 × 30 × 25 mm}", Cone(foot=0.04, top=0.03, height=0.025)),
    ("{dome: 60 × 25 mm}", Dome(diameter=0.06, height=0.025)),
    ("{ring: {middle: 50 mm, section: 20 mm}}", Ring(middle=0.05, section=0.02)),
    ("{profile: [[0, 22.8], [7.6, 27.1], [20 mm, 0]]}", Profile(points=((0, 0.0228), (0.0076, 0.0271), (0.02, 0)))),
]


@pytest.mark.parametrize(("written", "shape"), SHAPES)
def test_a_cavity_can_be_written_out(read, written, shape):
    cavity = read(plain().replace("{half sphere: 60 mm}", written)).piece.cavity
    if isinstance(shape, Profile):
        assert [p for pair in cavity.shape.points for p in pair] == pytest.approx([p for q in shape.points for p in q])
    else:
        assert close(cavity.shape, shape)


def test_a_water_fill_stands_beside_the_shape(read):
    cavity = read(plain().replace("60 mm}", "60 mm, holds: 55 ml}")).piece.cavity
    assert cavity.water_fill == pytest.approx(55e-6)


def test_hearts_lie_in_each_other(read):
    text = plain()
    text += "  heart: {component: mix, mould: {half sphere: 40 mm}, height: 5 mm, filled at: 60 °C,"
    text += " inside: {component: mix, mould: {sphere: 15 mm}, joined: 2}}\n"
    heart = read(text).piece.heart
    assert (heart.height, heart.filled_at) == (0.005, pytest.approx(333.15))
    assert (heart.inside.where, heart.inside.joined) == ("piece.heart.inside", 2)


def test_the_cold_may_be_a_list_with_rooms_stated_on_the_spot(read):
    text = plain()
    text += """\
cold:
  - harden piece: {in: {air: -30 °C, blows: 3 m/s}, for: 2 h}
  - stand: {in: {air: 20 °C, blows: 8 W/m²K, humidity: 50 %}, for: 5 min, in mould: no}
  - harden piece: {in: store freezer, until: mean -15 °C}
  - thaw: refrigerator
"""
    first, stand, again, thaw = read(text).programme.stages
    assert (first.own_room.air, first.own_room.air_speed, first.duration) == (pytest.approx(243.15), 3, 7200)
    assert (stand.own_room.surface, stand.own_room.humidity, stand.in_mould) == (8, 0.5, False)
    assert (again.room, again.until.place) == ("store freezer", "mean")
    assert (thaw.room, thaw.ready, thaw.where) == ("refrigerator", None, "cold.3.thaw")


def test_a_file_without_cold_gets_the_usual_programme(read):
    stages = [stage.what for stage in read(plain()).programme.stages]
    assert stages == ["harden piece", "keep", "thaw"]
    with_heart = plain() + "  heart: {component: mix, mould: {half sphere: 40 mm}}\n"
    assert read(with_heart).programme.stages[0].what == "harden heart"


def test_an_own_item_wins_over_the_table(read, larder):
    text = """\
own items:
  sugar:
    like: sugar
    price: 1.50 EUR/kg
  plum pulp:
    per 100 g: {water: 80 g, sugars: 14 g, carbohydrate: 16 g, protein: 0.8 g, fat: 0.2 g, fibre: 1.5 g, sodium: 2 mg}
    pH: 3.2
    density: 1.06
    edible: 96 %
    packs: [{name: 1 kg tub, holds: 1 kg, price: 7 EUR}]
    allergens: {EU: [], US: []}
    keeps: {frozen: 18 months}
    also: plum purée of ours
""" + PLAIN.replace("water: 100 g", "plum purée of ours: 100 g")
    dessert = read(text.replace("STEPS", "[]"))
    sugar, pulp = dessert.own_items
    assert sugar.price == 1.5
    assert pulp.composition.water == pytest.approx(0.8)
    assert pulp.composition.sugars == pytest.approx(0.14)
    assert (pulp.ph, pulp.density, pulp.edible) == (3.2, 1060, 0.96)
    assert (pulp.packs[0].mass, pulp.packs[0].price) == (1, 7)
    assert pulp.allergens_told
    assert larder.with_items(dessert.own_items).find("plum purée of ours").name == "plum pulp"


def test_names_are_found_in_any_case(read):
    text = plain().replace("body: mix", "body: Mix")
    assert read(text).piece.body.component == "mix"


def test_several_desserts_stand_in_one_file(larder):
    from demoule.files import desserts_of

    text = plain() + "---\n" + plain("[boil]").replace("Plum", "Cherry")
    assert [dessert.name for dessert in desserts_of(text, "d", larder)] == ["Plum", "Cherry"]


def test_chocolate_is_melted_at_a_habit_of_the_trade_where_no_temperature_is_told(read):
    # 40 to 50 °C (common practice, no source).
    one = read(plain("[melt, melt to 50 °C]"))
    temperatures = [step.to - 273.15 for step in component(one, "mix").steps]
    assert temperatures == pytest.approx([45, 50])
