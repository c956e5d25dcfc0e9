"""Building pieces: the demonstration desserts to the gram, balances for any design, and errors in a chef's words.

Masses, volumes and walls of the three demonstration pieces are those its kitchen works with (common practice, no
source).
"""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput, DoesNotFit, UnknownName
from demoule.figures import Severity
from demoule.formula.component import Bake, Component
from demoule.formula.cooked import Cooked, Moment
from demoule.larder.ingredient import Nutrients
from demoule.physics.coating import coating_of
from demoule.physics.dipping import Core, ShellFactors, dip
from demoule.piece import (
    Base,
    Cavity,
    Cone,
    Cylinder,
    Dip,
    Dome,
    Fill,
    HalfSphere,
    Heart,
    Mould,
    PieceDesign,
    Profile,
    Ring,
    Sphere,
    Spray,
    build,
    checks,
    own_volume,
    shape_outline,
    solids,
)

PI = math.pi


def mix(name, density, *, air=0.0, **parts):
    """A finished component of a known density and composition."""
    return Cooked(
        name=name,
        weighed=(),
        entered=1.0,
        mass=1.0,
        composition=Composition.of({Constituent[key.upper()]: value for key, value in parts.items()}),
        nutrients=Nutrients(),
        contents=(),
        losses=(),
        density=density,
        mix_density=density / (1 - air),
        air=air,
        density_measured=True,
        history=(Moment(time=0.0, temperature=277.15, doing="made"),),
        waits=(),
        hands_on=0.0,
        ph=None,
    )


GEL = mix("gel", 1100.0, water=0.75, sucrose=0.25)
MOUSSE = mix("mousse", 700.0, air=0.3, water=0.6, milk_fat=0.2, sucrose=0.2)
DISC = mix("disc", 500.0, water=0.1, sucrose=0.9)
COATING = mix("coating", 1070.0, cocoa_butter=0.55, sucrose=0.45)
MIXES = {one.name: one for one in (GEL, MOUSSE, DISC, COATING)}
BALL = Cavity(shape=Sphere(radius=0.025))


def plain(**parts):
    return PieceDesign(**{"mould": None, "cavity": BALL, "body": Fill(component="mousse"), **parts})


def finding(piece, rule):
    return next((f for f in piece.findings if f.rule == rule), None)


# heart, body, base, shell, spray [g], whole [g]
WEIGHTS = {
    "Apricot": ({"heart": 32.3, "body": 31.1, "base": 1.08, "shell": 6.2, "spray": 1.8}, 72.4),
    "Quince": ({"heart": 31.6, "body": 56.2, "base": 4.86, "spray": 3.2}, 95.9),
    "Chestnut": ({"heart": 16.1, "body": 28.7, "base": 2.08, "shell": 4.5, "spray": 1.5}, 52.8),
}


@pytest.mark.parametrize("name", WEIGHTS)
def test_demonstration_pieces_weigh_what_the_kitchen_weighs(pieces, name):
    weights, whole = WEIGHTS[name]
    piece = pieces[name]
    for role, grams in weights.items():
        assert piece.layer(role).mass * 1000 == pytest.approx(grams, rel=0.005), role
    assert piece.mass * 1000 == pytest.approx(whole, rel=0.003)


def test_apricot_layers_have_the_volumes_of_the_kitchen(pieces):
    apricot = pieces["Apricot"]
    volumes = {layer.role: layer.volume * 1e6 for layer in apricot.layers}
    assert volumes["heart"] == pytest.approx(28.8)
    assert volumes["base"] == pytest.approx(2.39, abs=0.01)
    assert volumes["body"] == pytest.approx(48.8, abs=0.05)
    assert apricot.layer("velvet") is None
    assert [layer.role for layer in apricot.layers] == ["heart", "base", "body", "shell", "spray"]
    assert apricot.diameter * 1000 == pytest.approx(2 * (26.83 + 0.60 + 0.19), abs=0.05)
    assert apricot.hearts_per_piece == 2
    assert apricot.heart_mould.name == "half sphere 15 ml"


def test_the_thin_wall_of_the_apricot_is_found_and_the_remedy_computed(pieces):
    # By hand: the cavity is 26.83 + sqrt(26.83² − 13²) = 50.30 mm high; less disc 4.5 and heart 38.56, halved: 3.62.
    apricot = pieces["Apricot"]
    walls = {c.what: c.wall * 1000 for c in apricot.clearances}
    assert walls["top"] == pytest.approx(3.62, abs=0.005)
    assert walls["heart to base"] == pytest.approx(3.62, abs=0.005)
    assert apricot.smallest_wall.wall * 1000 == pytest.approx(3.62, abs=0.005)
    said = finding(apricot, "wall")
    assert said.severity is Severity.CAUTION
    assert said.says == "The heart leaves 3.6 mm at the top and above the disc."
    # With 3.5 mm of disc: (50.30 − 3.5 − 38.56) / 2 = 4.12.
    assert "a disc of 3.5 mm leaves 4.1 mm" in said.remedy
    assert said.where == "piece.heart"


def test_quince_and_chestnut_have_wall_enough(pieces):
    for name in ("Quince", "Chestnut"):
        assert finding(pieces[name], "wall") is None
        assert pieces[name].smallest_wall.wall > 0.004


def test_velvet_of_the_quince_is_a_quarter_of_a_millimetre(pieces):
    spray = pieces["Quince"].layer("spray")
    assert spray.thickness * 1000 == pytest.approx(0.26, abs=0.015)
    assert spray.taken * 1000 == pytest.approx(3.2 / 0.55)


def test_clearances_join_two_points_of_the_section(pieces):
    for piece in pieces.values():
        for clearance in piece.clearances:
            assert math.dist(clearance.start, clearance.end) == pytest.approx(clearance.wall, abs=1e-7)
            heart = solids.line(piece.layer("heart").outline)
            assert heart.distance(shapely.Point(clearance.start)) < 1e-7


radii = st.floats(0.015, 0.04)


@given(radii, st.floats(0.2, 0.85), st.floats(0, 0.02), st.floats(0.5, 8e0))
@settings(max_examples=40, deadline=None)
def test_volumes_balance_and_the_composition_is_the_mean_by_mass(radius, share, headspace, coat):
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=share * radius)))
    piece = build(
        plain(
            cavity=Cavity(shape=Sphere(radius=radius)),
            heart=heart,
            body=Fill(component="mousse", headspace=headspace),
            skins=(Spray(component="coating", lands=coat / 1000),),
        ),
        MIXES,
        {},
    )
    inside = [layer for layer in piece.layers if layer.role in ("heart", "body", "base")]
    filled = sum(layer.volume for layer in inside)
    assert filled == pytest.approx(piece.cavity_volume * (1 - headspace), rel=1e-9)
    assert sum(own_volume(piece, layer) for layer in piece.layers) == pytest.approx(
        solids.volume(piece.layers[-1].outline), rel=1e-9
    )
    assert piece.mass == pytest.approx(sum(layer.mass for layer in piece.layers))
    assert sum(piece.composition.fractions) == pytest.approx(1)
    water = sum(layer.mass * layer.composition.water for layer in piece.layers)
    assert piece.composition.water == pytest.approx(water / piece.mass)


@given(radii, st.floats(0.3, 0.9))
@settings(max_examples=30, deadline=None)
def test_a_ball_in_a_ball_sits_in_the_middle(radius, share):
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=share * radius)))
    piece = build(plain(cavity=Cavity(shape=Sphere(radius=radius)), heart=heart), MIXES, {})
    assert piece.smallest_wall.wall == pytest.approx((1 - share) * radius, rel=2e-3, abs=1e-5)


def test_a_heart_at_a_height_stands_at_that_height():
    heart = Heart(component="gel", cavity=Cavity(shape=Cylinder(diameter=0.02, height=0.01)), height=0.012)
    piece = build(plain(heart=heart), MIXES, {})
    z = [point[1] for point in piece.layer("heart").outline]
    assert min(z) == pytest.approx(0.012)
    assert max(z) == pytest.approx(0.022)


def test_an_off_centre_heart_is_told_to_move():
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.015)), height=0.002)
    piece = build(plain(heart=heart), MIXES, {})
    said = finding(piece, "wall")
    assert said.says == "The heart leaves 2 mm at the foot."
    assert "set the heart at 10 mm, which leaves 10 mm" in said.remedy


def test_a_large_heart_is_a_caution_with_the_size_that_would_do():
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.0205)))
    said = finding(build(plain(heart=heart), MIXES, {}), "heart share")
    # 0.96 × (20.5 / 25)³ = 53 % of the volume; 40 % of 65.45 ml is 26.2 ml.
    assert "53 %" in said.says
    assert "26.2 ml" in said.remedy


def test_a_heart_too_large_is_an_error_in_a_chefs_words():
    heart = Heart(component="gel", cavity=Cavity(shape=Cylinder(diameter=0.046, height=0.030)), where="piece.heart")
    moulds = {
        "ball 8 ml": Mould(name="ball 8 ml", cavity=Cavity(shape=Sphere(radius=0.0125)), per_tray=20, owned=1),
        "ball 27 ml": Mould(name="ball 27 ml", cavity=Cavity(shape=Sphere(radius=0.0186)), per_tray=20, owned=1),
    }
    with pytest.raises(DoesNotFit) as caught:
        build(plain(heart=heart), MIXES, moulds)
    error = caught.value
    assert "47.9 ml, 46 mm across and 30 mm high" in error.says
    assert "50 mm across" in error.says
    assert error.where == "piece.heart"
    assert "“ball 27 ml” fits" in error.remedy
    # The promised sizes keep their promise.
    cavity = float(error.remedy.split("needs a cavity of ")[1].split(" ml")[0])
    wider = Cavity(shape=Sphere(radius=(3 * cavity * 1e-6 / 4 / PI) ** (1 / 3)))
    assert build(plain(cavity=wider, heart=heart), MIXES, {}).smallest_wall.wall >= 0.00399
    small = float(error.remedy.split("up to ")[1].split(" ml")[0]) / 47.9
    less = Cavity(shape=Cylinder(diameter=0.046 * small ** (1 / 3), height=0.030 * small ** (1 / 3)))
    assert build(plain(heart=replace(heart, cavity=less)), MIXES, {}).smallest_wall.wall >= 0.00395


def test_a_heart_set_too_low_is_told_where_it_fits():
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.015)), height=-0.001)
    with pytest.raises(DoesNotFit, match="stands out by 1 mm") as caught:
        build(plain(heart=heart), MIXES, {})
    assert "set it at 10 mm, where it leaves 10 mm all round" in caught.value.remedy


def test_more_heart_than_its_mould_holds_is_refused():
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.01)), volume=62e-6)
    with pytest.raises(DoesNotFit, match=r"62 ml for a cavity of 4.2 ml"):
        build(plain(heart=heart), MIXES, {})


def test_hearts_fill_their_cavity_by_habit_to_96_per_cent_and_as_stated_otherwise():
    cavity = Cavity(shape=HalfSphere(radius=0.015))
    holds = 2 / 3 * PI * 0.015**3
    by_habit = build(plain(heart=Heart(component="gel", cavity=cavity)), MIXES, {}).layer("heart")
    assert by_habit.volume == pytest.approx(0.96 * holds, rel=1e-4)
    by_mass = build(plain(heart=Heart(component="gel", cavity=cavity, mass=0.0055)), MIXES, {}).layer("heart")
    assert by_mass.mass == 0.0055
    assert by_mass.volume == pytest.approx(0.0055 / 1100)
    # A cavity filled to 70 %, grown by 6 % on freezing, stands lower than its rim.
    low = build(plain(heart=Heart(component="gel", cavity=cavity, volume=0.7 * holds)), MIXES, {})
    assert solids.volume(low.layer("heart").outline) == pytest.approx(0.7 * 1.06 * holds, rel=1e-4)
    assert finding(low, "heart fill").severity is Severity.NOTE
    full = build(plain(heart=Heart(component="gel", cavity=cavity, volume=holds * 0.9999)), MIXES, {})
    assert finding(full, "heart fill").severity is Severity.CAUTION


def test_two_halves_take_two_cavities_and_show_their_joint():
    heart = Heart(component="gel", cavity=Cavity(shape=HalfSphere(radius=0.015)), joined=2)
    piece = build(plain(heart=heart), MIXES, {})
    layer = piece.layer("heart")
    assert piece.hearts_per_piece == 2
    assert layer.joint == pytest.approx(0.025, abs=1e-5)
    assert layer.volume == pytest.approx(0.96 * 4 / 3 * PI * 0.015**3, rel=1e-4)


def test_hearts_in_hearts_share_the_volume_of_the_outer_one():
    innermost = Heart(component="coating", cavity=Cavity(shape=Sphere(radius=0.004)), volume=0.26e-6)
    inner = Heart(component="mousse", cavity=Cavity(shape=Sphere(radius=0.008)), volume=2.1e-6, inside=innermost)
    outer = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.015)), volume=13.8e-6, inside=inner)
    piece = build(plain(heart=outer), MIXES, {})
    roles = [layer.role for layer in piece.layers]
    assert roles == ["inner heart", "inner heart", "heart", "body"]
    volumes = [layer.volume * 1e6 for layer in piece.layers]
    assert volumes[:3] == pytest.approx([0.26, 1.84, 11.7])
    assert sum(volumes) == pytest.approx(piece.cavity_volume * 1e6, rel=1e-9)
    walls = [c.wall for c in piece.clearances if c.what == "around the inner heart"]
    assert walls == pytest.approx([0.007, 0.004], abs=5e-5)


def test_an_inner_heart_too_large_is_refused():
    inner = Heart(component="mousse", cavity=Cavity(shape=Sphere(radius=0.016)), where="piece.heart.inside")
    outer = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.015)), inside=inner)
    with pytest.raises(DoesNotFit) as caught:
        build(plain(heart=outer), MIXES, {})
    assert caught.value.where == "piece.heart.inside"


def test_a_ring_holds_a_ring():
    ring = Cavity(shape=Ring(middle=0.06, section=0.03))
    thin = Heart(component="gel", cavity=Cavity(shape=Ring(middle=0.06, section=0.012)))
    piece = build(plain(cavity=ring, heart=thin, skins=(Spray(component="coating", lands=0.004),)), MIXES, {})
    assert piece.smallest_wall.wall == pytest.approx(0.009, abs=2e-5)
    ball = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.01)))
    with pytest.raises(DoesNotFit):
        build(plain(cavity=ring, heart=ball), MIXES, {})
    with pytest.raises(DoesNotFit, match="no flat foot"):
        build(plain(cavity=ring, base=Base(component="disc", diameter=0.03, thickness=0.004)), MIXES, {})


def test_the_base_from_its_mass_its_cut_or_its_thickness():
    cavity = Cavity(shape=Cone(foot=0.05, top=0.03, height=0.04))
    by_thickness = build(plain(cavity=cavity, base=Base(component="disc", diameter=0.04, thickness=0.004)), MIXES, {})
    assert by_thickness.layer("base").mass == pytest.approx(PI * 0.02**2 * 0.004 * 500)
    by_mass = build(plain(cavity=cavity, base=Base(component="disc", diameter=0.04, mass=0.003)), MIXES, {})
    assert by_mass.layer("base").thickness == pytest.approx(0.003 / 500 / (PI * 0.02**2))
    recipe = Component(name="disc", weighed=(), steps=(Bake(at=440.0, duration=700.0, loses=0.15, cut=0.036),))
    by_cut = build(plain(cavity=cavity, base=Base(component="disc", mass=0.003)), MIXES, {}, recipes={"disc": recipe})
    assert solids.width(by_cut.layer("base").outline) == pytest.approx(0.036)
    two = build(plain(cavity=cavity, base=Base(component="disc", diameter=0.04, thickness=0.004, count=2)), MIXES, {})
    assert two.layer("base").mass == pytest.approx(2 * by_thickness.layer("base").mass)
    with pytest.raises(BadInput, match="Neither thickness nor mass"):
        build(plain(cavity=cavity, base=Base(component="disc", diameter=0.04)), MIXES, {})


def test_a_disc_too_wide_is_told_the_width_that_fits():
    cavity = Cavity(shape=Dome(diameter=0.05, height=0.025))
    with pytest.raises(DoesNotFit) as caught:
        build(plain(cavity=cavity, base=Base(component="disc", diameter=0.05, thickness=0.008)), MIXES, {})
    # At 8 mm a half sphere of 25 mm is sqrt(25² − 8²) = 23.69 mm wide from the axis: 47.4 mm, and half a mm of play.
    assert "47.4 mm across at its narrowest" in caught.value.says
    assert "46.8 mm or less" in caught.value.remedy


def test_opening_of_the_mould():
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.012)))
    narrow = Mould(name="closed", cavity=BALL, per_tray=8, owned=1, opening=0.014)
    with pytest.raises(DoesNotFit, match="24 mm across for 14 mm"):
        build(plain(mould="closed", cavity=None, heart=heart), MIXES, {"closed": narrow})
    halves = replace(narrow, two_part=True)
    piece = build(plain(mould="closed", cavity=None, heart=heart), MIXES, {"closed": halves})
    assert finding(piece, "heart opening").severity is Severity.NOTE
    open_mould = Mould(name="open", cavity=Cavity(shape=Sphere(radius=0.025, flat=0.02)), per_tray=8, owned=1)
    piece = build(plain(mould="open", cavity=None, heart=heart), MIXES, {"open": open_mould})
    assert finding(piece, "heart opening").severity is Severity.CAUTION


def test_a_stated_body_that_is_short_or_too_much():
    short = build(plain(body=Fill(component="mousse", mass=0.040)), MIXES, {})
    assert finding(short, "body fill").severity is Severity.CAUTION
    assert short.layer("body").mass == 0.040
    with pytest.raises(DoesNotFit, match=r"71\.4 ml"):
        build(plain(body=Fill(component="mousse", mass=0.050)), MIXES, {})


def test_headspace_over_two_per_cent_is_a_caution():
    piece = build(plain(body=Fill(component="mousse", headspace=0.05)), MIXES, {})
    assert finding(piece, "headspace").severity is Severity.CAUTION
    assert piece.layer("body").volume == pytest.approx(0.95 * piece.cavity_volume, rel=1e-9)


def test_a_heavy_heart_sinks_in_a_light_body():
    mixes = {**MIXES, "foam": mix("foam", 520.0, air=0.5, water=0.6, milk_fat=0.2, sucrose=0.2)}
    heart = Heart(component="gel", cavity=Cavity(shape=Sphere(radius=0.015)))
    assert finding(build(plain(heart=heart, body=Fill(component="foam")), mixes, {}), "heart sinks")
    assert finding(build(plain(heart=heart), mixes, {}), "heart sinks") is None


class TestCoats:
    def test_stated_thickness_and_stated_mass_are_inverses(self):
        thick = build(plain(skins=(Dip(component="coating", bath=308.15, thickness=0.0008),)), MIXES, {}).layer("shell")
        assert thick.stated
        exact = 4 / 3 * PI * (0.0258**3 - 0.025**3)
        assert thick.mass == pytest.approx(exact * 1070, rel=3e-4)
        back = build(plain(skins=(Dip(component="coating", bath=308.15, mass=thick.mass),)), MIXES, {}).layer("shell")
        assert back.thickness == pytest.approx(0.0008, rel=1e-4)

    def test_the_dipping_model_is_asked_when_nothing_is_stated(self):
        # Common practice, no source: one dip leaves 0.4 to 1.5 mm, 4 to 14 g on 90 cm².
        piece = build(plain(skins=(Dip(component="coating", bath=308.15, piece=253.15, duration=2.0),)), MIXES, {})
        shell = piece.layer("shell")
        assert not shell.stated
        assert 0.0004 < shell.thickness < 0.0015
        assert shell.thickness_low < shell.thickness < shell.thickness_high
        assert shell.basis
        colder = build(plain(skins=(Dip(component="coating", bath=308.15, piece=243.15, duration=2.0),)), MIXES, {})
        hotter = build(plain(skins=(Dip(component="coating", bath=316.15, piece=253.15, duration=2.0),)), MIXES, {})
        assert hotter.layer("shell").mass < shell.mass < colder.layer("shell").mass

    def test_a_second_dip_adds_less_than_the_first(self):
        # Common practice, no source: a second dip adds 60 to 80 % of the first (re-frozen, a little more).
        twice = (
            Dip(component="coating", bath=308.15, duration=2.0),
            Dip(component="coating", bath=308.15, duration=2.0),
        )
        first, second = (layer for layer in build(plain(skins=twice), MIXES, {}).layers if layer.role == "shell")
        assert 0.5 * first.thickness < second.thickness < first.thickness
        assert solids.volume(second.outline) > solids.volume(first.outline)

    def test_spray_by_weight_by_area_or_by_habit(self):
        by_weight = build(plain(skins=(Spray(component="coating", lands=0.002, overspray=0.5),)), MIXES, {}).layer(
            "spray"
        )
        assert by_weight.taken == pytest.approx(0.004)
        area = 4 * PI * 0.025**2
        by_area = build(plain(skins=(Spray(component="coating", per_area=0.002 / area),)), MIXES, {}).layer("spray")
        assert by_area.mass == pytest.approx(0.002, rel=1e-4)
        habit = build(plain(skins=(Spray(component="coating"),)), MIXES, {}).layer("spray")
        assert not habit.stated
        assert 0.0001 < habit.thickness < 0.0004  # common practice: a velvet is 0.1 to 0.4 mm

    def test_coats_nobody_makes_are_told(self):
        thick = build(plain(skins=(Dip(component="coating", bath=308.15, thickness=0.0035),)), MIXES, {})
        assert "3.5 mm" in finding(thick, "shell").says
        velvet = build(plain(skins=(Spray(component="coating", lands=0.006),)), MIXES, {})
        assert finding(velvet, "spray")
        odd = build(plain(skins=(Spray(component="coating", lands=0.002, overspray=0.05),)), MIXES, {})
        assert finding(odd, "overspray").severity is Severity.NOTE

    @pytest.mark.parametrize(
        "skin",
        [
            Spray(component="coating", lands=-0.001),
            Spray(component="coating", lands=0.001, overspray=1.0),
            Dip(component="coating", bath=308.15, thickness=0.0),
            Dip(component="coating", bath=308.15, mass=-0.001),
            Dip(component="coating", bath=285.15),  # below its setting point
            Dip(component="gel", bath=308.15),  # a gel is no coating
        ],
    )
    def test_impossible_coats_are_refused_at_their_place(self, skin):
        with pytest.raises(BadInput) as caught:
            build(plain(skins=(skin,)), MIXES, {})
        assert caught.value.where == "piece.skin"
        assert caught.value.remedy


def test_unknown_names_are_answered_with_the_nearest():
    with pytest.raises(UnknownName, match="mouse") as caught:
        build(plain(body=Fill(component="mouse")), MIXES, {})
    assert caught.value.hint == "mousse"
    with pytest.raises(UnknownName):
        build(plain(mould="apricot 90 ml", cavity=None), MIXES, {})
    with pytest.raises(BadInput, match="Nothing tells the shape"):
        build(plain(cavity=None), MIXES, {})


def test_a_measured_water_fill_far_from_the_shape_is_a_caution():
    piece = build(plain(cavity=Cavity(shape=Sphere(radius=0.025), water_fill=60e-6)), MIXES, {})
    assert finding(piece, "water fill").severity is Severity.CAUTION
    assert piece.cavity_volume == pytest.approx(60e-6)
    assert piece.cavity_scale == pytest.approx((60e-6 / (4 / 3 * PI * 0.025**3)) ** (1 / 3), rel=1e-4)


def test_a_piece_of_body_alone_has_no_walls():
    piece = build(plain(), MIXES, {})
    assert piece.clearances == ()
    assert piece.smallest_wall is None
    assert piece.findings == ()
    assert piece.layer("body").volume == pytest.approx(solids.volume(shape_outline(Sphere(radius=0.025))))


class TestHabitsOfTheTrade:
    """Limits as they are said at the bench: common practice, no source."""

    def test_a_tip_wants_six_millimetres(self):
        # An onion dome: its top is rounded to a few millimetres.
        tip = Cavity(
            shape=Profile(
                points=(
                    (0, 0.02),
                    (0.01, 0.025),
                    (0.02, 0.024),
                    (0.03, 0.016),
                    (0.038, 0.006),
                    (0.042, 0.002),
                    (0.044, 0),
                )
            )
        )
        around = shape_outline(tip.shape)
        assert checks.pointed(around)
        assert not checks.pointed(shape_outline(Sphere(radius=0.02)))
        height = solids.height(around)

        def said(gap):
            cone = Cavity(shape=Cone(foot=0.02, top=0, height=0.02))
            heart = Heart(component="gel", cavity=cone, height=height - 0.02 - gap)
            piece = build(plain(cavity=tip, heart=heart), MIXES, {})
            return finding(piece, "wall"), piece.smallest_wall.wall

        thick, wall = said(0.0066)
        assert thick is None
        assert 0.006 < wall < 0.0063
        thin, wall = said(0.0063)
        assert 0.0057 < wall < 0.006
        assert f"{1000 * wall:.1f} mm at the top" in thin.says
        assert "6 mm of body is wanted at the tip" in thin.why

    @pytest.mark.parametrize(("gap", "speaks"), [(0.0039, True), (0.0041, False)])
    def test_four_millimetres_elsewhere(self, gap, speaks):
        heart = Heart(component="gel", cavity=Cavity(shape=Cylinder(diameter=0.02, height=0.01)), height=gap)
        box = Cavity(shape=Cylinder(diameter=0.05, height=0.04))
        assert (finding(build(plain(cavity=box, heart=heart), MIXES, {}), "wall") is not None) == speaks

    @pytest.mark.parametrize(("headspace", "speaks"), [(0.0195, False), (0.0205, True)])
    def test_two_per_cent_of_headspace(self, headspace, speaks):
        piece = build(plain(body=Fill(component="mousse", headspace=headspace)), MIXES, {})
        assert (finding(piece, "headspace") is not None) == speaks

    @pytest.mark.parametrize(
        ("thickness", "speaks"), [(0.00039, True), (0.00041, False), (0.00148, False), (0.00152, True)]
    )
    def test_a_shell_of_0_4_to_1_5_mm(self, thickness, speaks):
        piece = build(plain(skins=(Dip(component="coating", bath=308.15, thickness=thickness),)), MIXES, {})
        assert (finding(piece, "shell") is not None) == speaks

    @pytest.mark.parametrize(("overspray", "speaks"), [(0.24, True), (0.26, False), (0.59, False), (0.61, True)])
    def test_overspray_of_25_to_60_per_cent(self, overspray, speaks):
        piece = build(plain(skins=(Spray(component="coating", lands=0.0015, overspray=overspray),)), MIXES, {})
        assert (finding(piece, "overspray") is not None) == speaks

    @pytest.mark.parametrize(("short", "speaks"), [(0.028, False), (0.032, True)])
    def test_a_fill_more_than_three_per_cent_short(self, short, speaks):
        full = build(plain(), MIXES, {}).layer("body").mass
        piece = build(plain(body=Fill(component="mousse", mass=full * (1 - short))), MIXES, {})
        assert (finding(piece, "body fill") is not None) == speaks

    def test_usual_weights_of_a_spray(self):
        # 200 g/m² of velvet, 250 of glaze, where nothing is stated: 2 g on 100 cm².
        area = 4 * PI * 0.025**2
        velvet = build(plain(skins=(Spray(component="coating"),)), MIXES, {}).layer("spray")
        assert velvet.mass == pytest.approx(0.200 * area, rel=1e-3)
        glaze = build(plain(skins=(Spray(component="gel"),)), MIXES, {}).layer("spray")
        assert glaze.mass == pytest.approx(0.250 * area, rel=1e-3)


def test_a_stated_dip_of_something_else_than_a_coating_is_taken_as_stated():
    piece = build(plain(skins=(Dip(component="gel", bath=305.15, thickness=0.001),)), MIXES, {})
    assert piece.layer("shell").thickness == 0.001


def test_the_dip_follows_the_dipping_model_on_the_true_area():
    # A sphere by the model's own sphere, and by the section: one and the same shell.
    piece = build(plain(skins=(Dip(component="coating", bath=308.15, piece=253.15, duration=2.0),)), MIXES, {})
    volume = piece.cavity_volume
    core = Core.sphere(volume, temperature=253.15, mass=volume * 700, effusivity=1500.0)
    shell = dip(coating_of(COATING.composition), core, bath=308.15, duration=2.0)
    assert piece.layer("shell").thickness == pytest.approx(shell.thickness, rel=1e-3)
    assert piece.layer("shell").mass == pytest.approx(shell.mass, rel=2e-3)
    # In a long dip the whole piece warms, and its heat capacity is felt: 4500 J/(kg K) (judged, as the model's own).
    long = build(plain(skins=(Dip(component="coating", bath=308.15, piece=253.15, duration=12.0),)), MIXES, {})
    by_model = dip(coating_of(COATING.composition), core, bath=308.15, duration=12.0)
    assert long.layer("shell").thickness == pytest.approx(by_model.thickness, rel=3e-4)
    # A body without air gives its cold away faster: effusivity of a frozen gel, 2700 (judged, from the dipping model).
    dense = build(
        plain(body=Fill(component="gel"), skins=(Dip(component="coating", bath=308.15, piece=253.15, duration=2.0),)),
        MIXES,
        {},
    )
    core = Core.sphere(volume, temperature=253.15, mass=volume * 1100, effusivity=2700.0)
    shell_on_gel = dip(coating_of(COATING.composition), core, bath=308.15, duration=2.0)
    assert dense.layer("shell").thickness == pytest.approx(shell_on_gel.thickness, rel=1e-3)
    assert shell_on_gel.thickness > 1.05 * shell.thickness
    taught = ShellFactors(
        film=0.8, freeze_on=0.8, fat=0.55, bath=308.15, piece=253.15, shortest=2.0, longest=2.0, learned_from="test"
    )
    learned = build(
        plain(skins=(Dip(component="coating", bath=308.15, piece=253.15, duration=2.0),)),
        MIXES,
        {},
        learned={"coating": taught},
    )
    assert learned.layer("shell").thickness == pytest.approx(0.8 * shell.thickness, rel=1e-3)
