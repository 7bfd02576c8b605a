"""Meshing in a process of its own, which can be ended when it takes far too long.

One call of gmsh cannot be interrupted from outside, nor survived where it breaks down. A fork
would copy the locks of other threads, so the process is a new one; the mesh comes by a pipe.
"""

import os
import pickle
import subprocess
import sys
from tempfile import TemporaryFile
from threading import Thread
from time import sleep

from ..solver.errors import MeshError, OhmscapeError
from ..solver.model import Mesh
from .building import mesh_here
from .plan import MeshPlan

# Processor time of one element, and the least allowed, which a slow machine needs. [s]
_seconds_per_element, _least = 2e-5, 20.0
_most_over = 4.0  # times what is expected
_waiting = 10.0  # for one processor, where many ask for it
# A new process takes half a second, such a mesh three. Without planes to lie close together
# nothing was ever slow.
_small = 120_000


def build_mesh(plan: MeshPlan, *, seconds: float | None = None) -> Mesh:
    """Mesh of a half-ball of soil after a plan, the same each time.

    Parameters
    ----------
    seconds : float, optional
        Processor time allowed; left out, four times what so many elements should take, at
        least 20 s, and no limit for a small mesh with a plane at most. [s]

    Raises
    ------
    MeshError
        If gmsh fails, breaks down, is in use, or takes longer.
    MissingLibraryError
        If gmsh cannot load a system library.
    """
    if seconds is None:
        if not in_a_process(plan):
            return mesh_here(plan)
        seconds = max(_least, _most_over * _seconds_per_element * plan.elements)
    command = f"import sys; sys.path[:] = {sys.path!r}; import {__name__} as it; it.answer()"
    # Not a pipe: gmsh undoes that writing to one whose reader is gone is harmless.
    with TemporaryFile() as given:
        pickle.dump((plan, seconds, os.getpid()), given, protocol=pickle.HIGHEST_PROTOCOL)
        given.seek(0)
        with subprocess.Popen(
            [sys.executable, "-c", command],
            stdin=given,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        ) as child:
            try:
                said, _ = child.communicate(timeout=_waiting * seconds)
            except subprocess.TimeoutExpired as error:
                raise MeshError(_too_long(plan, seconds)) from error
            finally:
                child.kill()  # whatever happens, an interrupt too; nothing where it has ended
    if said:
        found = pickle.loads(said)
        if isinstance(found, OhmscapeError):
            raise found
        if isinstance(found, Mesh):
            return found
    if _ended_by_limit(child.returncode):
        raise MeshError(_too_long(plan, seconds))
    msg = (
        f"the mesh generator broke down (status {child.returncode}); change the element size a "
        "little (numerics.element_size or numerics.fineness)"
    )
    raise MeshError(msg)


def in_a_process(plan: MeshPlan) -> bool:
    """Whether a mesh is made in a process of its own unless told otherwise."""
    return len(plan.planes) > 1 or plan.elements >= _small


def answer() -> None:
    """Read plan and limit from the standard input, write mesh or error to the output."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # so that nothing that gmsh prints gets between
    plan, seconds, parent = pickle.load(sys.stdin.buffer)
    _limit(seconds)
    Thread(target=end_with, args=(parent,), daemon=True).start()
    found: Mesh | OhmscapeError
    try:
        found = mesh_here(plan)
    except OhmscapeError as error:
        found = error
    with out:
        pickle.dump(found, out, protocol=pickle.HIGHEST_PROTOCOL)


def _limit(seconds: float) -> None:
    """Have this process ended by the system after so much processor time."""
    if sys.platform == "win32":
        return  # the parent's own limit is all
    import resource

    used = sum(os.times()[:2])
    whole = int(used + seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (whole, whole + 1))


def _ended_by_limit(status: int) -> bool:
    if sys.platform == "win32":
        return False
    from signal import SIGXCPU

    return status == -SIGXCPU


def end_with(parent: int) -> None:
    """End this process when its parent is gone, which it may have been from the start."""
    while os.getppid() == parent:
        sleep(0.5)
    os._exit(1)


def _too_long(plan: MeshPlan, seconds: float) -> str:
    """What was expected, what was passed, and what to do."""
    depths = [depth for depth, _ in plan.planes]
    thin = ""
    if len(depths) > 1:
        close = min(range(1, len(depths)), key=lambda k: depths[k] - depths[k - 1])
        gap = depths[close] - depths[close - 1]
        thin = (
            f", or join thin layers of soil.layers: the thinnest, layer {close + 1}, is "
            f"{gap:.3g} m beside elements of {plan.element_size.min():.3g} m and more"
        )
    return (
        f"the mesh of about {plan.elements:,} elements was expected to take "
        f"{_seconds_per_element * plan.elements:.1f} s of processor time and was stopped after "
        f"{seconds:.3g} s; ask for larger elements (numerics.accuracy: coarse, or "
        f"numerics.element_size){thin}"
    )
