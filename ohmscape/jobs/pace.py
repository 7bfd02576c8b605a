"""How fast items of long work are done, as progress."""

from dataclasses import dataclass, field
from time import monotonic

from ..solver.progress import Progress
from ..solver.wording import plain


@dataclass
class Pace:
    """How many are done, how fast, and how long the others will take, as progress."""

    what: str
    total: int
    progress: Progress
    item: str = "row"
    done: int = 0
    began: float = field(default_factory=monotonic)

    def more(self, count: int) -> None:
        """Tell that more are done."""
        self.done += count
        rate = self.done / max(monotonic() - self.began, 1e-3)
        left = (self.total - self.done) / rate
        speed = plain(rate, figures=2)
        words = f"{self.what}: {self.item} {self.done:,} of {self.total:,}, {speed} a second"
        self.progress(f"{words}, {_time_text(left)} left", self.done / max(self.total, 1))


def _time_text(seconds: float) -> str:
    if seconds < 100:
        return f"{seconds:.0f} s"
    minutes = seconds / 60
    return f"{minutes:.0f} min" if minutes < 100 else f"{minutes / 60:.1f} h"
