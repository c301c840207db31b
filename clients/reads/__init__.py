"""Gathers what a page, its PDF and its benchmark need: a fixed number of queries, rows turned into engine terms."""

from clients.reads.people import client_head

__all__ = ["client_head"]
