"""Families of cases: words, tables and sites."""
