"""What README.md, DEVELOPERS.md and the texts of the benchmarks name is there."""

import re
import runpy
from itertools import product
from pathlib import Path

import pytest

from ohmscape.cases.shipped import shipped_case_path
from ohmscape.command_line import main
from ohmscape.viz.guide.topics import topic

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *ROOT.glob("benchmarks/*.md")]
DOCUMENTS += [ROOT / "cases" / "README.md", ROOT / "ohmscape" / "README.md"]
# In backticks, with a slash, of what paths are made of: `solver/field/{space,linear}.py`.
PATH = re.compile(r"`(\.?[a-z_]+/[\w./{},-]*)`")


def paths(text):
    """Paths that a text names, those in braces one by one."""
    for found in PATH.findall(text):
        parts = re.split(r"\{(.*?)\}", found)  # text, choices, text, choices, … text
        choices = [part.split(",") if k % 2 else [part] for k, part in enumerate(parts)]
        yield from ("".join(chosen) for chosen in product(*choices))


@pytest.mark.parametrize(
    "document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.name}"
)
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


@pytest.mark.parametrize(
    "document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.name}"
)
def test_links_of_a_document_lead_to_what_is_there(document):
    text = document.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text)
    inside = [link for link in links if "://" not in link]
    assert [link for link in inside if not (document.parent / link).exists()] == []
    headings = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    places = {re.sub(r"[^a-z0-9 -]", "", each.lower()).replace(" ", "-") for each in headings}
    assert set(re.findall(r"\]\(#([^)]+)\)", text)) <= places


def test_the_paths_of_the_readme_are_three_commands_each_that_there_are():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| [a-z ]+ \| ((?:`ohmscape [^`]+`(?:, )?)+) \|$", text, re.MULTILINE)
    commands = [re.findall(r"`ohmscape ([^`]+)`", row) for row in rows]
    assert [len(each) for each in commands] == [3, 3, 3, 3]
    for command in (each.split() for row in commands for each in row):
        assert command[0] in main.commands, command
        if command[-2] == "--like":
            assert shipped_case_path(command[-1])
        elif command[0] == "guide":
            assert topic(command[1])
        elif command[0] != "report" and not command[1].endswith(".yaml"):
            assert shipped_case_path(command[1])


@pytest.mark.slow
def test_the_python_of_the_readme_runs(tmp_path, monkeypatch, capsys):
    text = (ROOT / "ohmscape" / "README.md").read_text(encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    blocks = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    assert len(blocks) == 2
    for number, block in enumerate(blocks):
        script = tmp_path / f"block-{number}.py"
        script.write_text(block, encoding="utf-8")
        runpy.run_path(str(script))
    assert (tmp_path / "my-result" / "result.xlsx").exists()
    assert "Ground resistance" in capsys.readouterr().out
