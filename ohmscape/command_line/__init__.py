"""The command line: check, run, live, soil, survey, sheets, compare … No physics here.

Modules load nothing but click until a command runs, so that help comes at once.
"""

import click

from .. import __version__
from .case_files import check, new, plan, schema, seasons
from .designing import curve, size
from .doubting import uncertainty
from .families import batch
from .field_sheets import sheets
from .field_work import compare, earth_test, soil, survey
from .finished import draw, export, report
from .group import Commands
from .learning import cases, guide
from .live import live
from .running import reassess, run


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="ohmscape %(version)s")
def main() -> None:
    """Find out what happens when fault current enters the earth.

    A case file describes layered soil and the electrodes in it. A run computes
    resistance to remote earth, potential rise, and maps of surface potential,
    touch and step voltage.

    Results are for a qualified engineer to check; they do not replace the code
    in force, the authority or licensed practice.

    Exit status: 0 a result that can be trusted, safe or not; 1 none; 2 bad
    input; 3 unsafe, where --fail-unsafe asks for it; 130 interrupted.
    """


for _command in (
    check, run, live, size, curve, batch, uncertainty, soil, survey, sheets, compare,
    earth_test, new, plan, reassess, draw, report, export, schema, guide, cases, seasons,
):  # fmt: skip
    main.add_command(_command)
