"""Cases that a command cannot follow are refused before it begins."""

from ..cases.case import Case
from ..solver.errors import CaseError


def refuse_bodies(case: Case, *, what: str) -> None:
    """`CaseError` where bodies are in the soil of a fitted case or of a variant of it.

    `what` does not follow them, and why, in words.
    """
    for each in (case, *case.variants):
        if each.soil.bodies:
            names = ", ".join(repr(body.name) for body in each.soil.bodies)
            of = f" of variant {each.variant!r}" if each.variant else ""
            msg = (
                f"in the soil{of} there are bodies ({names}): {what}; leave them out for this "
                "command, or use 'run', 'batch' or 'size', which follow them by finite elements"
            )
            raise CaseError([each.document.problem(msg, path=("soil", "bodies"))])


def refuse_bedded(case: Case, *, what: str) -> None:
    """`CaseError` where a layer of a fitted case has a vertical resistivity of its own.

    `what` does not follow it, and why, in words.
    """
    for each in (case, *case.variants):
        if not each.soil.isotropic:
            number = int((each.soil.anisotropy != 1).argmax())
            of = f" of variant {each.variant!r}" if each.variant else ""
            msg = (
                f"layer {number + 1}{of} has a vertical resistivity of its own: {what}; leave "
                "it out for this command: beside metal that is deep for its width the "
                "resistivity sideways comes near, beside shallow metal the root of both "
                "multiplied"
            )
            path = ("soil", "layers", number)
            raise CaseError([each.document.problem(msg, path=path)])


def refuse_plates(case: Case, *, what: str) -> None:
    """`CaseError` where a case or a variant of it has plates.

    `what` does not know them, in words.
    """
    for each in (case, *case.variants):
        metal = each.conductors
        if metal.flat.any():
            parts = sorted(set(metal.part[metal.flat].tolist()))
            names = ", ".join(repr(metal.part_names[part]) for part in parts)
            msg = f"{what}, and there are plates ({names}); leave them out for this"
            raise CaseError([each.document.problem(msg, path=("electrodes",))])


def refuse_along_metal(case: Case, *, what: str) -> None:
    """`CaseError` where a case or a variant of it asks for voltages along its metal.

    `what` does not follow them, and why, in words.
    """
    for each in (case, *case.variants):
        if each.wiring is not None:
            of = f" variant {each.variant!r}" if each.variant else " the case"
            msg = (
                f"{of.strip()} asks for voltages along its metal: {what}; leave the block out "
                "for this, or use 'run', which solves them"
            )
            raise CaseError([each.document.problem(msg, path=("along_metal",))])
