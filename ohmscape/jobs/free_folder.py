"""Whether a run of a case can leave its files in a folder, before it is solved."""

import hashlib
from pathlib import Path

from ..cases.case import Case
from ..viz.files.unlisted import run_names, run_names_beside
from ..viz.files.whole import check_folder
from ..viz.result_folder import result_kind, variants_name
from ..viz.wording import file_stems


def check_free(folder: str | Path, *, case: Case | None = None, pictures: bool = True) -> None:
    """Raise unless a result can go to a folder; files of others in it are left alone.

    Parameters
    ----------
    case : Case, optional
        What will be run: gives the names of the files to come.
    pictures : bool
        Whether it will be drawn.

    Raises
    ------
    ResultError
        If something is in the way.
    """
    expected = {} if case is None else _expected(case, pictures=pictures)
    check_folder(Path(folder), kind=result_kind, expected=expected)


def _expected(case: Case, *, pictures: bool) -> dict[str, str | None]:
    """Files that a run of a case will leave, with the hash of what is known of them."""
    stems = file_stems(tuple(variant.variant for variant in case.variants))
    places = ["", *(f"{variants_name}/{stem}/" for stem in stems)]
    found: dict[str, str | None] = {}
    for one, place in zip((case, *case.variants), places, strict=True):
        judged = () if one.safety is None else one.safety.exposures
        names = run_names(
            metals=[item.name for item in one.study.touchables],
            profiles=[item.name for item in one.study.profiles],
            exposures=[item.name for item in judged],
            surveyed=one.survey is not None,
            pictures=pictures,
        )
        copy = hashlib.sha256(one.source.text.encode()).hexdigest()
        found |= {place + name: None for name in names} | {f"{place}case.yaml": copy}
    options = {each.option.name for each in (case, *case.variants) if each.option}
    beside = run_names_beside(
        variants=bool(case.variants), options=len(options) > 1, pictures=pictures
    )
    return found | dict.fromkeys(beside)
