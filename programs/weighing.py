"""What each rule of composing weighs, in a coach's words: groups, names, what it does, and what a figure comes to.

The measure is a set that a group's week is short of: "as much as a third of a missing set".
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from programs.engine.compose.measures import QUARTERS
from programs.engine.compose.weights import GIVING_UP, MINUTES_STEP, Weights
from programs.reasons.words import number

Word = str | Promise

# Parts of a missing set that have a word, from the least.
PARTS: Final[tuple[tuple[Fraction, Word], ...]] = (
    (Fraction(1, 8), gettext_lazy("an eighth of a missing set")),
    (Fraction(1, 6), gettext_lazy("a sixth of a missing set")),
    (Fraction(1, 4), gettext_lazy("a quarter of a missing set")),
    (Fraction(1, 3), gettext_lazy("a third of a missing set")),
    (Fraction(1, 2), gettext_lazy("half a missing set")),
    (Fraction(2, 3), gettext_lazy("two thirds of a missing set")),
    (Fraction(3, 4), gettext_lazy("three quarters of a missing set")),
    (Fraction(1), gettext_lazy("a missing set")),
)
LEAST_PART: Final = Fraction(1, 12)  # less than this is next to nothing
MOST_PART: Final = Fraction(21, 20)  # up to here it is about one set


@dataclass(frozen=True, slots=True)
class Known:
    """One weight in words. ``example`` asks for %(as_much)s ("as much as a third of a missing set"), %(worth)s or
    %(points)d; ``points`` is what they tell, from the weights."""

    name: str
    label: Word
    about: Word
    example: Word
    points: Callable[[Weights], int] | None = None

    def told(self, weights: Weights) -> str:
        """What the present figure comes to: "8: a step down costs as much as a third of a missing set"."""
        value = getattr(weights, self.name)
        points = self.points(weights) if self.points else value
        if not points:
            return _("0: it does not count.")
        if self.name in GIVING_UP:
            worth, exact = minutes_worth(points, weights), True
        else:
            worth, exact = sets_worth(points, weights)
        like = _("as much as %(worth)s") if exact else _("about as much as %(worth)s")
        said = {"points": points, "worth": worth if exact else _("about %(worth)s") % {"worth": worth}}
        return f"{value}: {str(self.example) % {**said, 'as_much': like % {'worth': worth}}}"


@dataclass(frozen=True, slots=True)
class Group:
    """Weights that are read together."""

    key: str
    title: Word
    about: Word
    weights: tuple[Known, ...]


def sets_worth(points: int, weights: Weights) -> tuple[str, bool]:
    """Points as missing sets, and whether that is exact; as points where a missing set weighs nothing."""
    missing = QUARTERS * weights.under_quarter
    if not missing:
        return ngettext("%(n)d point", "%(n)d points", points) % {"n": points}, True
    share = Fraction(points, missing)
    if share < LEAST_PART:
        return _("next to nothing"), True
    if share <= MOST_PART:
        nearest, word = min(PARTS, key=lambda part: abs(part[0] - share))
        return str(word), nearest == share
    exact = (QUARTERS * share).denominator == 1
    return _("%(n)s missing sets") % {"n": number(float(share) if exact else round(float(share), 1))}, exact


def minutes_worth(points: int, weights: Weights) -> str:
    """A price as the longer sessions that are asked for as readily."""
    fives = (points - weights.more_minutes) // weights.each_five_minutes
    if fives < 1:
        return _("less than five more minutes")
    return _("%(n)d more minutes") % {"n": fives * MINUTES_STEP}


def _costs(name: str, label: Word, about: Word, example: Word = "") -> Known:
    return Known(name, label, about, example or gettext_lazy("it costs %(as_much)s."))


def _price(name: str, label: Word, about: Word) -> Known:
    return Known(name, label, about, gettext_lazy("offered as readily as %(worth)s."))


GROUPS: Final[tuple[Group, ...]] = (
    Group(
        "dose",
        gettext_lazy("Dose of the groups"),
        gettext_lazy("What it costs when a group’s week is off its range. All other figures are measured by these."),
        (
            Known(
                "under_quarter",
                gettext_lazy("A quarter of a set too few"),
                gettext_lazy("For each quarter of a set that a group’s week stays below its range."),
                gettext_lazy("a whole missing set costs %(points)d, the measure of all that follows."),
                lambda weights: QUARTERS * weights.under_quarter,
            ),
            Known(
                "far_under_quarter",
                gettext_lazy("A quarter of a set far too few"),
                gettext_lazy("On top, where a group’s week is below half of the low end of its range."),
                gettext_lazy("down there each set costs %(as_much)s higher up."),
                lambda weights: QUARTERS * (weights.under_quarter + weights.far_under_quarter),
            ),
            Known(
                "priority_factor",
                gettext_lazy("Times for a group that is to grow"),
                gettext_lazy("For a group with the priority “more” both of these count so many times."),
                gettext_lazy("its missing set costs %(as_much)s of another group."),
                lambda weights: QUARTERS * weights.under_quarter * weights.priority_factor,
            ),
            Known(
                "over_quarter",
                gettext_lazy("A quarter of a set too many"),
                gettext_lazy("For each quarter of a set that a group’s week goes beyond its range."),
                gettext_lazy("a set too many costs %(as_much)s."),
                lambda weights: QUARTERS * weights.over_quarter,
            ),
        ),
    ),
    Group(
        "slot",
        gettext_lazy("Your ranking and the slot"),
        gettext_lazy("How closely composing keeps to what the template says of a slot."),
        (
            _costs(
                "rank_step",
                gettext_lazy("A step down the ranking"),
                gettext_lazy("For each step from your first choice of a slot to the one taken."),
                gettext_lazy("one step down in your ranking costs %(as_much)s."),
            ),
            Known(
                "rank_steps",
                gettext_lazy("Steps that count"),
                gettext_lazy("Choices still further down the ranking cost no more than that."),
                gettext_lazy("the last choices of a long ranking cost %(as_much)s."),
                lambda weights: weights.rank_step * weights.rank_steps,
            ),
            _costs(
                "outside_ranking",
                gettext_lazy("Outside the ranking"),
                gettext_lazy("An exercise that the ranking of a slot does not name."),
            ),
            _costs(
                "off_pattern",
                gettext_lazy("Another pattern"),
                gettext_lazy("An exercise of none of the patterns that the slot prefers."),
            ),
            _costs(
                "stand_in",
                gettext_lazy("Another role"),
                gettext_lazy("A secondary exercise in a slot for a main lift, say, unless your ranking names it."),
            ),
            _costs(
                "off_reps",
                gettext_lazy("Other repetitions"),
                gettext_lazy("An exercise that is not done in the slot’s range of reps."),
            ),
            _costs(
                "set_away",
                gettext_lazy("A set more or fewer"),
                gettext_lazy("For each set off the middle of what the slot allows."),
                gettext_lazy("a set more or fewer costs %(as_much)s."),
            ),
        ),
    ),
    Group(
        "client",
        gettext_lazy("The client"),
        gettext_lazy("Liking, skill and joints. What is to be spared is never loaded, whatever these say."),
        (
            _costs(
                "liked",
                gettext_lazy("Liked"),
                gettext_lazy("Saved by an exercise that the client likes."),
                gettext_lazy("it makes up for %(worth)s."),
            ),
            _costs("disliked", gettext_lazy("Disliked"), gettext_lazy("An exercise that the client dislikes.")),
            _costs(
                "skill_step",
                gettext_lazy("A level of skill too high"),
                gettext_lazy("For each level above what the client’s experience brings, where you allow it at all."),
            ),
            _costs(
                "joint_stress",
                gettext_lazy("What it asks of the joints"),
                gettext_lazy("For each degree (some 1, clearly 2, much 3) that it asks of any joint."),
                gettext_lazy("each degree costs %(as_much)s."),
            ),
            _costs(
                "go_easy",
                gettext_lazy("A joint to go easy on"),
                gettext_lazy("For each degree that it asks of a joint which the client should go easy on."),
                gettext_lazy("each degree costs %(as_much)s."),
            ),
        ),
    ),
    Group(
        "block",
        gettext_lazy("The last block"),
        gettext_lazy("How willingly exercises change from one block to the next."),
        (
            _costs(
                "changed",
                gettext_lazy("Another than last time"),
                gettext_lazy("A new exercise where one of the last block would still serve."),
            ),
            _costs(
                "stalled",
                gettext_lazy("Stalled or due"),
                gettext_lazy("An exercise that brought no more progress, or is due for another."),
            ),
        ),
    ),
    Group(
        "variety",
        gettext_lazy("Variety between the days"),
        gettext_lazy(
            "What the occurrences A, B and C of a day have in common. The same exercise twice in a slot is "
            "avoided wherever another fits, whatever these say."
        ),
        (
            _costs(
                "same_implement",
                gettext_lazy("The same equipment again"),
                gettext_lazy("A slot’s exercise with the equipment of another day’s."),
            ),
            _costs(
                "same_angle",
                gettext_lazy("The same angle again"),
                gettext_lazy("A slot’s exercise with the pattern and angle of another day’s."),
            ),
            _costs(
                "elsewhere",
                gettext_lazy("Under another slot"),
                gettext_lazy("An exercise that stands under another slot on another day of the same kind."),
            ),
        ),
    ),
    Group(
        "session",
        gettext_lazy("Within a session"),
        gettext_lazy("How the exercises of one session go together, in their order."),
        (
            _costs(
                "pattern_again",
                gettext_lazy("A pattern twice"),
                gettext_lazy("For each exercise that repeats a pattern of its session."),
            ),
            _costs(
                "second_main",
                gettext_lazy("A second heavy squat or hinge"),
                gettext_lazy("On top, a second main lift of the squat or of the hinge in one session."),
            ),
            _costs(
                "implement_change",
                gettext_lazy("A change of equipment"),
                gettext_lazy("From one exercise to the next."),
            ),
            _costs(
                "superset_at_one_station",
                gettext_lazy("A superset at one station"),
                gettext_lazy("Saved by neighbours of a superset that use the same equipment."),
                gettext_lazy("it makes up for %(worth)s."),
            ),
            _costs(
                "superset_clash",
                gettext_lazy("A bad superset"),
                gettext_lazy("Neighbours that tire one region, the low back or the grip, or are both main lifts."),
            ),
        ),
    ),
    Group(
        "week",
        gettext_lazy("The week as a whole"),
        gettext_lazy("What a week should hold besides its doses."),
        (
            _costs(
                "kind_missing",
                gettext_lazy("A kind of movement missing"),
                gettext_lazy("For each of the eight kinds, from the squat to the trunk, that the week does not hold."),
            ),
            _costs(
                "never_stretched",
                gettext_lazy("Never loaded while long"),
                gettext_lazy("For each slot’s target that nothing in the week loads in its long position."),
            ),
            _costs(
                "out_of_balance",
                gettext_lazy("Pulls and pushes out of balance"),
                gettext_lazy("For each set of pulls too few or too many beside the pushes."),
                gettext_lazy("a set off balance costs %(as_much)s."),
            ),
        ),
    ),
    Group(
        "change",
        gettext_lazy("Around a change of yours"),
        gettext_lazy("You swap one exercise; its session and the slot’s other days are set right around it."),
        (
            _costs(
                "stay",
                gettext_lazy("Leave the others where they are"),
                gettext_lazy("Another exercise moves only if that saves more than this."),
                gettext_lazy("it has to save more than %(worth)s."),
            ),
        ),
    ),
    Group(
        "giving_up",
        gettext_lazy("What to give up"),
        gettext_lazy(
            "Where no week can be filled, the cheapest ways out are offered first. These figures are compared "
            "with each other alone."
        ),
        (
            Known(
                "more_minutes",
                gettext_lazy("Longer sessions at all"),
                gettext_lazy("Before a single minute is counted."),
                gettext_lazy("the first five minutes more cost %(points)d."),
                lambda weights: weights.more_minutes + weights.each_five_minutes,
            ),
            Known(
                "each_five_minutes",
                gettext_lazy("Each five minutes more"),
                gettext_lazy("On top."),
                gettext_lazy("a quarter of an hour more costs %(points)d."),
                lambda weights: weights.more_minutes + 3 * weights.each_five_minutes,
            ),
            _price("release_pin", gettext_lazy("Release a pin"), gettext_lazy("Let an exercise go that you pinned.")),
            _price(
                "raise_ceiling",
                gettext_lazy("More of a group in a session"),
                gettext_lazy("Go beyond what one session should hold of it."),
            ),
            _price(
                "allow_exercise",
                gettext_lazy("Allow an exercise"),
                gettext_lazy("Take one that was to be left out for the client."),
            ),
            _price("add_station", gettext_lazy("More equipment"), gettext_lazy("Equipment that the place has not.")),
            _price("allow_skill", gettext_lazy("More skill"), gettext_lazy("A level of skill that is not allowed.")),
            _price(
                "load_spared_joint",
                gettext_lazy("Load a spared joint"),
                gettext_lazy("Always offered last and only with a tick, whatever this says."),
            ),
            _price(
                "leave_out_main",
                gettext_lazy("Leave out a main lift"),
                gettext_lazy("Give up the slot on that day."),
            ),
            _price(
                "leave_out_secondary",
                gettext_lazy("Leave out a secondary exercise"),
                gettext_lazy("Give up the slot on that day."),
            ),
            _price(
                "leave_out_other",
                gettext_lazy("Leave out another slot"),
                gettext_lazy("Isolation, trunk or carries."),
            ),
        ),
    ),
)
KNOWN: Final[Mapping[str, Known]] = {known.name: known for group in GROUPS for known in group.weights}


def named(name: str) -> Any:
    """What a weight is called."""
    return KNOWN[name].label
