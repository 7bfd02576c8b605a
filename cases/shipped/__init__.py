"""Cases that come with ohmscape, each a lesson of its own in an invented place."""

from itertools import takewhile
from pathlib import Path

from ...solver.errors import CaseError

_folder = Path(__file__).parent


def shipped_cases() -> tuple[str, ...]:
    """Names of the shipped cases, in alphabetical order."""
    return _names("*.yaml")


def lesson_cases() -> tuple[str, ...]:
    """Names of the small cases that only lessons of the guide use, in alphabetical order."""
    return _names("lessons/*.yaml")


def shipped_case_path(name: str) -> Path:
    """Path of the case file of a shipped case, or of one of a lesson.

    Parameters
    ----------
    name : str
        One of `shipped_cases` or `lesson_cases`.

    Raises
    ------
    CaseError
        If there is no shipped case of that name.
    """
    if name in lesson_cases():
        return _folder / "lessons" / f"{name}.yaml"
    if name not in shipped_cases():
        msg = f"no shipped case {name!r}; there are {', '.join(shipped_cases())}"
        raise CaseError(msg)
    return _folder / f"{name}.yaml"


def shipped_families() -> tuple[str, ...]:
    """Names of the shipped families, in alphabetical order: a template and a table each."""
    return _names("families/*.csv")


def shipped_family_path(name: str, *, ending: str) -> Path:
    """Path of the template (``.yaml``) or of the table (``.csv``) of a shipped family.

    `CaseError` if there is no shipped family of that name.
    """
    if name not in shipped_families():
        msg = f"no shipped family {name!r}; there are {', '.join(shipped_families())}"
        raise CaseError(msg)
    return _folder / "families" / f"{name}{ending}"


def first_words(file: Path) -> str:
    """What a case is about: the first paragraph of the comment on top of its file."""
    with file.open(encoding="utf-8") as lines:
        comment = takewhile(lambda line: line.startswith("#"), lines)
        words = [line.lstrip("#").strip() for line in comment]
    return " ".join(takewhile(bool, words))


def _names(pattern: str) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in _folder.glob(pattern)))
