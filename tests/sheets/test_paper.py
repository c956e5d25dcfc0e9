"""The dossier on paper: what a cook reads at the wall, in both systems, and how many sheets it takes."""

from __future__ import annotations

import functools
import io
import re

import pytest
from pypdf import PdfReader

from demoule.batch import plain_kitchen
from demoule.dossier import Dossier, dossier
from demoule.files import desserts_of
from demoule.formula.component import Fold, Pan
from demoule.larder import standard_larder
from demoule.sheets.method import degrees, sentence
from demoule.sheets.pages import page_model
from demoule.sheets.paper import dossier_pdf
from demoule.units import kelvin
from demoule.units.wording import beside_in
from demoule.worked import work_up

TWICE = """demoule: 1
name: Cherry
components:
  gel: {weigh: {cherry purée: 500 g, sugar: 60 g, gelatine leaf gold: 3 leaves}, steps: [hydrate, heat to 60 °C]}
  ganache:
    weigh: {cream 35 %: 700 g, white chocolate: 250 g, gelatine leaf gold: 3 leaves}
    steps: [hydrate, heat half the cream to 185 °F, blend, rest 12–24 h at 39 °F, whip to 60 %]
  coating: {weigh: {white chocolate: 500 g, cocoa butter: 450 g}}
piece:
  mould: {sphere: 54 mm}
  heart: {component: gel, mould: {sphere: 26 mm}}
  body: ganache
  skin: [{dip: {component: coating, bath: 34 °C}}, {dip: {component: coating, bath: 34 °C}}]
"""


@functools.cache
def _cherry() -> Dossier:
    larder = standard_larder()
    kitchen = plain_kitchen(larder)
    [one] = desserts_of(TWICE, "cherry.yaml", larder, kitchen)
    return dossier(work_up(one, kitchen, 24), "US")


def test_a_temperature_is_whole_in_both_units_unless_it_was_written_otherwise():
    # 195 °F is named for 85 to 90 °C and 77 °F for 25 °C (common practice, no source): the pair shows the rounding.
    for written, shown in (
        (kelvin(85), "85 °C / 185 °F"),
        (kelvin(-18), "−18 °C / 0 °F"),
        (kelvin(25), "25 °C / 77 °F"),
        ((195 - 32) / 1.8 + 273.15, "91 °C / 195 °F"),
        (kelvin(31.5), "31.5 °C / 88.7 °F"),
    ):
        assert degrees(written).replace("\u202f", " ") == shown
    assert degrees(kelvin(85), "us").startswith("185")


def test_what_is_folded_in_tells_how_far_it_is_whipped():
    said = sentence(Fold(part="cream", density=500.0)).replace("\u202f", " ")
    assert said == "Fold in cream, whipped to 0.5 g/ml."


def test_a_pan_keeps_its_name_and_gets_its_size_for_a_us_kitchen():
    assert beside_in("us", Pan(name="16 cm pan", open_area=0.02).name) == "16 cm (6.3 in) pan"
    assert beside_in("metric", "GN 1/1 40 mm") == "GN 1/1 40 mm"


def test_ounces_are_what_the_scale_of_the_caption_shows():
    tables = page_model(_cherry(), system="us")["weigh"]
    for line in (line for table in tables for line in table["lines"]):
        if line["unit"] == "oz" and "lb" not in line["mass"]:
            ounces = float(line["mass"])
            step = 0.005 if ounces < 1 else 0.1
            assert ounces == pytest.approx(round(ounces / step) * step, abs=1e-9)


def test_two_dips_of_one_coating_are_told_apart():
    plate = page_model(_cherry())["cover"]["section"]
    assert "coating, coat 1" in plate
    assert "coating, coat 2" in plate


def test_what_has_no_price_is_counted_on_the_cover_and_named_on_the_page_of_costs():
    model = page_model(_cherry())
    cost = next(f for f in model["cover"]["figures"] if f["name"].startswith("material"))
    assert re.search(r"without \d+ prices", cost["says"])
    assert "cherry" not in cost["says"]
    assert "cherry purée" in model["cost"]["unpriced"]


@pytest.mark.parametrize(("paper", "system"), [("a4", "metric"), ("letter", "us")])
def test_the_stages_in_the_cold_stand_two_on_a_sheet(paper, system):
    pages = [
        page.extract_text() for page in PdfReader(io.BytesIO(dossier_pdf(_cherry(), paper=paper, system=system))).pages
    ]
    first = next(number for number, text in enumerate(pages) if "Harden the hearts" in text)
    last = next(number for number, text in enumerate(pages) if "On the table" in text)
    assert last - first == 2  # six stages
    assert len(pages) <= 13


@pytest.mark.parametrize("name", ["🍑 Peach", "柚子", "Слива", "ליצ׳י", "Pêche\u2009🏳️\u200d🌈", "e\u0301clair"])
def test_a_dessert_in_any_script_is_printed(name):
    larder = standard_larder()
    kitchen = plain_kitchen(larder)
    [one] = desserts_of(TWICE.replace("name: Cherry", f"name: {name}"), "cherry.yaml", larder, kitchen)
    paper = dossier_pdf(dossier(work_up(one, kitchen, 24), "US"))
    first = PdfReader(io.BytesIO(paper)).pages[0].extract_text()
    assert ("■" in first) == (name not in ("Слива", "e\u0301clair"))
