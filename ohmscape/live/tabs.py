"""What the tabs of a browser are told: the newest of each kind, however slowly they listen."""

import asyncio
import json
from collections.abc import Mapping
from itertools import count
from typing import Any

_most_waiting = 200  # messages to a tab that does not listen; older ones are dropped


def message(
    say: str, *, more: str = "", parts: Mapping[str, str] | None = None, **values: Any
) -> str:
    """A message as JSON, with more that is JSON already: of a mapping, and parts by name.

    Examples
    --------
    >>> message("draft", more='{"ohms": 3.5}', parts={"arrays": "[]"}, number=7)
    '{"say": "draft", "number": 7, "ohms": 3.5, "arrays": []}'
    """
    text = json.dumps({"say": say, **values}, allow_nan=False)[1:-1]
    inside = [f'"{key}": {value}' for key, value in (parts or {}).items()]
    return "{" + ", ".join(filter(None, [text, more[1:-1], *inside])) + "}"


class Tab:
    """What waits to be sent to one tab."""

    def __init__(self) -> None:
        self._waiting: dict[object, tuple[str, bytes | None]] = {}
        self._woken = asyncio.Event()
        self._numbers = count()

    def tell(self, text: str, arrays: bytes | None = None, *, newest: str = "") -> None:
        """Have a message sent, with arrays behind it.

        Parameters
        ----------
        newest : str
            Kind of which only the newest message is worth sending; empty for each of them.
        """
        key = newest or next(self._numbers)
        self._waiting.pop(key, None)  # it goes to the end, behind what it follows from
        self._waiting[key] = (text, arrays)
        if len(self._waiting) > _most_waiting:
            del self._waiting[next(iter(self._waiting))]
        self._woken.set()

    async def next(self) -> tuple[str, bytes | None]:
        """The message that has waited longest."""
        while not self._waiting:
            self._woken.clear()
            await self._woken.wait()
        return self._waiting.pop(next(iter(self._waiting)))

    @property
    def idle(self) -> bool:
        """Whether nothing waits."""
        return not self._waiting


class Tabs:
    """All tabs, and what one that is opened later has to know."""

    def __init__(self) -> None:
        self._tabs: set[Tab] = set()
        self._shown: dict[str, tuple[str, bytes | None]] = {}

    def __len__(self) -> int:
        return len(self._tabs)

    def open(self) -> Tab:
        """A new tab, told what is shown."""
        tab = Tab()
        for kind, (text, arrays) in self._shown.items():
            tab.tell(text, arrays, newest=kind)
        self._tabs.add(tab)
        return tab

    def close(self, tab: Tab) -> None:
        """A tab is gone."""
        self._tabs.discard(tab)

    def show(self, kind: str, text: str, arrays: bytes | None = None) -> None:
        """Tell all tabs, and those opened later, in place of what was said of this kind."""
        self._shown.pop(kind, None)
        self._shown[kind] = (text, arrays)
        for tab in self._tabs:
            tab.tell(text, arrays, newest=kind)

    def forget(self, *kinds: str) -> None:
        """Tell tabs opened later nothing of these kinds."""
        for kind in kinds:
            self._shown.pop(kind, None)

    def tell(self, text: str) -> None:
        """Tell the tabs that are open now."""
        for tab in self._tabs:
            tab.tell(text)

    async def told(self, *, within: float) -> None:
        """Wait until all that waits is sent, some seconds at most."""
        for _ in range(round(within / 0.02)):
            if all(tab.idle for tab in self._tabs):
                return
            await asyncio.sleep(0.02)
