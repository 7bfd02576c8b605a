"""Tests with an earth tester, to be predicted."""
