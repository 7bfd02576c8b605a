"""What README.md, DEVELOPERS.md and the texts of the benchmarks name is there."""

import re
from itertools import product
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *ROOT.glob("benchmarks/*.md")]
# In backticks, with a slash, of what paths are made of: `solver/field/{space,linear}.py`.
PATH = re.compile(r"`(\.?[a-z_]+/[\w./{},-]*)`")


def paths(text):
    """Paths that a text names, those in braces one by one."""
    for found in PATH.findall(text):
        parts = re.split(r"\{(.*?)\}", found)  # text, choices, text, choices, … text
        choices = [part.split(",") if k % 2 else [part] for k, part in enumerate(parts)]
        yield from ("".join(chosen) for chosen in product(*choices))


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_files_that_a_document_names_are_there(document):
    missing = [
        path
        for path in paths(document.read_text(encoding="utf-8"))
        if not (ROOT / path).exists()
    ]
    assert not missing, f"{document.name} names {', '.join(missing)}"


def test_paths_are_found_in_the_forms_that_documents_use():
    text = "`viz/` draws, `solver/{a,b}.py` and `.ci/run` run; `I/V` and `soil.yaml` do not"
    assert list(paths(text)) == ["viz/", "solver/a.py", "solver/b.py", ".ci/run"]
