"""What a report says of its case when there is no result: title, file, hash, versions."""

from dataclasses import dataclass, field

from ..cases.case import Case
from .evaluating import versions


@dataclass(frozen=True)
class CaseOrigin:
    """Case and versions behind a report; see `viz.report.contents.Origin`.

    Attributes
    ----------
    title, units, case_file, case_text, case_hash : str
        As in a result.
    tables : tuple of tuple of str
        Name and SHA-256 of each table the case refers to.
    versions : dict of str to str
        Of Python, ohmscape and its libraries.
    job : tuple of (str, str)
        As in a result.
    """

    title: str
    units: str
    case_file: str
    case_text: str
    case_hash: str
    tables: tuple[tuple[str, str], ...]
    versions: dict[str, str] = field(default_factory=versions)
    job: tuple[tuple[str, str], ...] = ()

    @classmethod
    def of(cls, case: Case) -> "CaseOrigin":
        """Origin of a report on a case."""
        source = case.source
        return cls(
            case.title,
            case.units,
            source.file,
            source.text,
            source.sha256,
            source.tables,
            job=case.job,
        )
