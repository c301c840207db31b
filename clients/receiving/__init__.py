"""The one door in. Phone page, PDF form, pasted message, paper typed in: all end here."""

from clients.receiving.door import (
    Received,
    edit_set,
    settle,
    take_back,
    take_back_in,
    take_loose_set,
    take_session_set,
    take_set,
    values_of,
)
from clients.receiving.notes import NoteReceived, take_bodyweight, take_note
from clients.receiving.pain import answer_pain, take_pain
from clients.receiving.values import Arrival, PartValues, SetValues

__all__ = [
    "Arrival",
    "NoteReceived",
    "PartValues",
    "Received",
    "SetValues",
    "answer_pain",
    "edit_set",
    "settle",
    "take_back",
    "take_back_in",
    "take_bodyweight",
    "take_loose_set",
    "take_note",
    "take_pain",
    "take_session_set",
    "take_set",
    "values_of",
]
