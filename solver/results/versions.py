"""Versions of what makes the numbers, kept with every result."""

import platform
from importlib.metadata import version


def versions(program: str) -> dict[str, str]:
    """Versions of Python, ohmscape (`program`) and the libraries that make the numbers."""
    libraries = ("numpy", "scipy", "scikit-fem", "gmsh", "pyamg")
    found = {name: version(name) for name in libraries}
    return {"python": platform.python_version(), "ohmscape": program, **found}
