"""Load a case: from a file, from text, or from values built in Python. Nothing is solved."""

import hashlib
import json
import os
from pathlib import Path

from ..solver.errors import BudgetError, CaseError, Problem
from .building import built
from .case import Case, Source
from .designs import with_options_checked
from .reading.documents import Document, decoded, plain_document
from .reading.size_limits import LARGEST_FILE
from .reading.yaml_reader import read_document
from .shipped import lesson_cases, shipped_case_path, shipped_cases


def load_case(path: str | os.PathLike[str]) -> Case:
    """Case of a case file.

    Parameters
    ----------
    path : str or path-like
        The case file, tables it names being looked for beside it and in folders below; or the
        name of a shipped case, such as ``driven-rod``, where no file has that name.

    Returns
    -------
    case : Case
        The case in SI units, checked. A survey in it is read, its layers are not fitted yet:
        `fit_soil` does that, and so does whatever needs them.

    Raises
    ------
    CaseError
        If anything is wrong with the file, with all that is wrong. Keys, values and names
        are looked at first, the metal once those are right.
    BudgetError
        If the case is larger than the limits allow.

    Examples
    --------
    >>> case = load_case("driven-rod")
    >>> case.soil.resistivity
    (120.0,)
    """
    file = case_file(path)
    size = file.stat().st_size
    if size > LARGEST_FILE:
        msg = (
            f"{size:,} bytes; a case file has at most {LARGEST_FILE:,}: "
            "put long lists of rods or conductors into a table (CSV)"
        )
        raise BudgetError([Problem(msg, file=file.name)])
    content = file.read_bytes()
    text = decoded(content, file=file.name)
    document = read_document(text, file=file.name)
    source = Source(file.name, text, hashlib.sha256(content).hexdigest())
    return with_options_checked(built(document, source=source, folder=file.parent))


def case_file(path: str | os.PathLike[str]) -> Path:
    """A case file, or that of a shipped case where no file has that name.

    `CaseError` if there is neither.
    """
    file = Path(path)
    if not file.is_file() and str(path) in (*shipped_cases(), *lesson_cases()):
        file = shipped_case_path(str(path))
    if not file.is_file():
        listed = ", ".join(shipped_cases())
        what = "that is a folder" if file.is_dir() else f"no file '{path}' here"
        msg = f"no case file {str(file)!r}: {what}; give one (YAML) or a shipped case: {listed}"
        raise CaseError([Problem(msg)])
    return file


def case_of(given: object) -> Case:
    """A case as it is, or that of a file or the name of a shipped one.

    `CaseError` as `load_case`, or if it is something else.
    """
    if isinstance(given, Case):
        return given
    if isinstance(given, str | os.PathLike):
        return load_case(given)
    msg = f"{type(given).__name__} is no case; give what load_case gave, or the path of a file"
    raise CaseError(msg)


def load_case_text(text: str, *, folder: str | os.PathLike[str] | None = None) -> Case:
    """Case of the text of a case file.

    Parameters
    ----------
    text : str
        What would stand in the file.
    folder : str, path-like or None
        Folder for its tables; without one, tables are refused.

    Raises
    ------
    CaseError
        As `load_case`.
    """
    document = read_document(text, file="text")
    return case_of_document(document, text=text, folder=folder)


def case_from(
    content: dict[str, object], *, folder: str | os.PathLike[str] | None = None
) -> Case:
    """Case of values built in Python, with the keys and units of a case file.

    Parameters
    ----------
    content : dict
        Keys and values as a case file has them; quantities are text with a unit.
    folder : str, path-like or None
        Folder for its tables; without one, tables are refused.

    Raises
    ------
    CaseError
        As `load_case`, without line numbers.

    Examples
    --------
    >>> rod = {"kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "3 m",
    ...        "diameter": "16 mm"}
    >>> case = case_from({
    ...     "ohmscape": 1,
    ...     "title": "One rod",
    ...     "soil": {"layers": [{"resistivity": "120 ohm*m"}]},
    ...     "electrodes": [{"name": "rod", "drive": {"voltage": "1 V"}, "parts": [rod]}],
    ... })
    >>> float(case.conductors.length[0])
    3.0
    """
    document = plain_document(content)
    text = json.dumps(document.content, ensure_ascii=False, indent=1)
    return case_of_document(document, text=text, folder=folder)


def case_of_document(
    document: Document,
    *,
    text: str,
    file: str = "",
    folder: str | os.PathLike[str] | None = None,
) -> Case:
    """Case of what was read or built, and the text that says it; `CaseError` as `load_case`."""
    source = Source(file, text, hashlib.sha256(text.encode()).hexdigest())
    home = None if folder is None else Path(folder)
    return with_options_checked(built(document, source=source, folder=home))
