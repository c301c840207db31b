"""An exercise's start and end as a drawing that templates can show as it is."""

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from programs.drawings.figures import figure, keys, pictures
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


def drawn_title(key: str, name: str) -> str:
    """What a drawing of the exercise ``name`` shows, for where no words stand beside it."""
    if key in keys() and pictures(key) == 1:
        return _("%(exercise)s: the position that is held") % {"exercise": name}
    return _("%(exercise)s: start and end") % {"exercise": name}
