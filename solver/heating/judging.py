"""Conductors held against how hot they may get."""

import math

from .adiabatic import EQUATIONS, HeatEquation
from .carried import Carried
from .findings import HeatedConductor
from .plan import Conductor, HeatingPlan
from .sizes import least_section, next_sizes


def heated(
    conductor: Conductor,
    *,
    carried: Carried,
    plan: HeatingPlan,
    duration: float,
    factor: float,
) -> HeatedConductor:
    """A conductor at the end of the fault.

    Parameters
    ----------
    carried : Carried
        Its current of today, without its share.
    plan : HeatingPlan
        Says the equation and the temperature before.
    duration : float
        Of the current; `math.inf` where nothing clears it. [s]
    factor : float
        Growth and decrement together.
    """
    material = conductor.material
    equation = EQUATIONS[plan.equation](material)
    share = 1.0 if conductor.share is None else conductor.share
    current = carried.current * share * factor
    left = conductor.section * (1 - conductor.corrosion)
    temperature, doubtful, needed = (
        _worked_out(equation, conductor, plan, left, current, carried.error, duration)
        if math.isfinite(duration)
        else (math.nan,) * 3
    )
    least = least_section(conductor.use, material=material)
    below = least is not None and conductor.section < least[0] * (1 - 1e-6)
    return HeatedConductor(
        name=conductor.name,
        use=conductor.use,
        material=material.name,
        section=conductor.section,
        corroded=left,
        current=current,
        current_words=carried.words if share == 1 else f"{share:g} of {carried.words}",
        limit=conductor.limit.temperature,
        limit_words=conductor.limit.words,
        fusing=material.fusing,
        temperature=temperature,
        doubtful=doubtful,
        needed=needed,
        sizes=_sizes(conductor, needed),
        least=least[1] if least is not None and below else "",
    )


def _sizes(conductor: Conductor, needed: float) -> tuple[str, ...]:
    """Sizes of the trade, which rods are not made in."""
    if math.isnan(needed) or conductor.use == "rod":
        return ()
    return next_sizes(needed) or ("more than one conductor",)


def _worked_out(
    equation: HeatEquation,
    conductor: Conductor,
    plan: HeatingPlan,
    left: float,
    current: float,
    error: float,
    duration: float,
) -> tuple[float, float, float]:
    """Temperature, the same with the error of the current, and section needed as new."""
    temperature, doubtful = (
        equation.temperature(amperes, section=left, duration=duration, ambient=plan.ambient)
        for amperes in (current, current * (1 + error))
    )
    needed = equation.section(
        current,
        duration=duration,
        ambient=plan.ambient,
        limit=conductor.limit.temperature,
    )
    return temperature, doubtful, needed / (1 - conductor.corrosion)
