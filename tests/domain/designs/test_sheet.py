"""Order, places, mass and the sheet a tablet gets."""

from __future__ import annotations

import json

import pytest

from api.domain.analyses.guide import Guide
from api.domain.designs.document import Design
from api.domain.designs.hashing import document_hash
from api.domain.designs.mass import loaded_mass_kg, needs_hoist
from api.domain.designs.order import column_of, order_from_middle, row_of, tightening_order
from api.domain.sheet import sheet_of
from tests.domain.designs.examples import BASE, changed, read, stores
from tests.domain.designs.test_document import seed
from tests.support.analyses import ORDER, sad_20


def design_of(text: str) -> Design:
    design = read(text).design
    assert design is not None
    return design


def test_auto_goes_from_the_middle_rows_outward_with_alternating_columns() -> None:
    design = design_of(seed("SAD-20-B"))
    order = order_from_middle(design)
    assert order == ["C3", "C4", "C5", "C6", "C1", "C2", "C7", "C8"]
    columns = [
        column_of(design, clamp) for name in order for clamp in design.clamps if clamp.id == name
    ]
    assert columns == ["left", "right"] * 4


def test_auto_starts_in_the_middle_of_a_row_of_three() -> None:
    assert order_from_middle(design_of(seed("CLR-08-A"))) == ["C2", "C1", "C3", "C5", "C4", "C6"]


def test_an_order_in_the_file_is_kept() -> None:
    assert tightening_order(design_of(changed('["C1", "C2"]', '["C2", "C1"]'))) == ["C2", "C1"]


def test_a_place_is_told_in_words_from_the_bench_side() -> None:
    design = design_of(seed("SAD-20-B"))
    places = {
        clamp.id: (row_of(design, clamp), column_of(design, clamp)) for clamp in design.clamps
    }
    assert places["C1"] == ("front", "left")
    assert places["C4"] == ("middle", "right")
    assert places["C8"] == ("back", "right")


# By hand: plate 0.3 x 0.2 x 0.025 less 0.04 x 0.05 x 0.006, two stops 0.02 x 0.14 x 0.018 and two
# blocks 0.05 x 0.036 x 0.024 m, all at 2700 kg/m3.
def test_the_mass_counts_plate_less_pockets_stops_and_parts() -> None:
    by_hand = 2700 * (0.0015 - 0.000012 + 2 * 0.0000504 + 2 * 0.0000432)
    assert loaded_mass_kg(design_of(BASE), stores()) == pytest.approx(by_hand)


def test_round_parts_count_as_round() -> None:
    text = changed('size = ["50 mm", "36 mm", "24 mm"]', 'size = ["50 mm", "36 mm", "50 mm"]')
    block = loaded_mass_kg(design_of(text), stores())
    bar = loaded_mass_kg(design_of(text.replace('shape = "block"', 'shape = "round"')), stores())
    assert block is not None
    assert bar is not None
    assert block - bar == pytest.approx(2700 * 0.05 * 0.036 * 0.05 * (1 - 0.7853981634))


def test_a_heavy_plate_gets_a_step_for_the_hoist() -> None:
    text = changed(
        '"200 mm", "25 mm"]\nmaterial = "6061-T6"', '"200 mm", "60 mm"]\nmaterial = "1018"'
    )
    assert needs_hoist(design_of(text), stores())
    assert "lift" in [step["id"] for step in sheet_of(design_of(text), stores())["steps"]]
    assert "lift" not in [step["id"] for step in sheet_of(design_of(BASE), stores())["steps"]]


def test_a_mass_that_cannot_be_known_is_null() -> None:
    sheet = sheet_of(design_of(BASE), stores(materials={}))
    assert sheet["mass_kg"] is None
    assert sheet["lift"] is False


def test_the_sheet_has_all_a_tablet_needs() -> None:
    design = design_of(seed("SAD-20-B"))
    sheet = sheet_of(design, stores())
    assert json.loads(json.dumps(sheet)) == sheet
    assert (sheet["design"], sheet["revision"]) == ("SAD-20", "B")
    assert sheet["hash"] == document_hash(design.document)
    assert sheet["plate"] == {"length_mm": 450, "width_mm": 300, "thickness_mm": 25}
    assert sheet["clamps"][0] == {
        "id": "C1",
        "x_mm": 115,
        "y_mm": 60,
        "axis_deg": 0,
        "spec": "m8-taper",
        "grease": "ep-grease",
        "torque_nm": 12,
        "place": {"row": "front", "column": "left"},
    }
    assert sheet["points"] == [
        {
            "id": "A",
            "x_mm": 225,
            "y_mm": 150,
            "zero": "snug free",
            "read": "torqued locked",
            "low_mm": -0.05,
            "high_mm": 0.05,
        }
    ]
    assert sheet["receivers"][0] == {"id": "1", "x_mm": 115, "y_mm": 75}
    assert sheet["stops"][0] == {"id": "S1", "x_mm": 35, "y_mm": 150}
    assert sheet["mass_kg"] == 10.8
    steps = [step["id"] for step in sheet["steps"]]
    assert len(steps) == len(set(steps))
    assert steps.index("torque/1/C3") < steps.index("torque/1/C4") < steps.index("torque/3/C8")


def test_a_finishing_torque_becomes_a_step() -> None:
    steps = {step["id"]: step for step in sheet_of(design_of(BASE), stores())["steps"]}
    assert steps["ease/C2"]["target"] == {"value": 6.0, "unit": "N*m"}


def test_an_analysis_gives_the_sheet_its_order_passes_guide_and_identity() -> None:
    design, analysis = sad_20()
    result = analysis.result.model_copy(update={"passes": [0.5, 1.0], "order": ORDER[::-1]})
    sheet = sheet_of(design, stores(), analysis.model_copy(update={"result": result}))
    assert json.loads(json.dumps(sheet)) == sheet
    assert (sheet["passes"], sheet["order"]) == ([0.5, 1.0], ORDER[::-1])
    torques = [step["id"] for step in sheet["steps"] if step["kind"] == "torque"]
    assert torques == [f"torque/{n}/{clamp}" for n in (1, 2) for clamp in ORDER[::-1]]
    assert Guide.model_validate(sheet["guide"]) == analysis.guide
    assert sheet["analysis"] == {"inputs": analysis.inputs, "method": analysis.method}


def test_only_the_judged_reading_of_a_point_says_what_is_expected() -> None:
    design, analysis = sad_20()
    band = analysis.result.points["A"].reading_um
    expected = {
        step["id"]: step["expected"] for step in sheet_of(design, stores(), analysis)["steps"]
    }
    assert expected["read/A/torqued locked"] == pytest.approx(
        {"low_mm": band.low / 1e3, "usual_mm": band.usual / 1e3, "high_mm": band.high / 1e3}
    )
    assert expected.pop("read/A/torqued locked")
    assert set(expected.values()) == {None}


def test_a_sheet_without_an_analysis_says_so_with_nulls() -> None:
    sheet = sheet_of(design_of(seed("SAD-20-B")), stores())
    assert (sheet["guide"], sheet["analysis"]) == (None, None)
    assert {step["expected"] for step in sheet["steps"]} == {None}
