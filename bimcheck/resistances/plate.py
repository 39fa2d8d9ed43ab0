"""What the panel itself can take."""

from __future__ import annotations

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, MPa, mm, ratio


def design_strength(f_k: Array, eta: Array, gamma: Array) -> Array:
    """f_d = f_k eta / gamma_M; with a mean and a global factor F the same formula reads f_mean eta / F."""
    return f_k * eta / gamma


def plate_stiffness(E: Array, t: Array, nu: Array) -> Array:
    """D = E t^3 / (12 (1 - nu^2)) in N mm (thin plate theory)."""
    return E * t**3 / (12 * (1 - nu**2))


@rule("panels", adds=[Column("f_d", "MPa", "design flexural strength", file="f_d_MPa", file_unit="MPa", measure="IfcPressureMeasure")],
      clause="EN 1990 6.3.5", formula="f_d = f_k eta_flex / gamma_flex; eta_flex = eta_wet eta_frost eta_age eta_direction, 1 where conditioned")
def flexural_strength(f_k: MPa, eta_flex: ratio, gamma_flex: ratio) -> Array:
    """Design flexural strength in the weaker direction."""
    return design_strength(f_k, eta_flex, gamma_flex)


@rule("panels", adds=[Column("t_bending", "mm", "thickness that counts in bending: least thickness less counterbore")],
      clause="common practice, no source", formula="t_bending = t_min - counterbore")
def bending_thickness(t_min: mm, counterbore: mm) -> Array:
    """At a counterbore the remaining thickness carries the anchor moment."""
    return t_min - counterbore


@rule("panels", adds=[Column("D", "N mm", "plate stiffness with the least thickness, for deflection"),
                      Column("D_max", "N mm", "plate stiffness with the greatest thickness, for forces by misfit")],
      clause="thin plate theory", formula="D = E t_min^3 / (12 (1 - nu^2)); D_max = E t_max^3 / (12 (1 - nu^2))", symbols={"E": "E_mod"})
def stiffness(E_mod: MPa, t_min: mm, t_max: mm, nu: ratio) -> tuple[Array, Array]:
    """Plate stiffness at both ends of the thickness."""
    return plate_stiffness(E_mod, t_min, nu), plate_stiffness(E_mod, t_max, nu)
