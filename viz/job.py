"""What the work is filed under, in words."""

from collections.abc import Sequence


def job_rows(job: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """What the work is filed under, with what each text is in words."""
    names = {"number": "Job number"}
    return [(names.get(key, key.replace("_", " ").capitalize()), text) for key, text in job]


def job_line(job: Sequence[tuple[str, str]]) -> str:
    """What the work is filed under in one line; empty where nothing is said of it."""
    line = "; ".join(f"{name.lower()} {text}" for name, text in job_rows(job))
    return line[:1].upper() + line[1:]
