"""From the document of a case to a case in SI units, with its variants; nothing is solved."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from ..solver.drives import Drive
from ..solver.errors import BudgetError, CaseError, Problem
from ..solver.field_readings import Measured
from ..solver.ground_picture import GroundPicture
from ..solver.heating import HeatingPlan
from ..solver.model import Conductors, Soil
from ..solver.protection import Device
from ..solver.verdict import Safety
from . import schema
from .along_metal.refusing import refuse_apart, refuse_beside
from .along_metal.wiring import Metalwork, wiring_of
from .among_bodies import refuse_among_bodies
from .anisotropic import refuse_without_twin
from .beside_plates import refuse_beside_plates
from .case import Bond, Case, Source
from .changes import CHANGEABLE, SWITCHES, Variant
from .circuit.operating import require_operable
from .combining import joined_names, problems_of_combinations, variant_documents
from .design.reading import price_list, space_of
from .design.space import DesignSpace
from .differences import VariantDocument
from .earth_tests.plans import earth_tests_of
from .electrodes.assembly import Metal, assemble
from .electrodes.feeding import feeds_of
from .electrodes.fences import film_of
from .field_readings.measured import measured_of
from .heating.planning import heating_plan
from .plans import Plan, plan_of
from .pricing import with_prices
from .protection.devices import devices_of, measurable
from .reading.documents import Document
from .reading.problems import in_order, problems_of
from .reading.size_limits import MOST_CONDITIONS
from .references import part_names, problems_of_names
from .safety.feet import with_feet
from .safety.safety import safety_of
from .schema import CaseFile
from .soil_survey.planning import survey_plan_of
from .soil_survey.soil import soil_of
from .soil_survey.surveyed import SurveyedSoil, longest_extent
from .study.study import Study
from .study.studying import numerics_of, study_of
from .uncertainty.reading import uncertainty_of


def built(document: Document, *, source: Source, folder: Path | None) -> Case:
    """Case of a document, checked, with its variants; without a folder, tables are refused.

    `CaseError` if anything is wrong: keys, values and names are looked at first, in the case
    and in its variants; the metal once those are right. `BudgetError` if it is too large.
    """
    plan = plan_of(document, folder=folder)
    written, document = document, plan.document
    given, variants = _validated(document)
    case, metal = _built(given, document=document, source=source, folder=folder, plan=plan)
    problems: list[Problem] = []
    if case.circuit is not None:
        problems += _refused(case, document=document, path=("circuit",))
    others: list[Case] = []
    broken: set[int] = set()
    for changed, item in variants:
        if broken & set(item.numbers):
            continue  # what is wrong with one is said once
        same = item.content["electrodes"] is document.content["electrodes"]
        try:
            variant, _ = _built(
                changed,
                document=item,
                source=source,
                folder=folder,
                plan=plan,
                metal=metal if same else None,
            )
        except CaseError as error:
            problems += error.problems
            broken |= set(item.numbers)
            continue
        laid = [given.variants[number] for number in item.numbers]
        name = joined_names([one.name for one in laid])
        changes = tuple(change for one in laid for change in _changes(one))
        others.append(replace(variant, variant=name, changes=changes))
        problems += _refused(variant, document=document, path=("variants", item.numbers[0]))
    if problems:
        raise CaseError(problems)
    # Its document is as it was written: that is what is edited and laid over.
    case = replace(case, variants=tuple(others), document=written)
    if given.prices is not None:
        numbers = [item.numbers for _, item in variants]
        case = with_prices(case, given, numbers=numbers, document=document)
    return with_feet(_with_one_survey(case))


def _with_one_survey(case: Case) -> Case:
    """The case in which variants of the same survey share it, held against all their metal."""
    if case.survey is None:
        return case
    survey_block = case.document.content["soil"]["survey"]
    shares = [
        item.document.content["soil"].get("survey") is survey_block for item in case.variants
    ]
    every = [case, *(item for item, same in zip(case.variants, shares, strict=True) if same)]
    diagonal = max(longest_extent(item.conductors) for item in every)
    survey = replace(case.survey, electrode_diagonal=diagonal)
    variants = [
        replace(item, survey=replace(item.survey, electrode_diagonal=diagonal))
        if same and item.survey is not None
        else item
        for item, same in zip(case.variants, shares, strict=True)
    ]
    return replace(case, survey=survey, variants=tuple(variants))


def _validated(document: Document) -> tuple[CaseFile, list[tuple[CaseFile, VariantDocument]]]:
    """The blocks of a case and of its variants, or all that is wrong with them."""
    given, problems = _blocks(document)
    known = {(problem.message, problem.path) for problem in problems}
    problems += problems_of_combinations(document)
    variants: list[tuple[CaseFile, VariantDocument]] = []
    said: dict[int, set[tuple[str, str]]] = {}  # by the number of the variant
    documents = variant_documents(document)
    if len(documents) >= MOST_CONDITIONS:
        msg = f"with 'also_in' they make {len(documents)}; {MOST_CONDITIONS - 1} are allowed"
        raise BudgetError([document.problem(msg, path=("variants",))])
    for item in documents:
        block, found = _blocks(item, taken_from=document)
        new = [(one.message.removeprefix(item.prefix), one.path) for one in found]
        # What is wrong with the case itself is said once, and what is with a variant too.
        before = known.union(*(said.get(number, ()) for number in item.numbers))
        said.setdefault(item.numbers[0], set()).update(new)
        problems += [one for one in item.problems if one not in problems]
        problems += [one for one, key in zip(found, new, strict=True) if key not in before]
        if block is not None:
            variants.append((block, item))
    if problems or given is None:
        raise CaseError(in_order(problems))
    return given, variants


def _blocks(
    document: Document, *, taken_from: Document | None = None
) -> tuple[CaseFile | None, list[Problem]]:
    problems = problems_of_names(document, taken_from=taken_from)
    try:
        return CaseFile.model_validate(document.content), problems
    except ValidationError as error:
        return None, problems + problems_of(error, document=document)


def _refused(case: Case, *, document: Document, path: tuple[str | int, ...]) -> list[Problem]:
    """Why a case cannot operate: drives and bonds that contradict, a circuit that is idle."""
    try:
        require_operable(case)
    except CaseError as error:
        return [document.problem(str(error), path=path)]
    return []


def _changes(given: Variant) -> tuple[str, ...]:
    """What sets a variant apart, in the words of the case file."""
    blocks = [key for key in CHANGEABLE if getattr(given, key)]
    return (
        *blocks,
        *(f"{key} {name}" for key in SWITCHES for name in getattr(given, key)),
    )


def _built(
    given: CaseFile,
    *,
    document: Document,
    source: Source,
    folder: Path | None,
    plan: Plan,
    metal: Metal | None = None,
) -> tuple[Case, Metal]:
    """A case without its variants, and its metal, which may be that of another."""
    if metal is None:
        metal = assemble(
            [(electrode.name, electrode.parts) for electrode in given.electrodes],
            names=part_names(document),
            document=document,
            folder=folder,
            drawn=None if plan.drawing is None else plan.drawing.parts,
        )
    conductors = metal.conductors
    layers, survey = soil_of(
        given.soil, conductors=conductors, document=document, folder=folder
    )
    drives = tuple(_drive(electrode.drive) for electrode in given.electrodes)
    study = study_of(
        given.study,
        conductors=conductors,
        outlines=metal.outlines,
        fences=metal.fences,
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
        layers=layers,
        conductors=conductors,
        drives=drives,
        contact_resistance=_contacts(given, document=document),
        bonds=_bonds(given.bonds, names=conductors.group_names),
        parts=metal.parts,
        joints=metal.joints,
        study=study,
        numerics=numerics_of(given.numerics, conductors=conductors, document=document),
        source=_with_tables(source, metal, survey, measured, plan),
        document=document,
        survey=survey,
        safety=_safety(
            given, study=study, soil=layers, conductors=conductors, document=document
        ),
        circuit=None if given.circuit is None else given.circuit.circuit,
        protection=_protection(given, names=conductors.group_names, document=document),
        heating=_heating(given, metal=metal, document=document),
        distances=None if given.distances is None else given.distances.plan,
        earth_tests=earth_tests_of(given.earth_tests, conductors=conductors, document=document),
        survey_plan=survey_plan_of(given.survey_plan, document=document),
        measured=measured,
        design=_design(given, document=document, folder=folder),
        uncertainty=None
        if given.uncertainty is None
        else uncertainty_of(
            given.uncertainty, surveyed=survey is not None, document=document, folder=folder
        ),
        north=given.north if plan.site is None else plan.site.north,
        drawing=None if plan.drawing is None else plan.drawing.plan(metal.drawn),
        site=plan.site,
        ground_picture=_ground_picture(plan, study, conductors, document=document),
        job=() if given.job is None else given.job.lines,
        system=None if given.system is None else given.system.system,
        feeds=feeds_of(
            [electrode.fed_at for electrode in given.electrodes],
            conductors=conductors,
            document=document,
        ),
        own_materials=()
        if given.heating is None
        else tuple(item.material for item in given.heating.materials),
    )
    refuse_beside_plates(case, document=document)
    case = _with_wiring(case, given, document=document)
    refuse_among_bodies(case, part_paths=list(part_names(document)), document=document)
    refuse_without_twin(case, part_paths=list(part_names(document)), document=document)
    return case, metal


def _ground_picture(
    plan: Plan, study: Study, conductors: Conductors, *, document: Document
) -> GroundPicture | None:
    """Picture of the ground in the rectangle that is mapped."""
    if plan.picture is None:
        return None
    low, size = study.area.corner, study.area.size
    high = (low[0] + size[0], low[1] + size[1])
    try:
        return plan.picture.under(low, high, conductors=conductors)
    except CaseError as error:
        found = document.problem(str(error), path=("ground_picture", "file"))
        raise CaseError([found]) from error


def _with_wiring(case: Case, given: CaseFile, *, document: Document) -> Case:
    """The case with the wiring of its metal, where the voltage along it is worked out."""
    if given.along_metal is None:
        if case.circuit is not None and case.circuit.leads_divide:
            msg = "no lead of along_metal is there to divide the current; leave it out"
            raise CaseError([document.problem(msg, path=("circuit", "leads_divide"))])
        refuse_apart(case.parts, part_paths=list(part_names(document)), document=document)
        return case
    refuse_beside(case, document=document)
    frequency = None if case.system is None else case.system.frequency
    wiring, places = wiring_of(
        given.along_metal,
        metalwork=Metalwork(
            conductors=case.conductors,
            parts=case.parts,
            own_materials=case.own_materials,
            feeds=case.feeds,
            drives=case.drives,
            bonds=case.bonds,
            circuit=case.circuit,
            frequency=frequency if case.circuit is None else case.circuit.frequency,
            contact=case.contact_resistance,
        ),
        part_paths=list(part_names(document)),
        document=document,
    )
    return replace(case, wiring=wiring, places=places)


def _drive(given: schema.Drive) -> Drive:
    if given.voltage is not None:
        return Drive("voltage", given.voltage)
    if given.current is not None:
        return Drive("current", given.current)
    return Drive("floating" if given.circuit is None else "circuit")


def _contacts(given: CaseFile, *, document: Document) -> tuple[float, ...]:
    """Contact resistance of each electrode; `CaseError` where a part of it has a film too."""
    problems = [
        document.problem(
            "stands beside a film (contact_resistivity) on a part of the electrode: both are "
            "its contact; keep one of them",
            path=("electrodes", number, "contact_resistance"),
        )
        for number, electrode in enumerate(given.electrodes)
        if electrode.contact_resistance > 0
        and any(film_of(part) > 0 for part in electrode.parts)
    ]
    if problems:
        raise CaseError(problems)
    return tuple(electrode.contact_resistance for electrode in given.electrodes)


def _bonds(given: Sequence[schema.Bond], *, names: tuple[str, ...]) -> tuple[Bond, ...]:
    return tuple(
        Bond(
            bond.name, (names.index(bond.between[0]), names.index(bond.between[1])), bond.closed
        )
        for bond in given
    )


def _design(given: CaseFile, *, document: Document, folder: Path | None) -> DesignSpace | None:
    if given.design is None:
        return None
    prices = None if given.prices is None else price_list(given.prices)
    return space_of(given.design, prices=prices, document=document, folder=folder)


def _safety(
    given: CaseFile,
    *,
    study: Study,
    soil: Soil | None,
    conductors: Conductors,
    document: Document,
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
    seen = _measurable(given, names)
    return devices_of(given.protection, measurable=seen, document=document)


def _measurable(given: CaseFile, names: tuple[str, ...]) -> tuple[str, ...]:
    circuit = None if given.circuit is None else given.circuit.circuit
    return measurable(circuit, electrodes=names)


def _heating(given: CaseFile, *, metal: Metal, document: Document) -> HeatingPlan | None:
    if given.heating is None:
        return None
    return heating_plan(
        given.heating,
        parts=metal.parts,
        part_paths=list(part_names(document)),
        measurable=_measurable(given, metal.conductors.group_names),
        lasts=given.safety is not None or given.protection is not None,
        document=document,
    )


def _with_tables(
    source: Source,
    metal: Metal,
    survey: SurveyedSoil | None,
    measured: Measured | None,
    plan: Plan,
) -> Source:
    tables = [(table.file, table.sha256) for table in metal.tables]
    if survey is not None and survey.readings.file:
        tables.append((survey.readings.file, survey.readings.sha256))
    tables += measured.tables if measured is not None else ()
    tables += plan.tables
    return Source(source.file, source.text, source.sha256, tuple(tables))
