"""Cases to vary: each test changes the few keys it is about."""

import pytest

from ohmscape.cases.loading import case_from

ROD = {
    "kind": "rod",
    "at": ["0 m", "0 m"],
    "top_depth": "0 m",
    "length": "3.7 m",
    "diameter": "16 mm",
}


@pytest.fixture
def rod():
    """Keys of one rod."""
    return dict(ROD)


@pytest.fixture
def content():
    """Content of a case file with these parts, else one rod, in one driven electrode."""

    def build(*parts, **blocks):
        return {
            "ohmscape": 1,
            "title": "A case under test",
            "soil": {"layers": [{"resistivity": "120 ohm*m"}]},
            "electrodes": [
                {"name": "main", "drive": {"current": "100 A"}, "parts": [*parts] or [ROD]}
            ],
            **blocks,
        }

    return build


@pytest.fixture
def case_with(content):
    """Case with these parts in one driven electrode, loaded."""

    def build(*parts, folder=None, **blocks):
        return case_from(content(*parts, **blocks), folder=folder)

    return build


@pytest.fixture
def two_electrodes():
    """Two electrodes, the first driven and the second floating, of these parts."""

    def build(first, second, *, drives=({"current": "100 A"}, {"floating": True})):
        return [
            {"name": name, "drive": drive, "parts": parts}
            for name, drive, parts in zip(
                ("station", "fence"), drives, (first, second), strict=True
            )
        ]

    return build
