"""Changing the library and the templates: one function a verb."""
