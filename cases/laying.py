"""A design as a document like any other: the options chosen, laid over the case one by one."""

from dataclasses import dataclass, field

from ..solver.errors import Problem
from .changes import NOT_TAKEN
from .design.space import DesignSpace, Partly
from .differences import Path, VariantDocument, laid_over, with_value
from .reading.documents import Document


@dataclass(frozen=True)
class DesignDocument(Document):
    """Content of a case as one of its designs has it; variants are laid over it as ever."""

    # The document of the case, in which everything was written
    case: Document = field(default_factory=lambda: Document({}))
    steps: tuple[VariantDocument, ...] = ()  # the case with one option more each
    words: str = ""  # which design it is

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is to be taken away or switched by options and is not there."""
        return tuple(problem for step in self.steps for problem in step.problems)

    def problem(self, message: str, *, path: Path = ()) -> Problem:
        """Problem at a path, said where that was written: in an option or in the case."""
        origin = self.origin(path)
        if origin[:1] != ("design",):
            message = f"in the design '{self.words}': {message}"
        return self.case.problem(message, path=origin)

    def place(self, path: Path) -> str:
        """Path as the user reads it, where it was written."""
        return self.case.place(self.origin(path))

    def origin(self, path: Path) -> Path:
        """Path in the document of the case of what a path leads to."""
        for step in reversed(self.steps):
            path = step.origin(path)
        return path


def design_document(
    document: Document, *, space: DesignSpace, chosen: Partly
) -> DesignDocument:
    """The case as one of its designs has it, valid or not, without its design block."""
    steps: list[VariantDocument] = []
    here = document
    for choice, option in zip(space.choices, chosen, strict=True):
        if option is None:
            continue
        path = choice.origin(option)
        if choice.target is None:
            change = document.content["design"]["choices"][path[2]]["options"][option]
            step = laid_over(here, change=change, path=path)
        else:
            step = with_value(here, value=choice.values[option], at=choice.target, path=path)
        steps.append(step)
        here = step
    content = {key: item for key, item in here.content.items() if key not in NOT_TAKEN}
    return DesignDocument(
        content, document.lines, document.file, document, tuple(steps), space.words(chosen)
    )
