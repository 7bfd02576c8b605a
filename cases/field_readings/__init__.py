"""Readings taken in the field, which the model is held against."""
