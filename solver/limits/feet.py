r"""Feet as discs on the soil: their resistance, on soil and on a thin surface layer.

A foot is a metal disc of radius 0.08 m lying on the surface. The trade rounds the disc's
3.125 ρ to 3 ρ, hence 1.5 ρ for two feet in parallel and 6 ρ for two in series; limits here
use the rounded values, which are on the safe side by 4 %.
"""

from functools import lru_cache

from ..errors import CaseError
from .contract import Exposure, Standing, refuse_unless_positive
from .disc import disc_on_layers

FOOT_RADIUS = 0.08  # m, IEEE Std 80 (from memory)

# Feet in series with the body, per Ω·m under them: IEEE Std 80-2000 clause 7 (values read in a
# secondary source), EN 50522 writes R_a2 = 1.5 ρ_s (from memory).
FEET_PER_RESISTIVITY: dict[Exposure, float] = {"touch": 1.5, "step": 6.0, "hands": 0.0}

# Where equation 27 was tried against the disc itself, see `surface_layer_factor`.
THINNEST_LAYER, THICKEST_LAYER = 0.05, 0.5

_MOST_CONTRAST = 1e4


def surface_layer_factor(standing: Standing) -> float:
    r"""Derating factor C_s of a surface layer by the formula of IEEE Std 80; 1 on bare soil.

    Parameters
    ----------
    standing : Standing
        Soil and layer under the feet.

    Raises
    ------
    CaseError
        If the layer is thinner than 0.05 m, thicker than 0.5 m, or conducts better than the
        soil below it.

    Notes
    -----
    C_s = 1 − 0.09 (1 − ρ/ρ_s) / (2 h_s + 0.09), IEEE Std 80-2000 equation 27 (from memory).

    The range is ours. Against the disc itself (`disc_layer_factor`) the formula is within
    3 % from 0.1 m up, 7 % too high at 0.05 m with contrasts of 1000, 19 % at 0.02 m, and
    50 % too high on a layer that conducts five times better than the soil: on the unsafe
    side. A layer above 0.5 m is soil; it belongs in the soil model.
    """
    rho, rho_s, h = (
        standing.soil_resistivity,
        standing.layer_resistivity,
        standing.layer_thickness,
    )
    if rho_s is None or h is None:
        return 1.0
    if rho_s < rho:
        msg = (
            f"surface layer of {rho_s:g} ohm*m on soil of {rho:g} ohm*m: equation 27 of "
            "IEEE 80 is for layers that conduct worse than the soil; put this layer into "
            "the soil model"
        )
        raise CaseError(msg)
    # A micrometre, for 2 in written as 50.8 mm and the like.
    if not THINNEST_LAYER - 1e-6 <= h <= THICKEST_LAYER + 1e-6:
        msg = (
            f"surface layer {h:g} m thick: equation 27 of IEEE 80 is used here from "
            f"{THINNEST_LAYER:g} to {THICKEST_LAYER:g} m; leave a thinner layer out, put a "
            "thicker one into the soil model"
        )
        raise CaseError(msg)
    return 1 - 0.09 * (1 - rho / rho_s) / (2 * h + 0.09)


@lru_cache(maxsize=1024)
def disc_layer_factor(standing: Standing, *, radius: float = FOOT_RADIUS) -> float:
    r"""Derating factor C_s of a surface layer from the field of a disc; 1 on bare soil.

    Parameters
    ----------
    standing : Standing
        Soil and layer under the feet; any order of resistivities.
    radius : float
        Radius of the disc, > 0. [m]

    Raises
    ------
    CaseError
        If the resistivities differ by more than 1 to 10 000, or the layer is thinner than
        an eighth of the disc's radius.

    Notes
    -----
    4 b R_f / ρ_s of a disc at one potential on two layers, see `disc.of_density`.
    """
    rho, rho_s, h = (
        standing.soil_resistivity,
        standing.layer_resistivity,
        standing.layer_thickness,
    )
    if rho_s is None or h is None or rho_s == rho:
        return 1.0
    refuse_unless_positive(radius, what="foot radius", unit="m")
    if max(rho, rho_s) > _MOST_CONTRAST * min(rho, rho_s):
        msg = (
            f"surface layer of {rho_s:g} ohm*m on soil of {rho:g} ohm*m: at most "
            f"{_MOST_CONTRAST:g} to 1 is allowed; check the values"
        )
        raise CaseError(msg)
    if h < radius / 8:
        msg = f"surface layer {h:g} m thick: below {radius / 8:g} m it is a film; leave it out"
        raise CaseError(msg)
    return 4 * radius * disc_on_layers((rho_s, rho), thickness=(h,), radius=radius) / rho_s


def feet_resistance(exposure: Exposure, *, standing: Standing) -> float:
    """Soil resistance in series with a body, the surface layer by the field of a disc. [Ω]

    Parameters
    ----------
    exposure : {"touch", "step", "hands"}
        Hand to feet (1.5 ρ), foot to foot (6 ρ), or hand to hand (none).
    standing : Standing
        Soil and layer under the feet.

    Raises
    ------
    CaseError
        As `disc_layer_factor`.
    """
    if exposure == "hands":
        return 0.0
    if standing.solved_feet is not None:
        return standing.solved_feet
    resistivity = disc_layer_factor(standing) * standing.top_resistivity
    return FEET_PER_RESISTIVITY[exposure] * resistivity


def formula_resistance(exposure: Exposure, *, standing: Standing) -> float:
    """The same by 1.5 ρ and 6 ρ with C_s of IEEE Std 80 equation 27, where that holds. [Ω]

    Where it does not, C_s is that of the disc; raises as `disc_layer_factor`.
    """
    try:
        factor = surface_layer_factor(standing)
    except CaseError:
        factor = disc_layer_factor(standing)
    return FEET_PER_RESISTIVITY[exposure] * factor * standing.top_resistivity
