"""Evaluations kept in a file while designs are tried, so that a killed search goes on."""

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import Any

from .. import __version__
from ..cases.case import Case
from ..solver.design import Evaluation
from ..solver.errors import ResultError

kept_name = "designs-tried.json"
_every = 5.0  # between two savings [s]
_layout = 2

Key = tuple[int, ...]
Answer = tuple[Evaluation | None, str]
"""What a design reaches, or why it cannot be built or solved."""


class KeptDesigns:
    """Answers of a search, in a file that is always whole; without a folder, in memory.

    Parameters
    ----------
    folder : Path or None
        Where the file is, or is made once there is something to keep.
    case : Case
        Whose designs they are. What was kept for other text, tables, accuracy or another
        version of the program is not taken.
    accuracy : str or None
        Of the finite elements, in place of the case's own.

    Raises
    ------
    ResultError
        If the file is there and cannot be read.
    """

    def __init__(self, folder: Path | None, *, case: Case, accuracy: str | None) -> None:
        self._file = None if folder is None else folder / kept_name
        self._of = _fingerprint(case, accuracy)
        self._saved = monotonic()
        self.thin: dict[Key, Answer] = {}
        self.proofs: dict[Key, Answer] = {}
        if self._file is not None and self._file.exists():
            self._read(self._file)

    @staticmethod
    def add(known: dict[Key, Answer], key: Key, answer: Answer, *, of: Sequence[str]) -> None:
        """Add what a design reaches in one condition, of all it has, to what is known of it."""
        found, fault = answer
        before, fault_before = known.get(key, (None, ""))
        if found is None or (before is None and key in known):
            known[key] = (None, fault or fault_before)
            return
        conditions = (*(() if before is None else before.conditions), *found.conditions)
        known[key] = (replace(found, conditions=conditions).among(of, of=of), fault)

    def save(self, *, now: bool = False) -> None:
        """Write the file, if that was a while ago or it must be now."""
        if self._file is None or not (now or monotonic() - self._saved > _every):
            return
        tree = {
            "ohmscape designs": _layout,
            "of": self._of,
            "thin conductors": list(_listed(self.thin)),
            "finite elements": list(_listed(self.proofs)),
        }
        self._file.parent.mkdir(parents=True, exist_ok=True)
        draft = self._file.with_suffix(".draft")
        draft.write_text(json.dumps(tree), encoding="utf-8")
        draft.replace(self._file)
        self._saved = monotonic()

    def _read(self, file: Path) -> None:
        try:
            tree = json.loads(file.read_text(encoding="utf-8"))
            if tree["ohmscape designs"] != _layout or tree["of"] != self._of:
                return  # of another case, or by another version: tried anew
            self.thin = _answers(tree["thin conductors"])
            self.proofs = _answers(tree["finite elements"])
        except (OSError, ValueError, KeyError, TypeError) as error:
            msg = (
                f"{file} cannot be read as designs tried before: {error}; take it away to "
                "begin anew, or name another folder"
            )
            raise ResultError(msg) from error


def _fingerprint(case: Case, accuracy: str | None) -> str:
    parts = [__version__, case.source.text, accuracy or "", *sum(case.source.tables, ())]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _listed(answers: dict[Key, Answer]) -> Iterator[Any]:
    for key, (found, fault) in answers.items():
        yield [list(key), None if found is None else found.as_tree(), fault]


def _answers(listed: Any) -> dict[Key, Answer]:
    return {
        tuple(map(int, key)): (None if tree is None else Evaluation.of_tree(tree), str(fault))
        for key, tree, fault in listed
    }
