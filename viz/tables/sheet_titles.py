"""Names of sheets of a workbook."""

import re
from collections.abc import Sequence


def sheet_title(name: str, taken: Sequence[str]) -> str:
    """Name of a sheet as a workbook takes it: 31 characters at most, and none twice."""
    wanted = re.sub(r"[\[\]:*?/\\]", " ", name)[:31]
    number, given = 1, wanted
    while given.lower() in map(str.lower, taken):
        number += 1
        given = f"{wanted[: 30 - len(str(number))]} {number}"
    return given
