"""The section is true to scale, legible, the same every time, and can be read by ear."""

import importlib.util
import itertools
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
import typst
from shapely.geometry import LineString, box

from demoule.figures import Severity
from demoule.piece import (
    Base,
    Cavity,
    Cylinder,
    Dip,
    Fill,
    Garnish,
    Heart,
    PieceDesign,
    Ring,
    Sphere,
    Spheroid,
    Spray,
    build,
    solids,
    thin_walls,
)
from demoule.sheets import cut
from demoule.sheets.hung import Hung
from demoule.sheets.marks import Band
from demoule.sheets.section import ghost_svg, plate, section_figures, section_svg
from demoule.sheets.tokens import ON_PIECE

_spec = importlib.util.spec_from_file_location("demo_pieces", Path(__file__).parents[1] / "piece" / "conftest.py")
demo = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(demo)

SVG = "{http://www.w3.org/2000/svg}"
MIXES = demo.MIXES | {
    "liquid caramel": demo.mix("liquid caramel", 1250.0, water=0.25, sucrose=0.60, glucose=0.15),
    "praline": demo.mix("praline", 1150.0, other_fat=0.4, sucrose=0.4, protein=0.2),
}


def made(design):
    return build(design, MIXES, demo.MOULDS)


PIECES = {
    "Apricot": made(demo.APRICOT),
    "Quince": made(demo.QUINCE_PIECE),
    "Chestnut": made(demo.CHESTNUT_PIECE),
    "Ring of raspberries": made(
        PieceDesign(
            mould=None,
            cavity=Cavity(shape=Ring(middle=0.05, section=0.028)),
            body=Fill(component="quince mousse"),
            heart=Heart(component="blackcurrant heart", cavity=Cavity(shape=Ring(middle=0.05, section=0.012))),
            skins=(Spray(component="velvet", lands=0.004),),
        )
    ),
    "Hazelnut with a heart in its heart": made(
        PieceDesign(
            mould=None,
            cavity=Cavity(shape=Spheroid(height=0.06, diameter=0.056)),
            body=Fill(component="chestnut mousse"),
            heart=Heart(
                component="praline",
                cavity=Cavity(shape=Sphere(radius=0.016)),
                inside=Heart(component="liquid caramel", cavity=Cavity(shape=Sphere(radius=0.009))),
            ),
            skins=(
                Dip(component="dark coating", bath=308.15),
                Dip(component="coating", bath=308.15, duration=1.0),
                Spray(component="velvet", lands=0.002),
            ),
            garnishes=(Garnish(what="mint leaf", eaten=True),),
        )
    ),
    "Mango": made(
        PieceDesign(
            mould=None,
            cavity=Cavity(shape=Cylinder(diameter=0.06, height=0.035)),
            body=Fill(component="quince mousse"),
            heart=Heart(component="blackcurrant heart", cavity=Cavity(shape=Cylinder(diameter=0.055, height=0.012))),
            base=Base(component="sablé", diameter=0.05, thickness=0.004),
            skins=(Spray(component="gloss", lands=0.002),),
        )
    ),
}
SIZES = [(800, 560), (760, 600), (680, 520), (560, 620), (1120, 700)]


def parsed(svg):
    return ElementTree.fromstring(svg)


def group(root, ident):
    return next(node for node in root.iter() if node.get("id", "").endswith(ident))


def extent(path):
    """Box of a path of M, L and C commands, its curves followed."""
    points = []
    for command, numbers in re.findall(r"([MLC])([^MLCZ]*)", path):
        v = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        if command == "C":
            a, b, c, d = np.array(points[-1]), *np.array(v).reshape(3, 2)
            t = np.linspace(0, 1, 13)[1:, None]
            curve = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
            points += curve.tolist()
        else:
            points.append(v)
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize("name", PIECES)
@pytest.mark.parametrize(("width", "height"), SIZES[1:3])
def test_true_to_scale_in_both_directions(name, width, height):
    piece = PIECES[name]
    drawn = plate(piece, name=name, width=width, height=height)
    root = parsed(drawn.svg)
    assert float(root.get("data-units-per-mm")) == pytest.approx(drawn.per_mm, abs=1e-4)
    for key, layer in zip(cut.keys_of(piece), piece.layers, strict=True):
        if layer.role not in cut.COATS:
            left, top, right, bottom = extent(next(group(root, f"-{key}").iter(f"{SVG}path")).get("d"))
            # Both ends are rounded to a tenth of a unit.
            assert right - left == pytest.approx(drawn.per_mm * 1000 * solids.width(layer.outline), abs=0.2)
            assert bottom - top == pytest.approx(drawn.per_mm * 1000 * solids.height(layer.outline), abs=0.2)


@pytest.mark.parametrize("name", PIECES)
def test_a_shell_has_its_true_thickness(name):
    piece = PIECES[name]
    drawn = plate(piece, name=name)
    layers = cut.drawn_layers(piece, _looks(piece, name), drawn.per_mm * 1000)
    for one in layers:
        if one.layer.role in cut.COATS:
            under = max(one.inside, key=solids.volume)
            band = solids.thickness_of(under, solids.volume(one.outline) - solids.volume(under))
            true = one.layer.thickness
            wanted = true if not one.widened else 1.5 / drawn.per_mm / 1000
            assert band == pytest.approx(wanted, rel=0.01)
            assert one.widened == (true * drawn.per_mm * 1000 < 1.5)
            assert (one.layer.component in drawn.widened) == one.widened


def _looks(piece, name):
    return cut.styles_of(piece, None, None, name)


def test_what_is_widened_is_said():
    drawn = plate(PIECES["Apricot"], name="Apricot")
    assert drawn.widened == ("velvet",)
    assert "Drawn wider than true, to be seen: velvet." in parsed(drawn.svg).find(f"{SVG}desc").text


@pytest.mark.parametrize("name", PIECES)
@pytest.mark.parametrize(("width", "height", "system"), [(*size, "metric") for size in SIZES] + [(720, 560, "us")])
def test_no_label_covers_another_and_no_line_crosses(name, width, height, system):
    drawn = plate(PIECES[name], name=name, width=width, height=height, system=system)
    boxes = {one.at: box(*one.box) for one in drawn.hung}
    lines = {one.at: LineString([one.ring, one.rule]) for one in drawn.hung}
    frame = box(-0.5, -0.5, width + 0.5, height + 0.5)
    for at, words in boxes.items():
        assert frame.covers(words), at
    for (one, a), (other, b) in itertools.combinations(boxes.items(), 2):
        assert not a.intersects(b), (one, other)
    for (one, a), (other, b) in itertools.combinations(lines.items(), 2):
        assert not a.crosses(b), (one, other)
    for (one, line), (other, words) in itertools.product(lines.items(), boxes.items()):
        if one != other:
            assert not line.intersects(words), (one, other)


@pytest.mark.parametrize("name", PIECES)
@pytest.mark.parametrize("whole", [True, False])
def test_each_ring_stands_on_its_layer(name, whole):
    piece = PIECES[name]
    drawn = plate(piece, name=name, width=820, height=620, whole=whole)
    root = parsed(drawn.svg)
    layers = {one.key: one for one in cut.drawn_layers(piece, _looks(piece, name), drawn.per_mm * 1000)}
    left, _, right, _ = extent(next(group(root, "-body").iter(f"{SVG}path")).get("d"))
    _, _, _, bottom = extent(next(group(root, "-body").iter(f"{SVG}path")).get("d"))
    axis = (left + right) / 2
    scale = drawn.per_mm * 1000
    for one in drawn.hung:
        if one.at in layers:
            spot = shapely.Point((one.ring[0] - axis) / scale, (bottom - one.ring[1]) / scale)
            # Half a pixel beside a thin coat is still on it.
            assert cut.region_of(layers[one.at]).distance(spot) < 1.0 / scale, one.at


def test_thin_walls_are_drawn_where_they_are():
    piece = PIECES["Apricot"]
    assert {c.what for c, _ in thin_walls(piece)} == {"top", "heart to base"}
    figures = section_figures(piece, name="Apricot")
    wall = next(f for f in figures if f.at.startswith("wall:"))
    assert (wall.name, wall.value, wall.unit, wall.says) == ("wall, top and foot", "3.6", "mm", "4\u202fmm wanted")
    assert wall.finding is Severity.CAUTION
    svg = section_svg(piece, name="Apricot")
    bars = [p for p in parsed(svg).iter(f"{SVG}path") if p.get("stroke-width") == "1.9"]
    assert len(bars) == 2
    assert not any(f.at.startswith("wall:") for f in section_figures(PIECES["Quince"]))


def test_figures_say_what_the_piece_holds():
    figures = {f.at: f for f in section_figures(PIECES["Apricot"], name="Apricot", upright=True)}
    assert figures["heart"].name == "apricot heart"
    assert (figures["heart"].value, figures["heart"].unit) == ("32.3", "g")
    assert figures["heart"].says == "28.8\u202fml, 36\u202f% of the piece"
    assert figures["spray"].says == "3\u202fg sprayed, 0.19\u202fmm"
    assert figures["piece"].value == "72.4"
    assert figures["base"].says == "26\u202fmm, 4.5\u202fmm thick"
    us = {f.at: f for f in section_figures(PIECES["Apricot"], system="us")}
    assert (us["heart"].value, us["heart"].unit) == ("1.14", "oz")  # 32.26 g / 28.3495


def test_a_computed_shell_has_its_band_and_basis():
    figures = {f.at: f for f in section_figures(PIECES["Hazelnut with a heart in its heart"])}
    assert figures["shell"].band.low < figures["shell"].band.value < figures["shell"].band.high
    assert figures["shell"].mark in ("solid", "broken")
    assert section_figures(PIECES["Apricot"])[1].mark == ""  # stated, not computed


@pytest.mark.parametrize("name", PIECES)
@pytest.mark.parametrize("theme", ["day", "night", "print"])
def test_light_and_well_formed(name, theme):
    svg = section_svg(PIECES[name], name=name, theme=theme)
    root = parsed(svg)
    assert len(svg.encode()) < 40_000
    assert root.get("role") == "img"
    told = root.get("aria-labelledby").split()
    assert [root.find(f"{SVG}title").get("id"), root.find(f"{SVG}desc").get("id")] == told
    assert root.find(f"{SVG}title").text == f"Section of {name}"
    idents = [node.get("id") for node in root.iter() if node.get("id")]
    assert len(idents) == len(set(idents))
    used = set(re.findall(r"url\(#([^)]+)\)", svg))
    assert used <= set(idents)


def test_the_same_dessert_gives_the_same_picture():
    piece = PIECES["Apricot"]
    assert section_svg(piece, name="Apricot") == section_svg(piece, name="Apricot")
    one = group(parsed(section_svg(piece, name="Apricot", ident="x")), "x-body")
    other = group(parsed(section_svg(piece, name="Peach", ident="x")), "x-body")
    assert len(list(one.iter(f"{SVG}circle"))) > 30
    assert [c.get("cx") for c in one.iter(f"{SVG}circle")] != [c.get("cx") for c in other.iter(f"{SVG}circle")]


def test_bubbles_follow_the_air():
    def count(air):
        mixes = MIXES | {"foam": demo.mix("foam", 700.0, air=air, water=0.6, milk_fat=0.2, sucrose=0.2)}
        design = PieceDesign(mould=None, cavity=Cavity(shape=Sphere(radius=0.025)), body=Fill(component="foam"))
        svg = section_svg(build(design, mixes, {}), name="Foam", labels=(), ident="x")
        return len(list(group(parsed(svg), "x-body").iter(f"{SVG}circle")))

    counts = [count(air) for air in (0.05, 0.1, 0.2)]
    assert counts[0] * 1.7 < counts[1]
    assert counts[1] * 1.5 < counts[2]


def test_lines_on_the_piece_are_the_same_by_night():
    by_day = group(parsed(section_svg(PIECES["Apricot"], name="Apricot", ident="x")), "x-heart")
    by_night = group(parsed(section_svg(PIECES["Apricot"], name="Apricot", ident="x", theme="night")), "x-heart")
    assert ElementTree.tostring(by_day) == ElementTree.tostring(by_night)
    rings = [
        c for c in parsed(section_svg(PIECES["Apricot"], name="Apricot", theme="night")).iter(f"{SVG}circle")
        if c.get("stroke-width") == "1.6"
    ]  # fmt: skip
    assert {ring.get("stroke") for ring in rings} == {ON_PIECE}


def test_it_is_navigation_from_outside_in():
    svg = section_svg(PIECES["Apricot"], name="Apricot", link=lambda key: f"#{key}", chosen="heart")
    root = parsed(svg)
    assert root.get("role") == "group"
    links = [(a.get("href"), a.get("aria-label")) for a in root.iter(f"{SVG}a")]
    hrefs = [href for href, _ in links]
    assert hrefs[:5] == ["#spray", "#shell", "#body", "#base", "#heart"]
    assert ("#heart", "apricot heart, 32.3 g, 28.8\u202fml, 36\u202f% of the piece") in links
    hits = [node for node in root.iter(f"{SVG}rect") if node.get("pointer-events") == "all"]
    assert len(hits) == 6
    assert all(float(hit.get("height")) >= 40 for hit in hits)


def test_an_unknown_value_is_an_empty_frame_and_a_change_is_told():
    labels = [
        Hung(at="heart", name="freezes", value="", unit="°C"),
        Hung(at="body", name="soluble solids", value="28.4", unit="°Bx", was="27.6", measured=True, mark="dotted"),
        Hung(at="shell", name="hours", value="6", unit="h", band=Band(low=5, value=6, high=8, least=2, most=12)),
    ]
    svg = section_svg(PIECES["Apricot"], name="Apricot", labels=labels, link=lambda key: f"#{key}")
    root = parsed(svg)
    spoken = [a.get("aria-label") for a in root.iter(f"{SVG}a")]
    assert "freezes, not known" in spoken
    assert any(node.get("stroke-dasharray") == "4 3" for node in root.iter(f"{SVG}rect"))
    assert any(node.text == "was 27.6" for node in root.iter(f"{SVG}text"))
    assert not any(node.text == "0" for node in root.iter(f"{SVG}text"))


def test_names_in_serif_and_measures_in_sans():
    root = parsed(section_svg(PIECES["Apricot"], name="Apricot"))
    for node in root.iter(f"{SVG}text"):
        serif = node.get("font-family").startswith("Source Serif")
        assert serif == (re.search(r"\d", node.text) is None and node.text not in ("g", "mm", "g lands", "ml"))


def test_the_scale_bar_is_20_mm():
    drawn = plate(PIECES["Quince"], name="Quince")
    ticks = next(p for p in parsed(drawn.svg).iter(f"{SVG}path") if (p.get("d") or "").count("v-") == 11)
    long = float(re.search(r"h([\d.]+)", ticks.get("d")).group(1))
    assert long == pytest.approx(20 * drawn.per_mm, abs=0.06)


def test_bare_piece_for_a_phone():
    drawn = plate(PIECES["Apricot"], name="Apricot", width=354, height=330, labels=())
    assert drawn.hung == ()
    assert [t.text for t in parsed(drawn.svg).iter(f"{SVG}text")] == ["20\u202fmm"]


def test_very_long_names_wrap_and_keep_their_size():
    piece = PIECES["Apricot"]
    long = [replace(f, name=f"{f.name} de la maison du jardin clos") for f in section_figures(piece)]
    drawn = plate(piece, name="Apricot", width=900, height=760, labels=long)
    boxes = [box(*one.box) for one in drawn.hung]
    assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))
    sizes = {t.get("font-size") for t in parsed(drawn.svg).iter(f"{SVG}text") if "jardin" in t.text}
    assert sizes == {"18"}


def test_every_typesetter_takes_it(tmp_path):
    (tmp_path / "section.svg").write_text(section_svg(PIECES["Apricot"], name="Apricot", theme="print"))
    (tmp_path / "page.typ").write_text('#set page(width: auto, height: auto)\n#image("section.svg")')
    assert len(typst.compile(tmp_path / "page.typ", format="pdf")) > 5000


class TestMark:
    @pytest.mark.parametrize("name", PIECES)
    @pytest.mark.parametrize("size", [40, 56, 120])
    def test_well_formed_and_of_its_size(self, name, size):
        for role in ("heart", "body", "spray", "nothing"):
            svg = ghost_svg(PIECES[name], role, name=name, size=size)
            root = parsed(svg)
            assert max(float(root.get("width")), float(root.get("height"))) == pytest.approx(size, abs=1.5)
            assert len(svg) < 12_000
            for path in root.iter(f"{SVG}path"):
                if path.get("fill") != "#FFFFFF":
                    left, top, right, bottom = extent(re.sub(r"[HVQhvqlm].*", "", path.get("d")) or "M1 1")
                    assert left > 0
                    assert top > 0
                    assert right < float(root.get("width"))
                    assert bottom < float(root.get("height"))

    def test_only_the_layer_at_hand_is_inked(self):
        root = parsed(ghost_svg(PIECES["Apricot"], "almond disc", name="Apricot", ident="m"))
        assert [node.get("id") for node in root.iter(f"{SVG}g")] == ["m-base"]
        assert root.find(f"{SVG}title").text == "Apricot: almond disc"

    def test_small_marks_leave_the_disc_out(self):
        small = parsed(ghost_svg(PIECES["Apricot"], "heart", name="Apricot", size=50))
        large = parsed(ghost_svg(PIECES["Apricot"], "heart", name="Apricot", size=100))
        assert len(small.findall(f"{SVG}path")) == 1
        assert len(large.findall(f"{SVG}path")) == 4
