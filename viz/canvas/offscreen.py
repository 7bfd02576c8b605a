"""Drawing without a display: what the graphics library needs, checked before it is loaded."""

import os
import sys
from ctypes.util import find_library
from functools import cache
from typing import Any

from ...solver.errors import MissingLibraryError

_needed = ("EGL", "GL", "Xrender")
_apt = "apt-get install -y libegl1 libgl1 libxrender1"


@cache
def _missing_libraries() -> tuple[str, ...]:
    """System libraries that are not installed; each look-up starts a process, so once."""
    return tuple(f"lib{name}" for name in _needed if find_library(name) is None)


def graphics() -> Any:
    """Give pyvista, ready to draw with or without a display.

    Raises
    ------
    MissingLibraryError
        If a system library is missing: VTK would end the process without a word.
    """
    if sys.platform.startswith("linux"):
        missing = _missing_libraries()
        if missing:
            msg = (
                f"pictures need the system libraries {', '.join(missing)}, which are not "
                f"installed; on Debian or Ubuntu: {_apt}"
            )
            raise MissingLibraryError(msg)
        if not os.environ.get("DISPLAY"):
            os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    import pyvista  # loads VTK, which the rest of ohmscape does without

    return pyvista
