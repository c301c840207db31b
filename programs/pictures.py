"""An exercise's start and end as a drawing that templates can show as it is."""

from django.utils.safestring import SafeString, mark_safe

from programs.drawings.figures import figure, keys
from programs.drawings.svg import Ink

PAGE_MM_PER_UNIT = 0.5


def start_and_end(
    key: str, *, title: str = "", mm_per_unit: float = PAGE_MM_PER_UNIT, ink: Ink = Ink.PAGE
) -> SafeString:
    """The drawing of a key; nothing for an exercise without one, or for a key that is no longer on file.

    Without a title it is hidden from screen readers: the words of set-up and execution stand beside it.
    """
    if key not in keys():
        return mark_safe("")
    return mark_safe(figure(key, title=title, mm_per_unit=mm_per_unit, ink=ink))  # noqa: S308  escapes its title
