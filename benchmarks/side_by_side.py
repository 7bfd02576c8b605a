"""The same electrodes by NGSolve with the face of the metal in the mesh, beside ours.

Usage: pip install ngsolve, then python benchmarks/side_by_side.py

NGSolve is a general-purpose finite-element library. Here it meshes the soil round the true
metal with curved tetrahedra and holds the metal at one volt; the outer sphere is open by the
same condition as ours. Each row runs in a process of its own: elements, unknowns, seconds of
mesh and solution, processor seconds of both, peak memory, resistance and its error.

No book has the ring with its rods. Its reference is NGSolve too: an eighth of it, cut by the
planes of symmetry, with finer elements.
"""

import json
import resource
import subprocess
import sys
from dataclasses import dataclass
from time import perf_counter, process_time

import numpy as np

RESISTIVITY = 100.0  # Ω·m
LENGTH, RADIUS = 2.4384, 0.0079375  # of each rod, m
RING, WIRE, DEPTH = 5.0, 0.005, 0.75  # radius of the ring, of its wire; depth, m


@dataclass(frozen=True)
class Electrode:
    """One electrode as a case for us, and what NGSolve needs.

    `outer_radius` is that of NGSolve's open sphere [m], `metal_radius` gives its element size
    [m], `sector` is the angle of the wedge that the planes of symmetry leave [°], `resolved`
    and `finest` are orders of elements and their sizes at the metal in radii of it, for the
    whole and for the wedge.
    """

    parts: str
    outer_radius: float
    metal_radius: float
    sector: float
    reference: float | None
    resolved: tuple[tuple[int, float], ...]
    finest: tuple[int, float]


_rod = f"length: {LENGTH} m, diameter: {2e3 * RADIUS} mm"
_places = ((RING, 0.0), (0.0, RING), (-RING, 0.0), (0.0, -RING))
_rods = [
    f"{{kind: rod, name: rod {k}, at: [{x} m, {y} m], top_depth: {DEPTH} m, {_rod}}}"
    for k, (x, y) in enumerate(_places, start=1)
]
_ring = (
    f"{{kind: ring, name: ring, centre: [0 m, 0 m], ring_diameter: {2 * RING} m, "
    f"depth: {DEPTH} m, diameter: {2e3 * WIRE} mm}}"
)
ELECTRODES = {
    # Computed independently: boundary integral of the true surface.
    "single rod": Electrode(
        f"[{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, {_rod}}}]",
        60.0,
        RADIUS,
        90.0,
        39.518,
        ((2, 1.0), (2, 0.5), (3, 0.5)),
        (4, 0.5),
    ),
    "ring, four rods": Electrode(
        f"[{', '.join([_ring, *_rods])}]",
        150.0,
        WIRE,
        45.0,
        None,
        ((2, 2.0),),  # order 3 would take some 20 GB
        (3, 1.0),
    ),
}

OURS = ("coarse", "normal", "fine")


def _soil(name: str, *, whole: bool):  # type: ignore[no-untyped-def]
    """Soil round the metal: the half-ball, or its wedge between planes of symmetry."""
    from netgen import occ

    electrode = ELECTRODES[name]
    if name == "single rod":
        metal = occ.Cylinder(occ.Pnt(0, 0, 1.0), -occ.Z, r=RADIUS, h=1.0 + LENGTH)
    else:
        section = occ.WorkPlane(occ.Axes((RING, 0, -DEPTH), n=occ.Y, h=occ.X)).Circle(WIRE)
        metal = section.Face().Revolve(occ.Axis((0, 0, 0), occ.Z), 360)
        for x, y in _places:
            metal += occ.Cylinder(occ.Pnt(x, y, -DEPTH), -occ.Z, r=RADIUS, h=LENGTH)
    metal.faces.name = "metal"
    far = electrode.outer_radius
    ball = occ.Sphere(occ.Pnt(0, 0, 0), far)
    ball.faces.name = "far"
    below = occ.HalfSpace(occ.Pnt(0, 0, 0), occ.Z)
    below.faces.name = "insulated"
    soil = ball * below
    if not whole:
        angle = np.radians(electrode.sector)
        for normal in (occ.Vec(0, -1, 0), occ.Vec(-np.sin(angle), np.cos(angle), 0)):
            side = occ.HalfSpace(occ.Pnt(0, 0, 0), normal)
            side.faces.name = "insulated"
            soil = soil * side
    soil = soil - metal
    return soil


def by_ngsolve(name: str, *, order: int, size: float, whole: bool = True) -> dict[str, float]:
    """Resistance with the face of the metal in the mesh; the size is in radii of the metal."""
    import ngsolve as ng
    from netgen import occ

    electrode = ELECTRODES[name]
    far, sigma = electrode.outer_radius, 1.0 / RESISTIVITY
    clock = perf_counter()
    soil = _soil(name, whole=whole)
    soil.faces["metal"].maxh = size * electrode.metal_radius
    geometry = occ.OCCGeometry(soil)
    mesh = ng.Mesh(
        geometry.GenerateMesh(maxh=far / 3, grading=0.35, curvaturesafety=1.0 / size)
    )
    mesh.Curve(order)
    meshing = perf_counter() - clock
    clock = perf_counter()
    with ng.TaskManager():
        space = ng.H1(mesh, order=order, dirichlet="metal")
        u, v = space.TnT()
        form = ng.BilinearForm(space, symmetric=True)
        form += sigma * ng.grad(u) * ng.grad(v) * ng.dx
        form += sigma / far * u * v * ng.ds("far")
        smooth = ng.Preconditioner(form, "bddc")
        form.Assemble()
        phi = ng.GridFunction(space)
        phi.Set(1.0, definedon=mesh.Boundaries("metal"))
        rest = phi.vec.CreateVector()
        rest.data = -form.mat * phi.vec
        solver = ng.solvers.CGSolver(form.mat, smooth.mat, tol=1e-8, maxiter=1000)
        phi.vec.data += solver * rest
        power = ng.InnerProduct(form.mat * phi.vec, phi.vec)
    share = 1.0 if whole else electrode.sector / 360.0
    return {
        "elements": mesh.ne,
        "unknowns": space.ndof,
        "mesh": meshing,
        "solve": perf_counter() - clock,
        "resistance": share / power,
    }


def by_us(name: str, *, accuracy: str) -> dict[str, float]:
    """Resistance of one mesh and solution of a preset, without maps and the second solution."""
    from ohmscape.cases.loading import load_case_text
    from ohmscape.jobs.solving import plan
    from ohmscape.meshes import build_mesh
    from ohmscape.solver.field.solution import solve

    case = load_case_text(
        f"ohmscape: 1\ntitle: {name}\n"
        f"soil: {{layers: [{{resistivity: {RESISTIVITY} ohm*m}}]}}\n"
        f"electrodes: [{{name: electrode, drive: {{current: 1 A}}, "
        f"parts: {ELECTRODES[name].parts}}}]\n"
    )
    clock = perf_counter()
    mesh = build_mesh(plan(case, accuracy=accuracy))
    meshing = perf_counter() - clock
    clock = perf_counter()
    solution = solve(mesh, soil=case.soil, conductors=case.conductors)
    return {
        "elements": len(mesh.tetrahedra),
        "unknowns": solution.unknowns.shape[1],
        "mesh": meshing,
        "solve": perf_counter() - clock,
        "resistance": float(1.0 / solution.current_matrix.sum()),
    }


def measured(name: str, how: dict[str, object]) -> dict[str, float]:
    """Row of one way, from a process of its own."""
    command = [sys.executable, __file__, "--one", json.dumps([name, how])]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    row: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return row


def _line(label: str, row: dict[str, float], *, reference: float) -> str:
    error = row["resistance"] / reference - 1
    return (
        f"  {label:<34}{row['elements']:>10,.0f}{row['unknowns']:>11,.0f}{row['mesh']:>8.1f}"
        f"{row['solve']:>8.1f}{row['processor']:>9.1f}{row['memory'] / 1e9:>6.2f}"
        f"{row['resistance']:>10.4f}{error:>+9.3%}"
    )


def main() -> None:
    for name, electrode in ELECTRODES.items():
        print(f"{name:<36}{'elements':>10}{'unknowns':>11}{'mesh s':>8}{'solve s':>8}", end="")
        print(f"{'cpu s':>9}{'GB':>6}{'ohm':>10}{'error':>9}", flush=True)
        order, size = electrode.finest
        finest = measured(name, {"order": order, "size": size, "whole": False})
        reference = electrode.reference or finest["resistance"]
        label = f"NGSolve, order {order}, {size:g} a, a wedge"
        print(_line(label, finest, reference=reference), flush=True)
        for order, size in electrode.resolved:
            row = measured(name, {"order": order, "size": size})
            label = f"NGSolve, order {order}, {size:g} a"
            print(_line(label, row, reference=reference), flush=True)
        for accuracy in OURS:
            row = measured(name, {"accuracy": accuracy})
            print(_line(f"ohmscape, {accuracy}", row, reference=reference), flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        name, how = json.loads(sys.argv[2])
        row = by_us(name, **how) if "accuracy" in how else by_ngsolve(name, **how)
        unit = 1 if sys.platform == "darwin" else 1024
        row["memory"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
        row["processor"] = process_time()
        print(json.dumps(row))
    else:
        main()
