"""The command answers, writes whole files, and tells every mistake in one sentence with code 2."""

import json
import subprocess
import sys

import jsonschema
import pytest

DEMOULE = [sys.executable, "-m", "demoule"]


def demoule(*arguments, **options):
    return subprocess.run(
        [*DEMOULE, *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
        **options,
    )


def test_help_loads_none_of_the_numerics():
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "demoule", "--help"], capture_output=True, text=True, check=True
    )
    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in done.stderr.splitlines()}
    assert not loaded & {"numpy", "scipy", "numba", "shapely", "typst", "pydantic", "ruamel"}


def test_a_question_is_answered_in_the_published_shape():
    done = demoule("ask", "freezing", "mix=sucrose 30 g, water 70 g", "at=-18 °C", "--json")
    assert done.returncode == 0
    answer = json.loads(done.stdout)
    assert set(answer) == {"answer", "texts", "basis", "findings"}
    assert set(answer["answer"]["freezing_point"]) == {"value", "unit", "low", "high"}
    assert set(answer["basis"][0]) == {"model", "source", "valid", "stretched"}


def test_many_questions_are_answered_in_order_with_their_errors(tmp_path):
    file = tmp_path / "questions.txt"
    file.write_text('brix mix="sucrose 10 g, water 90 g"\n\nbrix mix="nothing 10 g"\nboiling mix="water 1 g"\n"open\n')
    done = demoule("ask", "--many", file)
    first, second, third, fourth = map(json.loads, done.stdout.splitlines())
    assert done.returncode == 0
    assert first["answer"]["soluble_solids"]["value"] == pytest.approx(10, abs=0.1)
    assert "nothing" in second["error"]["says"]
    assert third["answer"]["boiling_point"]["value"] == pytest.approx(100, abs=0.1)
    assert fourth["error"]["remedy"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("ask", "freezin", "mix=water 1 g"),
        ("ask", "freezing", "water"),
        ("ask", "freezing", "mix=water 1 g", "mix=water 2 g"),
        ("ask", "--many", "no-such-file"),
        ("work-up", "no-such-file.yaml"),
        ("larder", "qqqqqq"),
        ("work-up",),
        ("work-up", "x.yaml", "--units", "cubits"),
    ],
)
def test_bad_input_ends_with_code_2_and_one_message(arguments):
    done = demoule(*arguments)
    assert done.returncode == 2
    assert done.stderr.strip()
    assert "Traceback" not in done.stderr


def test_an_error_is_told_as_json_too():
    done = demoule("ask", "freezing", "mix=watr 1 g", "--json")
    assert done.returncode == 2
    assert json.loads(done.stdout)["error"]["remedy"] == "did you mean “water”?"


def test_the_demo_is_worked_up_and_put_on_paper(tmp_path):
    done = demoule("demo", "--out", tmp_path / "out", "--json")
    assert done.returncode in (0, 1), done.stderr
    told = json.loads(done.stdout)
    assert [
        dossier["dessert"]["name"] if isinstance(dossier.get("dessert"), dict) else dossier["dessert"]
        for dossier in told
    ] == [
        "Apricot",
        "Quince",
        "Chestnut",
    ]
    from demoule.dossier import schema

    for dossier in told:
        jsonschema.validate(dossier, schema())
    for name in ("apricot", "quince", "chestnut"):
        folder = tmp_path / "out" / name
        assert (folder / f"{name}.pdf").read_bytes().startswith(b"%PDF")
        assert (folder / "weigh-up.csv").read_text(encoding="utf-8-sig").startswith("component,")
        assert not list(folder.glob(".*"))


def test_nothing_is_written_when_a_file_is_wrong(tmp_path):
    file = tmp_path / "bad.yaml"
    file.write_text("demoule: 1\nname: Bad\ncomponents: {heart: {weigh: {sugr: 10 g}}}\npiece: {}\n")
    done = demoule("work-up", file, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert "bad.yaml:3:" in done.stderr
    assert not (tmp_path / "out").exists()


def test_an_ingredient_is_shown_with_its_record():
    done = demoule("larder", "cream", "35", "%", "--json")
    first = json.loads(done.stdout)[0]
    assert first["name"] == "cream 35 %"
    assert first["record"]["source"]
    assert demoule("larder", "apricot").stdout.startswith("apricot")


def test_a_shape_may_be_a_cavity_of_a_kitchen_file(tmp_path):
    (tmp_path / "kitchen.yaml").write_text(
        "demoule: 1\nkitchen: K\nmoulds: {ball: {tray: 300×400, cavities: 6, own: 1, sphere: 53 mm}}\n", "utf-8"
    )
    asked = ("mix=water 1 g", "from=15", "air=-35", "h=25", "--json")
    in_file = demoule("ask", "freeze", "shape=kitchen.yaml:ball", *asked, cwd=tmp_path)
    as_sphere = demoule("ask", "freeze", "shape=sphere", "size=53 mm", *asked)
    times = [json.loads(done.stdout)["answer"]["time"]["value"] for done in (in_file, as_sphere)]
    assert times[0] == pytest.approx(times[1], rel=0.02)  # the same body on two grids
    wrong = demoule("ask", "freeze", "shape=kitchen.yaml:bal", *asked, cwd=tmp_path)
    assert wrong.returncode == 2
    assert "did you mean “ball”?" in wrong.stderr


def test_every_listed_question_can_be_asked_as_it_is_listed(tmp_path):
    listed = [line.strip() for line in demoule("ask").stdout.splitlines() if line.startswith(" ")]
    file = tmp_path / "questions.txt"
    file.write_text("\n".join(line.removeprefix("demoule ask ") for line in listed), "utf-8")
    told = [json.loads(line) for line in demoule("ask", "--many", file).stdout.splitlines()]
    assert len(told) == len(listed) > 15
    assert not [line for line, answer in zip(listed, told, strict=True) if "error" in answer]


def test_what_does_not_fit_is_told_at_its_line_and_column(tmp_path):
    file = tmp_path / "plum.yaml"
    file.write_text(
        "demoule: 1\nname: Plum\ncomponents:\n  gel: {weigh: {plum purée: 500 g, agar: 5 g}, steps: [boil 2 min]}\n"
        "  mousse: {weigh: {plum purée: 500 g, cream 35 %: 400 g}, steps: [mix]}\n"
        "piece:\n  mould: {sphere: 40 mm}\n  heart: {component: gel, mould: {sphere: 46 mm}}\n  body: mousse\n",
        encoding="utf-8",
    )
    done = demoule("work-up", file, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert done.stderr.startswith(f"{file}:8:3: The heart does not fit")
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_two_desserts_of_one_name_are_refused_before_one_overwrites_the_other(tmp_path):
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "plum.yaml").write_text(
            "demoule: 1\nname: Plum\ncomponents:\n  mousse: {weigh: {plum purée: 5 g, cream 35 %: 4 g}, steps: [mix]}\n"
            "piece: {mould: {sphere: 40 mm}, body: mousse}\n",
            encoding="utf-8",
        )
    done = demoule("work-up", tmp_path / "one" / "plum.yaml", tmp_path / "two" / "plum.yaml")
    assert done.returncode == 2
    assert "“Plum”" in done.stderr


def test_a_volume_of_water_is_weighed_without_being_told_its_density():
    done = demoule("ask", "boiling", "mix=water 1 l", "altitude=0 m", "--json")
    assert json.loads(done.stdout)["answer"]["boiling_point"]["value"] == pytest.approx(100.0, abs=0.1)
