"""Mesh and step voltage of a grid by the simplified equations of IEEE Std 80-2000.

The standard's own limits are refused, not stretched. Both are prospective voltages in uniform
soil; a limit to hold them against depends on duration, surface layer and the code in force.
"""

from dataclasses import dataclass
from math import log, pi, pow, sqrt

from ohmscape.solver.handbook.checks import require_positive, require_range


@dataclass(frozen=True)
class GridPlan:
    """What the simplified equations know of a grid.

    Attributes
    ----------
    length_x, length_y : float
        Greatest extent in two perpendicular directions, > 0. [m]
    area : float
        Area inside the perimeter, at most length_x times length_y. [m²]
    perimeter : float
        Length of the outline. [m]
    conductor_length : float
        Horizontal conductor without rods, at least `perimeter`. [m]
    conductor_radius : float
        Radius of the conductor; the diameter at most a quarter of `depth`. [m]
    spacing : float
        Between parallel conductors, at least 2.5 m. [m]
    depth : float
        0.25 to 2.5 m. [m]
    rod_count : int
        Number of rods along the perimeter, at its corners or throughout; 0 for none.
    rod_length : float
        Length of each rod; 0 for none. [m]

    Raises
    ------
    CaseError
        If a value is not positive and finite, or outside the standard's bounds; these ask
        for 2 to 25 `parallel_conductors`.
    """

    length_x: float
    length_y: float
    area: float
    perimeter: float
    conductor_length: float
    conductor_radius: float
    spacing: float
    depth: float
    rod_count: int = 0
    rod_length: float = 0.0

    def __post_init__(self) -> None:
        where = "GridPlan"
        require_positive(
            where,
            length_x=self.length_x,
            length_y=self.length_y,
            area=self.area,
            perimeter=self.perimeter,
            conductor_length=self.conductor_length,
            conductor_radius=self.conductor_radius,
            spacing=self.spacing,
            depth=self.depth,
        )
        if self.rod_count or self.rod_length:
            require_positive(where, rod_count=self.rod_count, rod_length=self.rod_length)
        standard = "bound of the standard's simplified equations"
        require_range(where, self.depth, name="depth", low=0.25, high=2.5, why=standard)
        require_range(where, self.spacing, name="spacing", low=2.5, why=standard)
        require_range(
            where,
            2 * self.conductor_radius / self.depth,
            name="conductor diameter / depth",
            high=0.25,
            why=standard,
        )
        # Bounds a rounding error wider, so that a plain rectangle or a lone ring passes.
        require_range(
            where,
            self.area / (self.length_x * self.length_y),
            name="area / (length_x length_y)",
            high=1.0 + 1e-9,
            why="the outline fits its bounding box",
        )
        require_range(
            where,
            self.conductor_length / self.perimeter,
            name="conductor_length / perimeter",
            low=1.0 - 1e-9,
            why="the conductor runs at least round the outline",
        )
        require_range(
            where,
            self.parallel_conductors,
            name="parallel conductors n",
            low=2.0 - 1e-9,
            high=25.0,
            why=standard,
        )

    @property
    def parallel_conductors(self) -> float:
        r"""Effective number n of parallel conductors in one direction.

        .. math:: n = \frac{2 L_c}{L_p} \sqrt{\frac{L_p}{4 \sqrt A}}
                  \left(\frac{L_x L_y}{A}\right)^{0.7 A / L_x L_y}

        IEEE Std 80-2000 eq. (84)-(88), from memory; their last factor is 1 for square,
        rectangular and L-shaped grids and left out here.
        """
        box = self.length_x * self.length_y
        slender = sqrt(self.perimeter / (4 * sqrt(self.area)))
        indented = pow(box / self.area, 0.7 * self.area / box)
        return 2 * self.conductor_length / self.perimeter * slender * indented

    @property
    def irregularity(self) -> float:
        """Factor Ki = 0.644 + 0.148 n (IEEE Std 80-2000 eq. (89), from memory)."""
        return 0.644 + 0.148 * self.parallel_conductors


@dataclass(frozen=True)
class GridVoltage:
    """A voltage of the simplified equations with its factors.

    Attributes
    ----------
    spacing_factor : float
        Km for the mesh voltage, Ks for the step voltage.
    irregularity : float
        Ki.
    effective_length : float
        Conductor length the current is spread over, LM or LS. [m]
    voltage : float
        [V]
    """

    spacing_factor: float
    irregularity: float
    effective_length: float
    voltage: float


def mesh_voltage(plan: GridPlan, *, resistivity: float, current: float) -> GridVoltage:
    r"""Touch voltage at the centre of a corner mesh.

    Parameters
    ----------
    plan : GridPlan
        The grid; its rods, if any, along the perimeter, at its corners or throughout.
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    current : float
        Greatest current from the grid into the soil, > 0. [A]

    Returns
    -------
    voltage : GridVoltage
        Factors Km and Ki, effective length, voltage. [V]

    Raises
    ------
    CaseError
        If a value is not positive and finite.

    Notes
    -----
    .. math:: K_m &= \frac{1}{2 \pi} \left(\ln \left(\frac{D^2}{16 h d}
              + \frac{(D + 2h)^2}{8 D d} - \frac{h}{4 d}\right)
              + \frac{K_{ii}}{K_h} \ln \frac{8}{\pi (2n - 1)}\right) \\
              E_m &= \rho I_G K_m K_i / L_M

    with :math:`K_h = \sqrt{1 + h / 1\,\text{m}}`, :math:`K_{ii} = 1` and
    :math:`L_M = L_c + (1.55 + 1.22 L_r / \sqrt{L_x^2 + L_y^2}) L_R` with rods,
    :math:`K_{ii} = (2n)^{-2/n}` and :math:`L_M = L_c` without. The worst touch voltage of
    the corner mesh is some 5 % above the one at its centre.

    References
    ----------
    .. [1] IEEE Std 80-2000, clause 16.5.1. From memory.

    Examples
    --------
    >>> plan = GridPlan(
    ...     length_x=70.0, length_y=70.0, area=4900.0, perimeter=280.0,
    ...     conductor_length=1540.0, conductor_radius=0.005, spacing=7.0, depth=0.5)
    >>> round(mesh_voltage(plan, resistivity=400.0, current=1908.0).voltage, 1)
    1001.6
    """
    require_positive("mesh_voltage", resistivity=resistivity, current=current)
    n = plan.parallel_conductors
    D, h, d = plan.spacing, plan.depth, 2 * plan.conductor_radius
    rods = plan.rod_count * plan.rod_length
    diagonal = sqrt(plan.length_x**2 + plan.length_y**2)
    Kii = 1.0 if rods else (2 * n) ** (-2 / n)
    Kh = sqrt(1 + h)
    near = log(D**2 / (16 * h * d) + (D + 2 * h) ** 2 / (8 * D * d) - h / (4 * d))
    Km = (near + Kii / Kh * log(8 / (pi * (2 * n - 1)))) / (2 * pi)
    LM = plan.conductor_length + (1.55 + 1.22 * plan.rod_length / diagonal) * rods
    Ki = plan.irregularity
    return GridVoltage(
        spacing_factor=Km,
        irregularity=Ki,
        effective_length=LM,
        voltage=resistivity * current * Km * Ki / LM,
    )


def perimeter_step_voltage(
    plan: GridPlan, *, resistivity: float, current: float
) -> GridVoltage:
    r"""Step voltage over 1 m, outward from a corner of the grid.

    Parameters
    ----------
    plan : GridPlan
        The grid.
    resistivity : float
        Resistivity of the uniform soil, > 0. [Ω·m]
    current : float
        Greatest current from the grid into the soil, > 0. [A]

    Returns
    -------
    voltage : GridVoltage
        Factors Ks and Ki, effective length, voltage. [V]

    Raises
    ------
    CaseError
        If a value is not positive and finite.

    Notes
    -----
    .. math:: K_s &= \frac{1}{\pi} \left(\frac{1}{2h} + \frac{1}{D + h}
              + \frac{1 - 0.5^{n-2}}{D}\right) \\
              E_s &= \rho I_G K_s K_i / (0.75 L_c + 0.85 L_R)

    References
    ----------
    .. [1] IEEE Std 80-2000, clause 16.5.2. From memory.

    Examples
    --------
    >>> plan = GridPlan(
    ...     length_x=70.0, length_y=70.0, area=4900.0, perimeter=280.0,
    ...     conductor_length=1540.0, conductor_radius=0.005, spacing=7.0, depth=0.5,
    ...     rod_count=20, rod_length=7.5)
    >>> round(perimeter_step_voltage(plan, resistivity=400.0, current=1908.0).voltage, 1)
    549.1
    """
    require_positive("perimeter_step_voltage", resistivity=resistivity, current=current)
    n = plan.parallel_conductors
    D, h = plan.spacing, plan.depth
    Ks = (1 / (2 * h) + 1 / (D + h) + (1 - 0.5 ** (n - 2)) / D) / pi
    LS = 0.75 * plan.conductor_length + 0.85 * plan.rod_count * plan.rod_length
    Ki = plan.irregularity
    return GridVoltage(
        spacing_factor=Ks,
        irregularity=Ki,
        effective_length=LS,
        voltage=resistivity * current * Ks * Ki / LS,
    )
