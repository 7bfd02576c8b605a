"""Load a case: from a file, from text, or from values built in Python."""

import hashlib
import json
import os
from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from ..solver.drives import Drive
from ..solver.errors import BudgetError, CaseError, Problem
from ..solver.model import Conductors, Soil
from ..solver.protection import Device
from ..solver.verdict import Safety
from . import schema
from .case import Bond, Case, Source
from .earth_tests.plans import earth_tests_of
from .electrodes.assembly import Metal, assemble
from .field_readings.measured import Measured, measured_of
from .protection.devices import devices_of, measurable
from .reading.documents import Document, decoded, plain_document
from .reading.problems import in_order, problems_of
from .reading.size_limits import LARGEST_FILE
from .reading.yaml_reader import read_document
from .references import problems_of_names
from .safety.safety import safety_of
from .schema import CaseFile
from .soil_survey.surveyed import SurveyedSoil, soil_of
from .study.study import Study
from .study.studying import numerics_of, study_of
from .variants import with_variants


def load_case(path: str | os.PathLike[str]) -> Case:
    """Case of a case file.

    Parameters
    ----------
    path : str or path-like
        The case file; tables it names are looked for beside it and in folders below.

    Returns
    -------
    case : Case
        The case in SI units, checked.

    Raises
    ------
    CaseError
        If anything is wrong with the file, with all that is wrong. Keys, values and names
        are looked at first, the metal once those are right.
    BudgetError
        If the case is larger than the limits allow.

    Examples
    --------
    >>> from ohmscape.cases.shipped import shipped_case_path
    >>> case = load_case(shipped_case_path("driven-rod"))
    >>> case.soil.resistivity
    (120.0,)
    """
    file = Path(path)
    if not file.is_file():
        msg = f"no case file {str(file)!r}; give the path of a YAML file"
        raise CaseError([Problem(msg)])
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
    return _case(document, source=source, folder=file.parent)


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
    source = Source("", text, hashlib.sha256(text.encode()).hexdigest())
    home = None if folder is None else Path(folder)
    return _case(read_document(text, file="text"), source=source, folder=home)


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
    source = Source("", text, hashlib.sha256(text.encode()).hexdigest())
    home = None if folder is None else Path(folder)
    return _case(document, source=source, folder=home)


def _case(document: Document, *, source: Source, folder: Path | None) -> Case:
    given = _validated(document)
    metal = assemble(given, document=document, folder=folder)
    conductors = metal.conductors
    soil, survey = soil_of(given.soil, conductors=conductors, document=document, folder=folder)
    drives = tuple(_drive(electrode.drive) for electrode in given.electrodes)
    study = study_of(
        given.study,
        conductors=conductors,
        outlines=metal.outlines,
        drives=drives,
        document=document,
    )
    measured = None
    if given.measured is not None:
        measured = measured_of(
            given.measured, conductors=conductors, document=document, folder=folder
        )
    case = Case(
        title=given.title,
        note=given.note,
        units=given.units,
        soil=soil,
        conductors=conductors,
        drives=drives,
        bonds=_bonds(given.bonds, names=conductors.group_names),
        parts=metal.parts,
        joints=metal.joints,
        study=study,
        numerics=numerics_of(given.numerics, conductors=conductors, document=document),
        source=_with_tables(source, metal, survey, measured),
        survey=survey,
        safety=_safety(given, study=study, soil=soil, conductors=conductors, document=document),
        circuit=None if given.circuit is None else given.circuit.circuit,
        protection=_protection(given, names=conductors.group_names, document=document),
        earth_tests=earth_tests_of(given.earth_tests, conductors=conductors, document=document),
        measured=measured,
        north=given.north,
        job=() if given.job is None else given.job.lines,
    )
    return with_variants(case, given.variants, document=document, folder=folder)


def _validated(document: Document) -> CaseFile:
    problems = problems_of_names(document)
    try:
        given = CaseFile.model_validate(document.content)
    except ValidationError as error:
        problems += problems_of(error, document=document)
    if problems:
        raise CaseError(in_order(problems))
    return given


def _drive(given: schema.Drive) -> Drive:
    if given.voltage is not None:
        return Drive("voltage", given.voltage)
    if given.current is not None:
        return Drive("current", given.current)
    return Drive("floating" if given.circuit is None else "circuit")


def _bonds(given: Sequence[schema.Bond], *, names: tuple[str, ...]) -> tuple[Bond, ...]:
    return tuple(
        Bond(
            bond.name, (names.index(bond.between[0]), names.index(bond.between[1])), bond.closed
        )
        for bond in given
    )


def _safety(
    given: CaseFile, *, study: Study, soil: Soil, conductors: Conductors, document: Document
) -> Safety | None:
    if given.safety is None:
        return None
    return safety_of(
        given.safety,
        conductors=conductors,
        study=study,
        soil=soil,
        protected=given.protection is not None,
        document=document,
    )


def _protection(
    given: CaseFile, *, names: tuple[str, ...], document: Document
) -> tuple[Device, ...] | None:
    if given.protection is None:
        return None
    circuit = None if given.circuit is None else given.circuit.circuit
    seen = measurable(circuit, electrodes=names)
    return devices_of(given.protection, measurable=seen, document=document)


def _with_tables(
    source: Source, metal: Metal, survey: SurveyedSoil | None, measured: Measured | None
) -> Source:
    tables = [(table.file, table.sha256) for table in metal.tables]
    if survey is not None and survey.readings.file:
        tables.append((survey.readings.file, survey.readings.sha256))
    tables += measured.tables if measured is not None else ()
    return Source(source.file, source.text, source.sha256, tuple(tables))
