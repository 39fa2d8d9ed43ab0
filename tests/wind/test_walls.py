"""Both sides of every branch of the wall formulas."""

from __future__ import annotations

import numpy as np
import pytest

from bimcheck.core.errors import InputError
from bimcheck.wind import asce7_formulas as asce
from bimcheck.wind import parapets, skins, velocity, walls


@pytest.mark.parametrize("terrain", ["0", "I", "II", "III", "IV"])
def test_profile_is_constant_below_z_min(terrain: str) -> None:
    """EN 1991-1-4 4.3.2(1): c_r(z) = c_r(z_min) for z <= z_min."""
    z0, z_min = velocity.terrain_roughness(terrain)
    below, at, above = velocity.peak_pressure(np.array([z_min / 2, z_min, z_min * 1.01]), 25.0, z0, z_min)
    assert below == at < above


@pytest.mark.parametrize("b, h, strip, expected", [
    (20, 20, 5, [[0, 20, 20]]),  # h = b: one part
    (20, 20.1, 5, [[0, 20, 20], [20, 20.1, 20.1]]),  # just above b
    (20, 40, 5, [[0, 20, 20], [20, 40, 40]]),  # h = 2 b: two parts
    (20, 41, 5, [[0, 20, 20], [20, 21, 21], [21, 41, 41]]),  # just above 2 b
    (10, 32, 5, [[0, 10, 10], [10, 15, 15], [15, 20, 20], [20, 22, 22], [22, 32, 32]]),  # the last strip is cut
])
def test_windward_strips(b: float, h: float, strip: float, expected: list) -> None:
    """EN 1991-1-4 Figure 7.4."""
    assert np.asarray(walls.windward_strips(b, h, strip)) == pytest.approx(np.asarray(expected), abs=1e-9)


def test_reference_height_at_the_edges_of_strips() -> None:
    """What ends exactly at an edge belongs to the strip below it (Figure 7.4); b 20, h 60, strips of 5 m."""
    z = np.array([0.1, 20.0, 20.001, 25.0, 25.001, 40.0, 40.001, 60.0])
    assert walls.reference_height(z, 20, 60, 5).tolist() == [20, 20, 25, 25, 30, 40, 60, 60]


@pytest.mark.parametrize("b, d, h, expected", [
    (30, 50, 100, (6, 24, 20)),  # e = 30 < d
    (30, 30, 100, (6, 24, 0)),  # e = d
    (30, 10, 100, (6, 4, 0)),  # d < e < 5 d
    (50, 10, 100, (10, 0, 0)),  # e = 5 d
    (60, 10, 100, (10, 0, 0)),  # e > 5 d
    (60, 50, 10, (4, 16, 30)),  # e = 2 h
])
def test_zone_widths(b: float, d: float, h: float, expected: tuple) -> None:
    """EN 1991-1-4 Figure 7.5, worked by hand."""
    assert walls.zone_widths(walls.zone_scale(b, h), d) == pytest.approx(expected)


def test_zone_by_distance() -> None:
    """e = 30: A below 6, B below 30 (Figure 7.5); what begins at an edge belongs to the further zone."""
    assert walls.side_zone(np.array([-0.1, 0, 5.99, 6, 29.99, 30, 99]), 30.0).tolist() == [0, 0, 0, 1, 1, 2, 2]


@pytest.mark.parametrize("zone, low, high", [("A", -1.4, -1.2), ("B", -1.1, -0.8), ("D", 1.0, 0.8)])
def test_area_at_and_beyond_its_ends(zone: str, low: float, high: float) -> None:
    """EN 1991-1-4 Figure 7.2: c_pe,1 up to 1 m2, c_pe,10 from 10 m2; half-way in the logarithm at sqrt(10) m2."""
    c = walls.wall_coefficient(walls.coefficients(), walls.ZONES.index(zone), 1.0, np.array([0.2, 1.0, np.sqrt(10), 10.0, 40.0]))
    assert c == pytest.approx([low, low, (low + high) / 2, high, high])


def test_slenderness_beyond_the_table_is_held() -> None:
    """EN 1991-1-4 Table 7.1: E -0.7 at h/d = 5; -0.3 at 0.25; linear between 1 and 5: -0.6 at 3."""
    table = walls.coefficients()
    assert walls.wall_coefficient(table, walls.E, np.array([0.1, 0.25, 3, 5, 9]), 10) == pytest.approx([-0.3, -0.3, -0.6, -0.7, -0.7])


def test_a_changed_national_table_is_data() -> None:
    """The example table has A -1.4/-1.7 at h/d = 5 (invented); at 3 half-way to the recommended value at 1."""
    table = walls.coefficients("en1991_1_4_walls_example")
    assert walls.wall_coefficient(table, walls.A, np.array([1, 3, 5]), 10) == pytest.approx([-1.2, -1.3, -1.4])


def test_probability_factor_of_the_recommended_exceedance_is_one() -> None:
    """EN 1991-1-4 4.2(2) Note 5; p 0.01: (1 - 0.2 ln(-ln 0.99))^0.5 / (1 - 0.2 ln(-ln 0.98))^0.5 = 1.0384 by calculator."""
    assert velocity.probability_factor(0.02) == pytest.approx(1.0)
    assert velocity.probability_factor(0.01) == pytest.approx(1.0384, abs=5e-4)


def test_dominant_openings() -> None:
    """EN 1991-1-4 7.2.9(5): 0.75 at twice, 0.90 at three times and more; below twice there is no dominant face."""
    assert [skins.dominant_factor(r) for r in (2, 2.5, 3, 8)] == pytest.approx([0.75, 0.825, 0.90, 0.90])
    with pytest.raises(InputError):
        skins.dominant_factor(1.9)


@pytest.mark.parametrize("gap, closed, mu, fine", [(60, True, 0.0005, True), (100, True, 0.0005, False), (60, False, 0.0005, False), (60, True, 0.001, False), (0, True, 0.0, False)])
def test_two_skin_conditions(gap: float, closed: bool, mu: float, fine: bool) -> None:
    """EN 1991-1-4 7.2.10(2), (3), from memory: gap below 100 mm, closed ends, mu below 0.1 %."""
    if fine:
        assert skins.two_skin_factors(True, gap, closed, mu) == pytest.approx((1 / 3, 2 / 3))
    else:
        with pytest.raises(InputError, match=r"7\.2\.10"):
            skins.two_skin_factors(True, gap, closed, mu)
    assert skins.two_skin_factors(False, gap, closed, mu) == (1.0, 1.0)


def test_parapet_zones() -> None:
    """EN 1991-1-4 Table 7.9 (from memory), l/h >= 10, no returns: 3.4 to 0.3 h, 2.1 to 2 h, 1.7 to 4 h, then 1.2."""
    c = parapets.net_coefficient(np.array([0.0, 0.29, 0.31, 1.99, 2.01, 3.99, 4.01]), np.full(7, 20.0), 1.0, False)
    assert c == pytest.approx([3.4, 3.4, 2.1, 2.1, 1.7, 1.7, 1.2])
    assert parapets.net_coefficient(np.array([0.0]), np.array([4.0]), 1.0, False) == pytest.approx(2.6)  # l/h 4: (2.3 + 2.9) / 2
    assert parapets.net_coefficient(np.array([0.0]), np.array([20.0]), 1.0, True) == pytest.approx(2.1)


def test_exposure_B_below_30_ft_by_edition() -> None:
    """7-10 chapter 30 holds 0.70 below 30 ft; 7-16 falls to 0.57 at 15 ft (Table 26.10-1) and stays there."""
    at = {e: [float(asce.velocity_coefficient(z, asce.exposure_constants(e, "B"))) for z in (10, 15, 25, 30)] for e in ("7-10", "7-16")}
    assert at["7-10"] == pytest.approx([0.70] * 4, abs=0.005)
    assert at["7-16"] == pytest.approx([0.57, 0.57, 0.66, 0.70], abs=0.006)


def test_editions_keep_their_own_constants() -> None:
    """K_d in q (7-16) or in p (7-22): the net pressure holds it once either way; 26.10.2 of both editions."""
    for edition in ("7-16", "7-22"):
        site = asce.Site(edition, "C", 115.0, K_d=0.85)
        plain = asce.Site(edition, "C", 115.0, K_d=1.0)
        with_K_d = asce.net_pressure(site.q(30), site.q(30), -1.4, 0.18, site.K_d_in_p)
        assert with_K_d == pytest.approx(0.85 * asce.net_pressure(plain.q(30), plain.q(30), -1.4, 0.18, plain.K_d_in_p))
    assert asce.Site("7-16", "C", 115.0).K_d_in_p == 1.0 and asce.Site("7-22", "C", 115.0).K_d_in_p == 0.85
    assert asce.Site("7-16", "C", 100.0).q(33) != pytest.approx(float(asce.Site("7-22", "C", 100.0).q(33)), rel=1e-3)


def test_height_60_ft_belongs_to_the_lower_figure() -> None:
    """ASCE 7 30.3: h <= 60 ft; zone 5 at 10 ft2: -1.4, above 60 ft -1.8 (Figures 30.3-1, 30.5-1)."""
    assert asce.coefficient(np.array([60.0, 60.01]), "5", 10.0) == pytest.approx([-1.4, -1.8])
    assert asce.coefficient(np.array([60.0, 60.01]), "5", 10.0, asce.FLAT_ROOF) == pytest.approx([-1.26, -1.8])


def test_least_net_pressure() -> None:
    """ASCE 7 30.2.2: 16 psf in either direction, 9.6 psf for ASD."""
    p = asce.net_pressure(5.0, 5.0, np.array([-1.1, 0.8]), 0.18)
    assert p == pytest.approx([-16, 16])
    assert asce.allowable(p) == pytest.approx([-9.6, 9.6])


@pytest.mark.parametrize("h, least, a", [(30, 100, 10), (20, 100, 8), (5, 100, 4), (20, 20, 3), (100, 200, 20), (100, 25, 3)])
def test_width_of_zone_5(h: float, least: float, a: float) -> None:
    """Figures 30.3-1 and 30.5-1, by hand: 10 % of least or 0.4 h, 4 % of least, 3 ft; above 60 ft 10 % and 3 ft."""
    assert asce.zone_width(h, least) == pytest.approx(a)
