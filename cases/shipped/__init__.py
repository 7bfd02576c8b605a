"""Cases that come with ohmscape, each a lesson of its own in an invented place."""

from pathlib import Path

from ...solver.errors import CaseError


def shipped_cases() -> tuple[str, ...]:
    """Names of the shipped cases, in alphabetical order."""
    return tuple(sorted(path.stem for path in Path(__file__).parent.glob("*.yaml")))


def shipped_case_path(name: str) -> Path:
    """Path of the case file of a shipped case.

    Parameters
    ----------
    name : str
        One of `shipped_cases`.

    Raises
    ------
    CaseError
        If there is no shipped case of that name.
    """
    if name not in shipped_cases():
        msg = f"no shipped case {name!r}; there are {', '.join(shipped_cases())}"
        raise CaseError(msg)
    return Path(__file__).parent / f"{name}.yaml"


def shipped_families() -> tuple[str, ...]:
    """Names of the shipped families, in alphabetical order: a template and a table each."""
    folder = Path(__file__).parent / "families"
    return tuple(sorted(path.stem for path in folder.glob("*.csv")))


def shipped_family_path(name: str, *, ending: str) -> Path:
    """Path of the template (``.yaml``) or of the table (``.csv``) of a shipped family.

    `CaseError` if there is no shipped family of that name.
    """
    if name not in shipped_families():
        msg = f"no shipped family {name!r}; there are {', '.join(shipped_families())}"
        raise CaseError(msg)
    return Path(__file__).parent / "families" / f"{name}{ending}"
