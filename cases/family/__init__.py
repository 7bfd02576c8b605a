"""Families of cases: one case as template, and a table of what differs, a row for each."""
