import pytest

from demoule.errors import Mistakes
from demoule.files import kitchen_of, read_kitchen
from demoule.piece.design import HalfSphere, Profile, Sphere

PLAIN = """\
demoule: 1
kitchen: Mine
rooms:
  blast freezer: {air: -36 °C, blows: 18 W/m²K, levels: 8, rated: 15 kg per 4 h}
moulds:
  dome: {tray: 300×400, cavities: 12, dome: 60 × 25 mm}
machines:
  mixer: {bowl: 20 l, cream: 0.8–3.8 l}
people:
  me: {shift: "Mon–Sat 07:00–15:30", pay: 24 EUR/h}
prices per kg: {sugar: 1.20}
"""


def test_the_demonstration_s_kitchen_is_read_in_si(demonstration):
    kitchen = demonstration[1]
    assert (kitchen.name, kitchen.altitude, kitchen.currency, kitchen.market) == ("The Walled Garden", 640, "EUR", "EU")
    blast = kitchen.room("blast freezer")
    assert (blast.air, blast.surface, blast.levels) == (pytest.approx(237.15), 18, 8)
    assert (blast.rated_mass, blast.rated_time, blast.power) == (15, 4 * 3600, pytest.approx(3200))
    assert kitchen.room("bench").humidity == 0.5
    apricot = kitchen.mould("apricot 80 ml")
    assert apricot.cavity.shape == Sphere(radius=pytest.approx(0.02683), flat=pytest.approx(0.026))
    assert (apricot.per_tray, apricot.owned, apricot.places, apricot.two_part) == (12, 5, pytest.approx(0.5), True)
    quince = kitchen.mould("quince 110 ml")
    assert isinstance(quince.cavity.shape, Profile)
    assert quince.cavity.shape.points[1] == (pytest.approx(0.0076), pytest.approx(0.0271))
    assert quince.cavity.water_fill == pytest.approx(110e-6)
    assert kitchen.mould("half sphere 15 ml").cavity.shape == HalfSphere(radius=pytest.approx(0.01928))
    big, small = kitchen.mixers
    assert (big.bowl, big.cream_least, big.cream_most) == (
        pytest.approx(0.02),
        pytest.approx(8e-4),
        pytest.approx(3.8e-3),
    )
    assert small.name == "table mixer"
    (bath,) = kitchen.baths
    assert (bath.count, bath.least, bath.most) == (2, 1.2, 2.5)
    assert kitchen.sprayers[0].stays == pytest.approx(0.06)
    assert kitchen.pans == pytest.approx((0.16, 0.2, 0.24, 0.28))
    assert (kitchen.hob_power, kitchen.oven_levels) == (pytest.approx(3500), 6)
    assert [(p.name, p.pay) for p in kitchen.people] == [
        ("chef", pytest.approx(24)),
        ("cook", pytest.approx(18)),
        ("junior", pytest.approx(16)),
    ]
    assert kitchen.reject_share("Quince") == pytest.approx(0.05)
    assert (kitchen.margin, kitchen.packaging, kitchen.energy_price) == (
        pytest.approx(0.72),
        pytest.approx(0.28),
        pytest.approx(0.28),
    )


def test_prices_and_own_items_go_to_the_kitchen_s_larder():
    text = PLAIN.replace("{sugar: 1.20}", "{sugar: 1.20, gelatine: 28 EUR/kg, cocoa butter: 11.79 EUR/lb}")
    text += "own items: {my cream: {like: cream 35 %, price: 4.80 EUR/kg}}\npantry: {sugar: 5 kg, my cream: 2 kg}\n"
    kitchen = kitchen_of(text, "k")
    assert kitchen.larder.find("sugar").price == 1.2
    assert kitchen.larder.find("gelatine 200 bloom").price == 28
    assert kitchen.larder.find("cocoa butter").price == pytest.approx(11.79 / 0.45359237)
    assert kitchen.larder.find("my cream").price == pytest.approx(4.8)
    assert kitchen.larder.find("flour").price is None  # what is not told stays unknown
    assert kitchen.pantry == (("sugar", 5), ("my cream", 2))


def test_machines_are_told_by_what_is_said_of_them():
    text = PLAIN.replace(
        "  mixer: {bowl: 20 l, cream: 0.8–3.8 l}",
        "  old one: {bowl: 5 quarts, cream: 1–4 cups}\n  gun: {cup: 0.6 l, stays: 2 oz}\n  tub: {holds: 2.5–5 lb}\n"
        "  stove: {power: 2 kW, efficiency: 50 %, pans: [8 in, 10 in]}",
    )
    kitchen = kitchen_of(text, "k")
    assert kitchen.mixers[0].cream_most == pytest.approx(4 * 236.5882365e-6)
    assert kitchen.sprayers[0].stays == pytest.approx(2 * 0.028349523125)
    assert kitchen.baths[0].most == pytest.approx(5 * 0.45359237)
    assert (kitchen.hob_power, kitchen.hob_efficiency) == (2000, 0.5)
    assert kitchen.pans == pytest.approx((0.2032, 0.254))


def test_what_was_learned_is_kept_with_its_date():
    text = PLAIN + 'calibrations: {evaporation: {factor: 1.2, measured: "2026-03-02, 24 cm pan"}}\n'
    (learned,) = kitchen_of(text, "k").calibrations
    assert (learned.what, learned.factor, learned.measured) == ("evaporation", 1.2, "2026-03-02, 24 cm pan")


def test_rejects_of_all_others_are_told():
    kitchen = kitchen_of(PLAIN + "rejects: {Plum: 2 %, others: 6 %}\n", "k")
    assert kitchen.reject_share("Plum") == 0.02
    assert kitchen.reject_share("Cherry") == 0.06


WRONG = [
    ("kitchen: Mine", "kitchn: Mine", 2, "“kitchn” is no name"),
    ("air: -36 °C", "air: -36", 4, "no unit"),
    ("blows: 18 W/m²K", "blows: hard", 4, "is text where"),
    ("blows: 18 W/m²K", "blows: 5000 W/m²K", 4, "cannot be"),
    ("rated: 15 kg per 4 h", "rated: 15 kg", 4, "no rating"),
    ("dome: 60 × 25 mm", "dome: 60 × 25", 6, "no unit"),
    ("dome: 60 × 25 mm", "dome: 25 × 60 mm", 6, "not higher than it is wide"),
    ("tray: 300×400", "tray: 300", 6, "is not 2 lengths"),
    ("cavities: 12", "cavities: twelve", 6, "is text where"),
    (", cavities: 12", "", 6, "“cavities” is missing"),
    ("cream: 0.8–3.8 l", "cream: 3.8 l", 8, "one value"),
    ("bowl: 20 l", "bwol: 20 l", 8, "“bwol” is no name"),
    ("Mon–Sat 07:00–15:30", "Mon–Sat", 10, "hours of work"),
    ("Mon–Sat 07:00–15:30", "Mon–Sta 07:00–15:30", 10, "no day of the week"),
    ("Mon–Sat 07:00–15:30", "Mon–Sat 07:00–25:30", 10, "no time of day"),
    ("pay: 24 EUR/h", "pay: 24", 10, "no unit"),
    ("pay: 24 EUR/h", "pay: 24 USD/h", 10, "not in the kitchen's currency"),
    ("{sugar: 1.20}", "{suger: 1.20}", 11, "Nothing in the larder"),
    ("{sugar: 1.20}", "{sugar: -1}", 11, "cannot be a price"),
    ("{sugar: 1.20}", "{sugar: 1.20 EUR/l}", 11, "not known|cannot be read"),
    ("rooms:", "altitude: 9000 m\nrooms:", 3, "too much"),
    ("rooms:", "currency: shells\nrooms:", 3, "no currency"),
    ("rooms:", "market: Moon\nrooms:", 3, "no market"),
    ("rooms:", "margin: 72\nrooms:", 3, "no unit"),
]


@pytest.mark.parametrize(("old", "new", "line", "says"), WRONG)
def test_mistakes_of_a_kitchen_are_told_where_they_are(old, new, line, says):
    with pytest.raises(Mistakes) as caught:
        kitchen_of(PLAIN.replace(old, new, 1), "k")
    (one,) = caught.value.mistakes
    assert one.line == line
    assert any(part in one.says for part in says.split("|"))
    assert one.remedy


def test_a_dessert_is_no_kitchen(tmp_path, sketch):
    place = tmp_path / "d.yaml"
    place.write_text(sketch, encoding="utf-8")
    with pytest.raises(Mistakes, match="This is a dessert, not a kitchen"):
        read_kitchen(place)
