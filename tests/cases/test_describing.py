"""cases/README.md: the part that is made from the blocks, and what stands before it."""

import re
from pathlib import Path

from click.testing import CliRunner

from ohmscape.cases.describing import described_keys
from ohmscape.cases.schema import CaseFile, case_file_schema
from ohmscape.command_line import main

README = Path(__file__).parents[2] / "cases" / "README.md"
BEGIN = "<!-- made by `ohmscape schema --words`; do not change by hand -->\n"


def test_the_page_of_keys_is_that_of_the_blocks():
    text = README.read_text(encoding="utf-8")
    _, _, made = text.partition(BEGIN)
    remedy = "python -m ohmscape schema --words >> cases/README.md, what stood there cut first"
    assert made.strip() == described_keys(), f"run {remedy}"


def test_every_key_of_every_block_is_described_once():
    schema = CaseFile.model_json_schema(mode="validation")
    text = described_keys()
    blocks = [schema, *schema["$defs"].values()]
    keys = [key for block in blocks for key in block.get("properties", {})]
    assert len(re.findall(r"^\| `[a-z0-9_]+`", text, re.MULTILINE)) == len(keys) > 300
    assert text.count("\n### ") + 1 == len(blocks)
    assert "### `electrodes[].parts[] of kind: ring`" in text
    # Nothing without words; a kind has its own in the heading.
    silent = re.findall(r"^\| `([a-z_]+)`[^|]*\|[^|]*\|  \|$", text, re.MULTILINE)
    assert set(silent) <= {"kind"}
    assert case_file_schema()["properties"].keys() == schema["properties"].keys()


def test_keys_are_printed_in_words():
    done = CliRunner().invoke(main, ["schema", "--words"])
    assert done.exit_code == 0
    assert done.output.strip() == described_keys()
