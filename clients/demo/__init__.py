"""A made-up practice to look around in: eight invented clients of a strength room in a harbour town."""

from clients.demo.load import load_demo, present, remove_demo

__all__ = ["load_demo", "present", "remove_demo"]
