"""Explanations of a real run: every check in numbers that come to the run's own, every input with its origin."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

import bimcheck
from bimcheck import store
from bimcheck.cli import main
from bimcheck.core.errors import InputError
from bimcheck.core.vocabulary import _PANELS_ITEM, _PANELS_MATERIAL
from bimcheck.explain.context import Context, Rule, find
from bimcheck.explain.origins import ITEM, MATERIAL
from bimcheck.explain.picture import svg
from bimcheck.explain.steps import in_numbers
from bimcheck.explain.text import panel_text
from bimcheck.result import Result
from bimcheck.samples import midrise
from tests.shared import ROOT

# Rules whose every number must follow from a formula, for any panel they ask something of: statement -> column.
FOLLOWED = {
    "weight": ["W"], "weight-in-panel-axes": ["V_G", "w_G"], "flexural-strength": ["f_d"], "stiffness": ["D", "D_max"], "bolt-section": ["A_bolt", "W_bolt"],
    "residual-thickness": ["u", "residual"], "panel-movement": ["strain", "movement"], "engagement": ["u", "engagement_left"], "joint-under-movement": ["u", "joint_required"],
    "clip-moment": ["m_clip"], "weight-on-anchors": ["V_Gk", "N_G"], "anchor-resistance": ["N_Rd", "V_Rd"], "edge-distance": ["u"],
    "anchor-spacing": ["u"], "anchor-forces": ["q_d", "N_Ed", "V_Ed"], "plate-moment": ["q_d", "m_Ed"], "bending": ["u", "sigma_Ed"], "tension": ["u"], "shear": ["u"],
    "together": ["u"], "bolt": ["u", "sigma_bolt"], "deflection": ["u", "w_span_k", "w_limit"], "first-frequency": ["f_1"], "wall-pressures": ["p_suction", "p_pressure"],
}
EN = {"peak-velocity-pressures": ["q_p_h", "q_p_e", "v_b"], "anchor-pressures": ["p_anchor_suction"]}
ASCE = {"velocity-pressures": ["q_h"], "earthquake-pressure": ["w_E", "w_E_anchor"]}
SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"
CHANGES = {
    "en": {}, "misfit": {"misfit_mm": "0.3", "robust": "true"},
    "us": {"standard": '"asce7-16"', "seismic": '"asce7-16"', "S_DS": "1.2", "format": '"asce-lrfd"', "units": '"us"', "interaction": '"power-1.5"'},
}


@pytest.fixture(scope="module", params=CHANGES)
def result(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Result:
    folder = tmp_path_factory.mktemp(request.param)
    model = SAMPLE if CHANGES[request.param] else folder / midrise.FILE
    if model != SAMPLE:
        midrise.write(model)
    main(["init", "--invented", "-o", str(folder / "p.toml")])
    text = (folder / "p.toml").read_text(encoding="utf-8")
    for key, value in CHANGES[request.param].items():
        wanted = r"(?s)(\[seismic\].*?\nstandard = )[^\n]*" if key == "seismic" else rf"(?m)^({key} = ).*$"
        text = re.sub(wanted, rf"\g<1>{value}", text, count=1)
    (folder / "p.toml").write_text(text, encoding="utf-8")
    main(["run", str(model), "-p", str(folder / "p.toml"), "-o", str(folder / "out"), "--quiet"])
    return bimcheck.load(folder / "out")


def _rows(result: Result) -> dict[str, int]:
    """A passing rectangle, one with a re-entrant corner, one on many anchors, one that fails, one that is not checked, of those there are."""
    p, c, layouts = result.tables["panels"], result.tables["candidates"], result.tables["layouts"]
    sharp = np.isin(c["layout"], np.flatnonzero(layouts["m_corner"] > 0))
    plain = (p["corners"] == 4) & (p["candidate"] >= 0)
    if "facade_index" not in p or not len(p["guid"]):
        return {}
    found = {"rectangle": plain & (p["result"] == "pass"), "many": p["n_anchors_selected"] > 6, "fails": (p["utilisation"] > 1) & np.isfinite(p["utilisation"]) & plain,
             "not checked": (p["result"] == "not_checked") & (p["candidate"] >= 0)}
    return {**{k: int(np.flatnonzero(v)[0]) for k, v in found.items() if v.any()}, **({"re-entrant": int(c["panel"][sharp][0])} if sharp.any() else {})}


def _contexts(result: Result) -> dict[str, Context]:
    return {k: find(result, str(result.tables["panels"]["guid"][row])) for k, row in _rows(result).items()}


def _is_number(context: Context, rule: Rule) -> bool:
    first = context.quantity(rule["table"], rule["adds"][0])
    return first is None or bool(np.isfinite(first.value))


def test_every_step_can_be_followed(result: Result) -> None:
    """in_numbers keeps a statement only where its own arithmetic comes to the run's column within 1e-6."""
    wanted = FOLLOWED | (ASCE if "GC_p_suction" in find(result, str(result.tables["panels"]["guid"][0])).made_by else EN)
    for kind, context in _contexts(result).items():
        hanging = [context.at(int(r)) for r in context.anchors if context.at(int(r)).value("anchors", "hangs")]
        for at, rule in ((c, r) for c in (context, *hanging) for r in context.rules):
            if rule["name"] in wanted and _is_number(at, rule):
                done = {line[0] for line in in_numbers(at, rule)[1].lines}
                expected = set(wanted[rule["name"]])
                if rule["name"] == "joint-under-movement" and not at.number("joint_least") > 0:
                    expected.discard("u")  # an overlap has no joint to divide by
                if rule["name"] == "weight-on-anchors" and not at.value("anchors", "hangs"):
                    continue
                assert expected <= done, (kind, rule["name"], expected - done)


def test_misfit_and_lost_anchors_in_numbers(result: Result) -> None:
    context = _contexts(result)["rectangle"]
    rules = {r["name"]: r for r in context.rules}
    if rules["misfit-on-anchors"]["settings"]["actions.misfit_mm"] == 0:
        assert "misfit-on-anchors: u" not in "\n".join(panel_text(context))
        return
    for name, left in (("misfit-on-anchors", "N_misfit"), ("misfit-in-plate", "m_misfit_support"), ("lost-anchor-tension", "N_lost"), ("lost-anchor-bending", "sigma_lost")):
        assert left in {line[0] for line in in_numbers(context, rules[name])[1].lines}, name
    assert context.number("N_misfit", "anchors") > 0


def test_text_of_every_kind_of_panel(result: Result) -> None:
    for kind, context in _contexts(result).items():
        text = "\n".join(panel_text(context))
        for part in ("CHECKS", "ANCHORS", "STEP BY STEP", "NOT CHECKED by this tool", "ASSUMPTIONS", "responsible engineer", "-> "):
            assert part in text, (kind, part)
        unit = "lbf in/in" if context.units == "us" else "N mm/mm"
        assert unit in text and " None " not in text.replace("= None", "")
        if context.units == "us":
            assert not re.search(r"= -?[\d.]+ (mm|MPa|kPa|N)\b", text), kind


@pytest.mark.parametrize("result", ["en"], indirect=True)
def test_failing_and_unchecked_panels_say_so(result: Result) -> None:
    assert set(_contexts(result)) == {"rectangle", "many", "fails", "not checked", "re-entrant"}
    assert "FAIL" in "\n".join(panel_text(_contexts(result)["fails"]))
    assert "curved" in "\n".join(panel_text(_contexts(result)["not checked"]))


@pytest.mark.parametrize("result", ["en"], indirect=True)
def test_issues_that_name_the_panel_are_told(result: Result) -> None:
    """A panel may fail by a narrow joint although its checks pass: the reader must see why."""
    p = result.tables["panels"]
    rows = np.flatnonzero((p["result"] == "fail") & (p["utilisation"] < 1))
    assert len(rows)
    assert "issue joint-width (error" in "\n".join("\n".join(panel_text(find(result, str(p["guid"][r])))) for r in rows)


def test_the_picture(result: Result) -> None:
    for kind, context in _contexts(result).items():
        picture = ET.fromstring(svg(context))
        texts = [e.text for e in picture.iter("{http://www.w3.org/2000/svg}text")]
        for row in context.anchors:
            at = context.at(int(row))
            assert f"A{at.value('anchors', 'slot')}" in texts and at.shown("anchors", "N_Ed") in texts, kind
        outline = next(e for e in picture.iter("{http://www.w3.org/2000/svg}path") if e.get("stroke-width") == "1.6")
        assert (outline.get("d") or "").count("M") == 1 + int(np.unique(result.tables["panels"]["outline"][context.rows["panels"]][:, 2]).size - 1)


def test_the_command_writes_text_and_picture(result: Result, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store.save(result, tmp_path)
    guid = str(result.tables["panels"]["guid"][0])
    assert main(["explain", guid, "-o", str(tmp_path)]) == 0
    assert len(list((tmp_path / "explain").glob("*.svg"))) == 1 and "Picture of the plate" in capsys.readouterr().out
    assert main(["explain", "large-deflection", "-o", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "half its thickness" in told and "clause" in told  # the issue's meaning and the rule's
    assert main(["explain", "bending", "-o", str(tmp_path), "--units", "us"]) == 0


@pytest.mark.parametrize("result", ["en"], indirect=True)
def test_what_is_not_calculated_is_said(result: Result) -> None:
    elements = result.tables["elements"]
    glass = np.flatnonzero(elements["status"] == "out_of_scope")[0]
    with pytest.raises(InputError, match="out_of_scope"):
        find(result, str(elements["guid"][glass]))
    with pytest.raises(InputError, match="nothing is called"):
        find(result, "no such panel")


def test_every_material_and_item_column_has_its_origin() -> None:
    """What stages deliver of rows is told by the row's own key; the rest is text or follows from the choice of the item."""
    names = {line.split("|")[0] for block in (_PANELS_MATERIAL, _PANELS_ITEM) for line in block.strip().splitlines()}
    told = set(MATERIAL) | set(ITEM)
    assert told <= names
    rest = names - told
    assert rest >= {"material", "item", "assumed_material"} and {"counterbore", "hardware_reason"} <= rest and not {n for n in rest if n.startswith(("gamma", "eta", "f_"))}
