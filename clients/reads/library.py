"""Exercises and outlines as the engine's terms: what the programs app reads, under the name used here."""

from programs.reads import day_types_of, exercise_term, library_of

__all__ = ["day_types_of", "exercise_term", "library_of"]
