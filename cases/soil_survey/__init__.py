"""Soil: layers as given, or a survey with its readings and the layers fitted to it."""
