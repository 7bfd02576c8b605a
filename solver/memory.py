"""How much memory a process may use."""

import os
from contextlib import suppress

from .threads import own_memory


def usable_memory() -> float:
    """Nine tenths of the machine's memory, or of this process's part of it. [byte]

    No limit where it cannot be told.
    """
    if (own := own_memory()) is not None:
        return 0.9 * own
    try:
        return 0.9 * os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, ValueError, OSError):
        return float("inf")


def hold_to_usable_memory() -> None:
    """Have this process refused more data than that, where the system can; nothing elsewhere.

    What is only mapped, as libraries are, does not count.
    """
    most = usable_memory()
    with suppress(ImportError, OSError, ValueError, OverflowError):
        import resource

        given, hard = resource.getrlimit(resource.RLIMIT_DATA)
        limits = [each for each in (given, hard) if each != resource.RLIM_INFINITY]
        resource.setrlimit(resource.RLIMIT_DATA, (int(min([most, *limits])), hard))
