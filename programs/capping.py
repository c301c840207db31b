"""How far a load may change at once, in a coach's words: names, what each bound does, and what its figure comes to."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from coachdesk.practice.models import Practice
from programs.engine.progress import CAP_BOUNDS, LEVERS, Caps
from programs.reasons.words import number

Word = str | Promise
PERCENT: Final = 100
EXAMPLE_LOAD: Final = 100
TINY: Final = 1e-9  # shares that differ by no more are the same

# Another way where the load can't rise.
LEVER_WORDS: Final[Mapping[str, Word]] = {
    "more_reps": _("more reps"),
    "extra_set": _("one more set"),
    "slower_lowering": _("lower more slowly"),
    "pauses": _("add pauses"),
    "one_sided": _("one side at a time"),
}


@dataclass(frozen=True, slots=True)
class Known:
    """One bound in words; ``example`` tells what the figure comes to."""

    name: str
    label: Word
    about: Word
    example: Word

    @property
    def bounds(self) -> tuple[float, float]:
        """Per cent, from and to."""
        low, high = CAP_BOUNDS[self.name]
        return round(PERCENT * low, 1), round(PERCENT * high, 1)

    def told(self, caps: Caps, unit: str) -> str:
        """ "5 %: from 100 kg to 105 kg at most the next time." """
        share = getattr(caps, self.name)
        after = EXAMPLE_LOAD * (1 - share if self.name == "fall_most" else 1 + share)
        said = {
            "percent": number(round(PERCENT * share, 1)),
            "before": f"{EXAMPLE_LOAD}\u00a0{unit}",
            "after": f"{number(round(after, 1))}\u00a0{unit}",
        }
        return (str(self.example) % said).replace(" %", "\u00a0%")


KNOWN: Final = (
    Known(
        "rise",
        _("Usual rise"),
        _("How much more than the last time a load may be, exercise by exercise, as a matter of course."),
        _("%(percent)s %%: from %(before)s to %(after)s at most the next time."),
    ),
    Known(
        "rise_most",
        _("Widest rise"),
        _(
            "Where the next load on offer lies beyond the usual rise, as with coarse dumbbells, one step may go so far "
            "once the reps have room for it. Beyond that, reps or another way come first, and you choose."
        ),
        _("%(percent)s %%: a step from %(before)s to %(after)s is the widest there is."),
    ),
    Known(
        "rise_week",
        _("Rise in seven days"),
        _("For exercises that come more than once a week: all rises of seven days together."),
        _("%(percent)s %%: from %(before)s to %(after)s at most within a week."),
    ),
    Known(
        "fall_most",
        _("Widest fall"),
        _("How far a load falls at once after misses. Pain, illness and time away go by tables of their own."),
        _("%(percent)s %%: from %(before)s to %(after)s at the lowest."),
    ),
)
BY_NAME: Final = {known.name: known for known in KNOWN}


def own_of(caps: Caps, levers: tuple[str, ...]) -> dict[str, Any]:
    """What differs from the usual, as it is stored."""
    usual = Caps()
    own: dict[str, Any] = {
        name: getattr(caps, name) for name in CAP_BOUNDS if abs(getattr(caps, name) - getattr(usual, name)) > TINY
    }
    if levers != LEVERS:
        own["levers"] = list(levers)
    return own


# Who has to know when a practice's bounds have changed.
_followers: list[Callable[[Practice], None]] = []


def follows_caps(follower: Callable[[Practice], None]) -> Callable[[Practice], None]:
    """Registers a function(practice) that is called in the same transaction once the bounds have changed."""
    if follower not in _followers:
        _followers.append(follower)
    return follower


def changed(practice: Practice) -> None:
    for follower in _followers:
        follower(practice)
