"""What a report says of its case when there is no result: title, file, hash, versions."""

from .. import __version__
from ..cases.case import Case
from ..solver.results.versions import versions
from ..viz.report.contents import CaseOrigin


def case_origin(case: Case) -> CaseOrigin:
    """Origin of a report on a case."""
    source = case.source
    return CaseOrigin(
        title=case.title,
        units=case.units,
        case_file=source.file,
        case_text=source.text,
        case_hash=source.sha256,
        tables=source.tables,
        versions=versions(__version__),
        job=case.job,
    )
