"""Forces on anchors by hand: statics, EN 1990 and ASCE 7 factors (from memory), one branch at a time."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.actions.combinations import combinations
from bimcheck.actions.forces import anchor_forces, clip_tension, outward_pressure, plate_moment
from bimcheck.actions.seismic import a_p_R_p, earthquake_pressure
from bimcheck.actions.weight import (
    centre_of_gravity,
    clip_moment,
    hook_moment,
    self_weight,
    weight_in_panel_axes,
    weight_on_anchors,
)
from bimcheck.core.errors import InputError, PlanError
from bimcheck.core.tables import Ragged

ONE = np.ones(1)
ZERO = np.zeros(1)


def _forces(**changes: object) -> tuple[np.ndarray, ...]:
    """1.0 kPa suction, 0.5 kPa pressure on a reaction area of 0.2 m2 and an anchor that hangs."""
    inputs: dict[str, object] = dict(
        w_anchor_suction=-1e-3 * ONE, w_anchor_pressure=0.5e-3 * ONE, w_E_anchor=ZERO, w_G=ZERO, w_basis=np.array(["characteristic"], object),
        net_area=4e5 * ONE, role=np.array(["fixed"], object), share=2e5 * ONE, share_min=2e5 * ONE, N_G=40 * ONE, V_Gk=100 * ONE, N_misfit=ZERO, hook_offset=ZERO, heel=20 * ONE, format="en1990", seismic_standard="none")
    return anchor_forces(**(inputs | changes))  # type: ignore[arg-type]


def test_en1990_suction_with_weight() -> None:
    N_c, V_c, N_Ed, V_Ed, name = _forces()
    assert N_Ed[0] == pytest.approx(1.5 * 200 + 1.35 * 40)  # EN 1990 (6.10): 1.5 W + 1.35 G, W = 1e-3 x 2e5 = 200 N
    assert V_Ed[0] == pytest.approx(1.35 * 100) and name[0] == "1.35 G + 1.5 W suction"
    assert N_c.shape == V_c.shape == (1, len(combinations("en1990")))


def test_asce_lrfd_and_asd() -> None:
    strength = np.array(["strength"], object)
    assert _forces(format="asce-lrfd", w_basis=strength)[2][0] == pytest.approx(1.0 * 200 + 1.2 * 40)  # ASCE 7-16 2.3.1 (4)
    assert _forces(format="asce-asd", w_basis=strength)[2][0] == pytest.approx(0.6 * 200 + 40)  # ASCE 7-16 2.4.1 (5)
    assert _forces(format="asce-asd", w_basis=np.array(["asd"], object))[2][0] == pytest.approx(200 + 40)  # already 0.6 W


def test_wind_on_a_basis_that_does_not_fit_is_refused() -> None:
    with pytest.raises(InputError, match="strength basis"):
        _forces(w_basis=np.array(["strength"], object))


def test_a_reaction_that_changes_sign_pulls_under_pressure() -> None:
    N_Ed = _forces(share=1e4 * ONE, share_min=-2e5 * ONE, N_G=ZERO)[2]
    assert N_Ed[0] == pytest.approx(1.5 * 0.5e-3 * 2e5)  # the negative reaction times the pressure


def test_the_hook_multiplies_the_force_by_its_lever() -> None:
    assert clip_tension(np.array(300.0), np.array(10.0), np.array(20.0)) == pytest.approx(450.0)  # moment about the heel: 300 (10 + 20) / 20


def test_weight_by_hand() -> None:
    # 1200 x 600 x 30 mm granite at 2700 kg/m3: 58.32 kg, 571.92 N
    W = self_weight(np.array([1200.0 * 600.0]), np.array([30.0]), np.array([2700.0]))
    assert W[0] == pytest.approx(571.9238, rel=1e-6)
    right, left, middle = np.array([1000.0]), np.array([200.0]), np.array([600.0])
    N_G, V = weight_on_anchors(W, np.array([60.0]), np.array([True]), right, np.zeros(1), right, np.zeros(1), left, middle, np.array([400.0]))
    assert (N_G[0], V[0]) == (pytest.approx(571.9238 * 60 / (2 * 400)), pytest.approx(571.9238 / 2))  # moment about the lower row
    assert weight_on_anchors(W, np.array([60.0]), np.array([False]), right, np.zeros(1), right, np.zeros(1), left, middle, np.array([400.0]))[0][0] == 0


def test_weight_off_the_middle_by_hand() -> None:
    """Two anchors at 200 and 1000, centre of gravity at 400: 600/800 and 200/800 of 400 N (moments about the other); at
    1100, beyond both, 900/800 and 100/800, the far one held down."""
    x, fixed, sliding = np.array([200.0, 1000.0]), np.array([1000.0] * 2), np.array([200.0] * 2)
    common = (np.array([400.0] * 2), np.array([50.0] * 2), np.array([True] * 2), x, np.zeros(2), fixed, np.zeros(2), sliding)
    N_G, V = weight_on_anchors(*common, np.array([400.0] * 2), np.array([500.0] * 2))
    assert V.tolist() == [300.0, 100.0] and N_G.tolist() == [30.0, 10.0]
    assert weight_on_anchors(*common, np.array([1100.0] * 2), np.array([500.0] * 2))[1].tolist() == [50.0, 450.0]


def test_anchors_above_those_that_hang_take_the_couple() -> None:
    # the panel leans out at its top: an anchor 300 mm above the hanging row is pulled by the whole 400 x 50 / 500, carrying nothing
    one = np.ones(1)
    N_G, V = weight_on_anchors(400 * one, 50 * one, np.array([False]), 600 * one, 800 * one, 1000 * one, 500 * one, 200 * one, 600 * one, 500 * one)
    assert (N_G[0], V[0]) == (40.0, 0.0)


def test_centre_of_gravity_by_hand() -> None:
    """L of 1000 x 600 less 400 x 300 at the upper right: S / A by parts; a cut-out counts the same either way round."""
    ell = [[0, 0, 0], [1000, 0, 0], [1000, 300, 0], [600, 300, 0], [600, 600, 0], [0, 600, 0]]
    box = [[0, 0, 0], [1000, 0, 0], [1000, 600, 0], [0, 600, 0]]
    hole = [[600, 300, 1], [1000, 300, 1], [1000, 600, 1], [600, 600, 1]]
    x, y = centre_of_gravity(Ragged.of([np.array(r, dtype=float) for r in (ell, box, box + hole, box + hole[::-1])]))
    expected = ((500 * 6e5 - 800 * 1.2e5) / 4.8e5, (300 * 6e5 - 450 * 1.2e5) / 4.8e5)
    np.testing.assert_allclose(x, [expected[0], 500, expected[0], expected[0]])
    np.testing.assert_allclose(y, [expected[1], 300, expected[1], expected[1]])


@pytest.mark.parametrize(("n_z", "V", "outward"), [(0.0, 1.0, 0.0), (-1.0, 0.0, 1.0), (0.6, 0.8, -0.6)])
def test_gravity_in_the_panels_axes(n_z: float, V: float, outward: float) -> None:
    """A wall, a soffit (all weight pulls outward), a slope whose normal rises 0.6 (statics)."""
    V_G, w_G = weight_in_panel_axes(np.array([1000.0]), np.array([1e6]), np.array([n_z]))
    assert V_G[0] == pytest.approx(1000 * V) and w_G[0] == pytest.approx(1e-3 * outward)


def test_plate_moment_takes_anchor_or_field_whichever_is_greater() -> None:
    common = dict(w_suction=-1e-3 * ONE, w_pressure=ZERO, w_E=ZERO, w_G=ZERO, w_basis=np.array(["characteristic"], object),
                  m_corner=ZERO, m_misfit_support=ZERO, m_misfit_field=ZERO, k_hole=ONE, format="en1990", seismic_standard="none")
    m, name, place, _ = plate_moment(m_support=4e4 * ONE, m_field=2e4 * ONE, m_hook=1e3 * ONE, m_clip=5 * ONE, **common)  # type: ignore[arg-type]
    assert m[0] == pytest.approx(1.5e-3 * (4e4 + 1e3) + 1.35 * 5) and place[0] == "anchor" and name[0].endswith("suction")
    m, _, place, _ = plate_moment(m_support=1e4 * ONE, m_field=2e4 * ONE, m_hook=ZERO, m_clip=ZERO, **common)  # type: ignore[arg-type]
    assert m[0] == pytest.approx(1.5e-3 * 2e4) and place[0] == "field"


def test_a_re_entrant_corner_is_named_and_kept_apart() -> None:
    common = dict(w_suction=-1e-3 * ONE, w_pressure=ZERO, w_E=ZERO, w_G=ZERO, w_basis=np.array(["characteristic"], object), m_hook=ZERO, m_clip=ZERO,
                  m_misfit_support=ZERO, m_misfit_field=2 * ONE, k_hole=ONE, format="en1990", seismic_standard="none")
    m, _, place, corner = plate_moment(m_support=1e4 * ONE, m_field=3e4 * ONE, m_corner=3e4 * ONE, **common)  # type: ignore[arg-type]
    assert place[0] == "corner" and m[0] == corner[0] == pytest.approx(1.5 * 30 + 1.35 * 2)
    _, _, place, corner = plate_moment(m_support=1e4 * ONE, m_field=3e4 * ONE, m_corner=ZERO, **common)  # type: ignore[arg-type]
    assert place[0] == "field" and corner[0] == 0  # no corner, no misfit at it
    assert np.isnan(plate_moment(m_support=1e4 * ONE, m_field=np.nan * ONE, m_corner=np.nan * ONE, **common)[3][0])  # type: ignore[arg-type]


def test_local_moment_at_the_clip() -> None:
    # couple M0 = 500 x 20 / 2 on a disc of radius 20: (1 + 0.2) 5000 / (4 pi 20) (plate theory)
    m = clip_moment(np.array([500.0]), np.array([20.0]), np.array([0.2]), np.array([40.0]), np.array([900.0]), np.array([100.0]), np.array([500.0]))
    assert m[0] == pytest.approx(1.2 * 5000 / (4 * np.pi * 20))


def test_local_moment_of_an_offset_hook() -> None:
    # 0.2 m2 of pressure 15 mm beside the bolt: couple 15 x 2e5 per unit pressure on a disc of radius 20 (plate theory)
    m = hook_moment(np.array([2e5]), np.array([15.0]), np.array([0.2]), np.array([40.0]))
    assert m[0] == pytest.approx(1.2 * 15 * 2e5 / (4 * np.pi * 20)) and hook_moment(ONE, ZERO, ZERO, ONE)[0] == 0


def test_seismic_pressure_either_standard_and_the_refusal() -> None:
    inputs = dict(W=np.array([500.0]), net_area=np.array([1e6]), z=np.array([30e3]), h_building=np.array([30e3]), alpha=0.15, S=1.2,
                  gamma_a=1.0, q_a=2.0, Ta_over_T1=0.0, S_DS=1.0, I_p=1.0, component="exterior nonstructural wall: wall element",
                  component_anchor="exterior nonstructural wall: fasteners of connecting system")
    # EN 1998-1 (4.25) at the top, Ta/T1 = 0: 0.18 (3 x 2 / 2 - 0.5) = 0.45; F_a = 0.45 W / 2
    assert earthquake_pressure(**inputs, standard="en1998-1")[0][0] == pytest.approx(0.45 * 500 / 2 / 1e6)  # type: ignore[arg-type]
    # ASCE 7-16 (13.3-1): 0.4 x 1 x 1 (1 + 2) / 2.5 = 0.48
    of_panel, of_anchor = earthquake_pressure(**inputs, standard="asce7-16")  # type: ignore[arg-type]
    assert of_panel[0] == pytest.approx(0.48 * 500 / 1e6)
    # fasteners a_p 1.25, R_p 1.0: 0.4 x 1.25 (1 + 2) = 1.5 (Table 13.5-1), below 1.6
    assert of_anchor[0] == pytest.approx(1.5 * 500 / 1e6)
    with pytest.raises(PlanError, match="asce7-22"):
        earthquake_pressure(**inputs, standard="asce7-22")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="nearest known"):
        a_p_R_p("exterior wall element")


def test_the_fixed_anchor_holds_the_earthquake_along_the_panel() -> None:
    # 1.0 G + E: weight 100 N down with 2 kPa x 0.4 m2 = 800 N sideways on the fixed anchor, nothing on the sliding one (statics)
    seismic = dict(seismic_standard="asce7-16", w_E_anchor=2e-3 * ONE)
    assert _forces(**seismic)[1][0, -1] == pytest.approx(np.hypot(100, 800))
    assert _forces(**seismic, role=np.array(["sliding"], object))[1][0, -1] == pytest.approx(100)
    assert _forces(**seismic)[0][0, -1] == pytest.approx(2e-3 * 2e5 + 40)


def test_seismic_pulls_outward_with_weight() -> None:
    c = combinations("en1990", "characteristic", seismic=True)[-1]
    assert outward_pressure(c, -ONE, ONE, 0.3 * ONE, ZERO)[0] == pytest.approx(0.3)
