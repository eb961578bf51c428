"""`bartack measure` and `bartack card`: millimetres from a drawn photo whose truth is known."""

import json
from pathlib import Path

import pytest

from inspect_core.terminal import main

PICTURES = Path(__file__).parents[2] / "sample_images" / "pictures"
NAME = "lanyard_edge_cut_drawn"


@pytest.fixture
def run(capsys):
    def _run(*arguments):
        with pytest.raises(SystemExit) as left:
            main(list(arguments))
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return _run


@pytest.fixture
def case(tmp_path):
    truth = json.loads((PICTURES / f"{NAME}.json").read_text())
    width, defect = truth["known_lengths"][0], truth["defects"][0]
    data = {
        "photo": f"{NAME}.jpg",
        "scale": {
            "method": "known_length",
            "of": "webbing width",
            "points": width["points"],
            "length_mm": width["length_mm"],
            "length_sd_mm": 0.2,
            "point_sd_px": 2,
        },
        "marks": [
            {"id": "m1", "component": defect["component"], "category": defect["category"], "shape": defect["shape"]}
        ],
    }
    (tmp_path / f"{NAME}.jpg").write_bytes((PICTURES / f"{NAME}.jpg").read_bytes())

    def _write(**changes):
        path = tmp_path / "case.json"
        path.write_text(json.dumps(data | changes))
        return str(path)

    return _write, defect["truth"]


def test_the_stated_interval_holds_the_drawn_truth(run, case):
    write, truth = case
    code, out, err = run("measure", write(), "--json")
    assert code == 0, err
    result = json.loads(out)
    assert result["scale"]["mm_per_px"] > 0
    readings = {r["measure"]: r for r in result["readings"]}
    for measure, key in (("length", "length_mm"), ("depth from edge", "depth_mm")):
        reading = readings[measure]
        assert reading["unit"] == "mm"
        assert reading["method"]
        assert reading["uncertainty"] > 0
        assert abs(reading["value"] - truth[key]) <= reading["uncertainty"]
    assert {"sharpness", "advice"} <= set(result["quality"])
    assert run("measure", case[0](), "--json")[1] == out


def test_without_a_drawn_edge_the_length_bounds_the_depth_and_with_one_it_is_square_to_it(run, case, tmp_path):
    write, truth = case
    blunt = json.loads(run("measure", write(), "--json")[1])
    data = json.loads((tmp_path / "case.json").read_text())
    outline = json.loads((PICTURES / f"{NAME}.json").read_text())["regions"][0]["shape"]["points"]
    lower = [point for point in outline if 0 <= point[0] <= 1200 and point[1] > 700]
    data["marks"][0]["edge"] = [lower[0], lower[-1]]
    sharp = json.loads(run("measure", write(marks=data["marks"]), "--json")[1])
    depth = [next(r for r in x["readings"] if r["measure"] == "depth from edge") for x in (blunt, sharp)]
    assert "at most this" in depth[0]["method"] and "square to the drawn edge" in depth[1]["method"]
    for reading in depth:
        assert abs(reading["value"] - truth["depth_mm"]) <= reading["uncertainty"]


def test_no_scale_gives_no_millimetres(run, case):
    code, out, _ = run("measure", case[0](scale={"method": "none"}), "--json")
    assert code == 0
    assert all(r["unit"] not in ("mm", "mm2") for r in json.loads(out)["readings"])
    assert "No scale, so no millimetres." in run("measure", case[0](scale={"method": "none"}))[1]


@pytest.mark.parametrize(
    "changes",
    [
        {"photo": "nowhere.jpg"},
        {"photo": 3},
        {"scale": {"method": "guess"}},
        {"scale": {"method": "card"}},
        {"scale": {"method": "known_length", "points": [[1, 1], [1, 1]], "length_mm": 45}},
        {"marks": "none"},
        {
            "marks": [
                {"id": "m", "component": "webbing", "category": "cut", "shape": {"type": "line", "points": [[0, 0]]}}
            ]
        },
        {"extra": 1},
    ],
)
def test_a_case_that_cannot_be_measured_is_refused(run, case, changes):
    code, out, err = run("measure", case[0](**changes), "--json")
    assert code == 1
    assert out == ""
    assert len(err.strip().splitlines()) == 2


def test_the_card_is_a_pdf_that_says_how_to_check_it(run, tmp_path):
    target = tmp_path / "card.pdf"
    code, out, err = run("card", "-o", str(target))
    assert code == 0, err
    assert target.read_bytes().startswith(b"%PDF")
    assert "steel rule" in out
    assert run("card")[0] == 2
    assert run("card", "-o", str(tmp_path / "none" / "card.pdf"))[0] == 1
