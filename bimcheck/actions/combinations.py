"""Combinations of actions: data, by format.

gamma_G multiplies the weight, gamma_W the wind in the basis named by `basis`; `wind` says which way it blows.
"""

from __future__ import annotations

from dataclasses import dataclass

from bimcheck.core.errors import InputError


@dataclass(frozen=True)
class Combination:
    """One combination; `wind`: suction, pressure, none or seismic."""

    name: str
    gamma_G: float
    gamma_W: float
    wind: str
    clause: str


# EN 1990 Table A1.1 and A1.2(B) (recommended values): see `en1990` below.
GAMMA_G_UNFAV, GAMMA_G_FAV, GAMMA_Q = 1.35, 1.0, 1.5
PSI_WIND = (0.6, 0.2, 0.0)  # psi0, psi1, psi2
PSI_TEMPERATURE = (0.6, 0.5, 0.0)

# The basis the wind must have for each format; other pairs are refused.
BASIS = {"en1990": ("characteristic",), "global": ("characteristic", "asd"), "asce-lrfd": ("strength",), "asce-asd": ("strength", "asd")}


def uls_wind_leading(G: float, W: float, T: float) -> float:
    """Sum of effects in one direction with wind leading: 1.35 G + 1.5 W + 1.5 psi0 T (EN 1990 6.4.3.2 (6.10))."""
    return GAMMA_G_UNFAV * G + GAMMA_Q * W + GAMMA_Q * PSI_TEMPERATURE[0] * T


def combinations(format: str, basis: str = "", seismic: bool = False) -> tuple[Combination, ...]:
    """The combinations of a format.

    basis: basis of the wind pressures (w_basis); raises InputError where it does not go with the format.
    """
    if basis and basis not in BASIS[format]:
        raise InputError(f"wind on {basis} basis does not go with the format {format}", "[actions] format",
                         f"use wind on {' or '.join(BASIS[format])} basis, or another format")
    rows = _FORMATS[format]
    if basis == "asd":
        rows = tuple(Combination(c.name, c.gamma_G, 1.0 if c.gamma_W else 0.0, c.wind, c.clause) for c in rows)
    return rows + (_SEISMIC if seismic else ())


def _both(name: str, gamma_G: float, gamma_W: float, clause: str) -> tuple[Combination, ...]:
    return tuple(Combination(f"{name} {way}", gamma_G, gamma_W, way, clause) for way in ("suction", "pressure"))


_EN = "EN 1990 6.4.3.2 (6.10)"
_SEISMIC = (
    Combination("1.0 G + E outward", 1.0, 1.0, "seismic", "EN 1990 6.4.3.4; ASCE 7-16 2.3.6"),
)
_FORMATS: dict[str, tuple[Combination, ...]] = {
    "en1990": (
        *_both("1.35 G + 1.5 W", GAMMA_G_UNFAV, GAMMA_Q, _EN), *_both("1.0 G + 1.5 W", GAMMA_G_FAV, GAMMA_Q, _EN),
        Combination("1.35 G", GAMMA_G_UNFAV, 0.0, "none", _EN),
    ),
    "asce-lrfd": (
        *_both("1.2 D + 1.0 W", 1.2, 1.0, "ASCE 7-16 2.3.1 (4)"), *_both("0.9 D + 1.0 W", 0.9, 1.0, "ASCE 7-16 2.3.1 (5)"),
        Combination("1.4 D", 1.4, 0.0, "none", "ASCE 7-16 2.3.1 (1)"),
    ),
    "asce-asd": (
        *_both("D + 0.6 W", 1.0, 0.6, "ASCE 7-16 2.4.1 (5)"), *_both("0.6 D + 0.6 W", 0.6, 0.6, "ASCE 7-16 2.4.1 (7)"),
        Combination("D", 1.0, 0.0, "none", "ASCE 7-16 2.4.1 (1)"),
    ),
    "global": (
        *_both("G + W", 1.0, 1.0, "global factor on the resistance"),
        Combination("G", 1.0, 0.0, "none", "global factor on the resistance"),
    ),
}
