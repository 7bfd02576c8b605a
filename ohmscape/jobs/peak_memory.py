"""The largest memory this process has held."""

import resource
import sys
from pathlib import Path


def peak_memory(status: str = "/proc/self/status") -> float:
    """Largest resident memory of the process so far. [byte]

    Where the system says it of the program alone, as Linux does in `status`: what is kept for
    the use of resources is handed on to a new program, which then seems to have held what the
    process that started it did.
    """
    try:
        for line in Path(status).read_text("ascii", "replace").splitlines():
            name, _, value = line.partition(":")
            if name == "VmHWM":
                return 1024.0 * float(value.split()[0])
    except (OSError, ValueError, IndexError):
        pass
    unit = 1 if sys.platform == "darwin" else 1024
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit)
