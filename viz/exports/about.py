"""What an export is of: the same words in drawings, maps, workbooks and arrays."""

from ...solver.results.result import Result


def what_it_is(result: Result) -> tuple[str, str]:
    """The title with the variant, and the case with its hash."""
    variant = f", variant {result.variant}" if result.variant else ""
    case = result.case_file or "given in Python"
    return f"{result.title}{variant}", f"Case {case}, SHA-256 {result.case_hash}"
