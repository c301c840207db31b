"""Everything about one client as open files in one archive: tables, documents, calendar, the sheets handed out.

What is written can be read again: numbers keep the places they were typed with, texts come back as they were.
"""
