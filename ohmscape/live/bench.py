"""What a working process does: it loads, drafts, confirms, runs and exports one case."""

import json
import os
import signal
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from time import monotonic
from typing import TYPE_CHECKING, Any

from ..solver.errors import CaseError, OhmscapeError, Problem, ResultError
from .workers import Answer, framed, unframed

if TYPE_CHECKING:
    from ..cases.case import Case
    from ..cases.reading.documents import Document
    from ..jobs.drafting import Drafter
    from ..solver.soil_survey import Sounding

Say = Callable[[Answer], None]
_between_steps = 0.2  # s, between two words on how far it is


@dataclass
class Bench:
    """One case file, its folder, and what is kept from one task to the next.

    Attributes
    ----------
    file : Path
        The case file, beside which its tables lie and results go. It is not read.
    loads : tuple of str
        Modules that it will need.
    """

    file: Path
    loads: tuple[str, ...] = ()
    _document: "tuple[str, Document] | None" = None
    _soundings: "list[Sounding]" = field(default_factory=list)
    _shown: "Case | None" = None
    _drafter: "Drafter | None" = None

    def load(self, say: Say, *, text: str, content: Any, variant: str) -> None:
        """Check a case as the loader does; say how to draw it, and what variants it has.

        Parameters
        ----------
        text : str
            As the file would have it, checked whole where `content` is None.
        content : dict or None
            What the case is ahead of its text, during a drag.
        variant : str
            Name of the variant that is shown; empty, or no longer there, for the case.
        """
        from ..viz.live.payload import case_payload

        case = self._case(text, content)
        shown = _shown_of(case, variant)
        self._shown = shown
        base = None if shown is case else case
        names = [one.variant for one in case.variants]
        say(("loaded", plain_json(case_payload(shown, base=base)), names, shown.variant))

    def draft(self, say: Say, *, moving: bool) -> None:
        """Say what thin conductors give of the case that was loaded last.

        Parameters
        ----------
        moving : bool
            Whether it is being dragged, for which fewer places do.
        """
        from ..jobs.drafting import Drafter
        from ..viz.live.payload import draft_payload

        if self._drafter is None:
            self._drafter = Drafter()
        if self._shown is not None:
            header, arrays = draft_payload(self._drafter.draft(self._shown, moving=moving))
            say(("draft", plain_json(header), arrays))

    def confirm(self, say: Say, *, text: str, variant: str) -> None:
        """Say what finite elements give, by the same job as a run."""
        from ..jobs.run import run_case
        from ..viz.live.payload import confirmed_payload

        case = self._case(text, None)
        shown = _shown_of(case, variant)
        result = run_case(shown, progress=_told(say))
        header, arrays = confirmed_payload(result)
        say(("confirmed", plain_json(header), arrays))

    def run(self, say: Say, *, text: str) -> None:
        """Solve case and variants and write what a run writes, beside the case."""
        from ..jobs.free_folder import check_free
        from ..jobs.run import run_variants
        from ..solver.progress import parts
        from ..viz.report import page_name, paper_name
        from ..viz.result_folder import result_name, save_result

        case = self._case(text, None)
        check_free(self._results, case=case)
        solving, saving = parts(_told(say), [2.0, 1.0])
        first, *others = run_variants(case, progress=solving)
        files = save_result(first, self._results, variants=others, progress=saving)
        first_to_open = (page_name, paper_name, result_name)
        self._tell_files(say, [path for path in files if path.name in first_to_open])

    def export(self, say: Say, *, text: str, kind: str) -> None:
        """Write the result of a finished run for other programs."""
        from ..viz.exports.models import export_result
        from ..viz.result_folder import load_result

        self._require_result(text)
        files = export_result(load_result(self._results), self._results, kinds=(kind,))
        self._tell_files(say, files)

    def report(self, say: Say, *, text: str) -> None:
        """Write the report of a finished run again."""
        from functools import partial

        from ..viz.report import page_name, paper_name, write_report
        from ..viz.result_folder import add_to_result, check_addition, load_results

        self._require_result(text)
        check_addition(self._results, names=(page_name, paper_name))
        results = load_results(self._results)
        writing = partial(write_report, results, progress=_told(say))
        self._tell_files(say, add_to_result(self._results, write=writing, command="report"))

    @property
    def _results(self) -> Path:
        return self.file.with_name(f"{self.file.stem}-result")

    def _require_result(self, text: str) -> None:
        from ..viz.result_folder import holds_result

        if not holds_result(self._results, text=text, page=False):
            msg = f"{self._results.name} holds no result of the case as it stands: run it first"
            raise ResultError(msg)

    def _tell_files(self, say: Say, files: Sequence[Path]) -> None:
        shown = [path for path in files if path.parent == self._results]
        say(("files", [path.relative_to(self.file.parent).as_posix() for path in shown]))

    def _case(self, text: str, content: Any) -> "Case":
        """The case, its survey fitted; `CaseError` with all that is wrong."""
        from ..cases.fitting import fit_soil
        from ..cases.loading import case_of_document
        from ..cases.reading.documents import Document
        from ..cases.reading.yaml_reader import read_document

        if self._document is None or self._document[0] != text:
            self._document = (text, read_document(text, file=self.file.name))
        document = self._document[1]
        if content is not None:
            document = Document(content, document.lines, document.file)
        case = case_of_document(
            document, text=text, file=self.file.name, folder=self.file.parent
        )
        fitted = fit_soil(case, kept=self._soundings)
        self._soundings = [
            one.survey.found
            for one in (fitted, *fitted.variants)
            if one.survey is not None and one.survey.found is not None
        ] or self._soundings
        return fitted


def plain_json(value: Any) -> str:
    """As JSON, without what is not a number."""
    return json.dumps(value, allow_nan=False, separators=(",", ":"))


def _shown_of(case: "Case", variant: str) -> "Case":
    """The variant of that name; the case as it stands where there is none."""
    return next((one for one in case.variants if one.variant == variant), case)


def _told(say: Say) -> Callable[[str, float], None]:
    """Progress that says a step or a share now and then."""
    last, name = 0.0, ""

    def progress(step: str, share: float) -> None:
        nonlocal last, name
        if step == name and monotonic() - last < _between_steps:
            return
        last, name = monotonic(), step
        say(("step", step, round(share, 3)))

    return progress


def serve() -> None:
    """Do what the standard input asks for; end with it, whatever is being done."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # so that nothing that a library prints gets between
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    bench, gentle, parent = unframed(sys.stdin.buffer)
    _end_with(parent)
    if gentle and hasattr(os, "nice"):
        os.nice(10)
    tasks: SimpleQueue[Any] = SimpleQueue()
    Thread(target=_listen, args=(tasks,), daemon=True).start()
    for name in bench.loads:
        import_module(name)

    def say(answer: Answer | None) -> None:
        try:
            out.write(framed(answer))
            out.flush()
        except OSError:
            os._exit(1)

    while True:
        task, given = tasks.get()
        failure = _failure(getattr(bench, task), say, given)
        if failure is not None:
            say(failure)
        say(None)


def _failure(work: Callable[..., None], say: Say, given: dict[str, Any]) -> Answer | None:
    """Do some work; what it failed by, if it did."""
    try:
        work(say, **given)
    except CaseError as error:
        return ("refused", list(error.problems))
    except OhmscapeError as error:
        return ("failed", [Problem(str(error))])
    except MemoryError:
        return ("failed", [Problem("out of memory; ask for a coarser mesh")])
    except Exception as error:  # a fault of ours: said, so that the page goes on
        return ("failed", [Problem(f"a fault of ohmscape: {type(error).__name__}: {error}")])
    return None


def _listen(tasks: "SimpleQueue[Any]") -> None:
    """Take in what is asked for, until the one who asks is gone."""
    try:
        while True:
            tasks.put(unframed(sys.stdin.buffer))
    finally:
        os._exit(1)


def _end_with(parent: int) -> None:
    """Have the system end this process with its parent where it can, even inside a library."""
    if sys.platform != "linux":
        return
    import ctypes

    kill_with_parent = 1  # PR_SET_PDEATHSIG
    ctypes.CDLL(None).prctl(kill_with_parent, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(1)
