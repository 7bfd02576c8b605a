"""Examples in the docstrings of the formulas that stand beside the tests."""

import doctest
import importlib
import pkgutil

import pytest
import reference_formulas

NAMES = [found.name for found in pkgutil.iter_modules(reference_formulas.__path__)]


@pytest.mark.parametrize("name", NAMES)
def test_examples_in_docstrings_hold(name):
    module = importlib.import_module(f"reference_formulas.{name}")
    assert doctest.testmod(module).failed == 0
