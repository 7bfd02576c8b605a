"""A contact resistance where voltages differ along the metal behind it.

With metal at one potential a contact resistance r is one number in series with all of an
electrode (`solver.contact`). Where voltages differ along the metal it has to be somewhere: each
length of it, which leaks the share s of the current at one potential, has r/s in series. So the
conductances of all make up 1/r, and metal without impedance is what it was behind r.
"""

from ..errors import TrustError
from ..model import Floats


def in_series(resistance: float, *, share: Floats) -> Floats:
    """What stands in series with each length of metal, by its share of the current. [Ω]

    Raises
    ------
    TrustError
        If some of the metal draws current while all of it is driven.
    """
    if resistance > 0 and not share.min() > 0:
        msg = (
            "some metal of an electrode with a contact resistance draws current while all of "
            "it is driven; give its parts a film (contact_resistivity) in place of that"
        )
        raise TrustError(msg)
    return resistance / share
