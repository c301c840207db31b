"""What is known of an exercise, and how another one differs, in words."""

from collections.abc import Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from coachdesk.practice.models import Practice
from programs import labels, load_steps
from programs.alike import Alike, Traits, alike, joints_between
from programs.finding import lacking
from programs.models import Exercise, ExerciseJoint, ExerciseRegion
from programs.placed import Placed

ALIKE_ROWS = 6
WITHOUT_STEP = ("none", "band", "numbered_setting")
WHOLE_SET = 4  # quarters
SECONDS_A_MINUTE = 60


def clock(seconds: int) -> str:
    return f"{seconds // SECONDS_A_MINUTE}:{seconds % SECONDS_A_MINUTE:02}"


def span_of(exercise: Exercise) -> str:
    if exercise.rep_low == exercise.rep_high:
        return str(exercise.rep_low)
    return f"{exercise.rep_low}–{exercise.rep_high}"


def plain(code: str) -> str:
    """An angle or a grip as one reads it: some seeded ones are codes of several words."""
    return code.replace("_", " ")


def step_of(exercise: Exercise, unit: str, *, with_unit: bool = False) -> str:
    """The usual load step as a figure in the practice's unit; "" where loads have no weight."""
    if exercise.load_entry in WITHOUT_STEP:
        return ""
    figure = number_format(f"{load_steps.shown(exercise.load_step, unit).normalize():f}")
    return f"{figure}\u00a0{unit}" if with_unit else figure


def cells_of(exercise: Exercise) -> list[dict[str, Any]]:
    """The cells of its title block."""
    cells: list[dict[str, Any]] = [
        {"label": _("Role"), "value": exercise.get_role_display()},
        {"label": _("Implement"), "value": exercise.get_implement_display()},
        {"label": _("Skill"), "value": exercise.get_skill_display()},
        {"label": capfirst(str(labels.REP_UNITS[exercise.rep_unit])), "value": span_of(exercise)},
        {"label": _("Rest"), "value": clock(exercise.rest_s)},
    ]
    if exercise.tempo:
        cells.append({"label": _("Tempo"), "value": "-".join(exercise.tempo)})
    return [{**cell, "who": False} for cell in cells]


def needs_of(exercise: Exercise) -> list[str]:
    """What must be there beside the implement; of several kinds any one."""
    kinds = [(kind,) for kind in exercise.needs_all] + [tuple(group) for group in exercise.needs_one]
    return [_any_kind(group) for group in kinds]


def lacks_of(exercise: Exercise, place: Placed) -> str:
    """What the place lacks; "" when the exercise can be done there."""
    return ", ".join(_("no %(thing)s") % {"thing": _any_kind(kinds)} for kinds in lacking(exercise, place.stations))


def _any_kind(kinds: tuple[str, ...]) -> str:
    return _(" or ").join(str(labels.STATIONS[kind]) for kind in kinds)


def alike_of(exercise: Exercise, practice: Practice) -> list[tuple[Exercise, str]]:
    """The nearest others and in words how they differ: three queries however many, none if no set counts whole.

    ``exercise`` comes ``with_facts()``.
    """
    one = traits_of(exercise)
    if not one.regions:
        return []
    sharing = ExerciseRegion.objects.filter(region__in=one.regions, quarters=WHOLE_SET).values("exercise_id")
    rows = Exercise.objects.for_practice(practice).shown().filter(pk__in=sharing).exclude(pk=exercise.pk)
    others = {row.pk: row for row in rows.with_facts()}
    nearest = alike(one, map(traits_of, others.values()), ALIKE_ROWS)
    return [(others[found.other.pk], differs_in(exercise, others[found.other.pk], found)) for found in nearest]


def traits_of(exercise: Exercise) -> Traits:
    return Traits(
        pk=exercise.pk,
        name=exercise.name,
        pattern=exercise.pattern,
        regions=frozenset(row.region for row in exercise.regions.all() if row.quarters == WHOLE_SET),
        implement=exercise.implement,
        angle=exercise.angle,
        grip=exercise.grip,
        limbs=exercise.limbs,
        skill=exercise.skill,
        joints=frozenset((row.joint, row.severity) for row in exercise.joints.all()),
        counts=exercise.rep_unit,
    )


def differs_in(exercise: Exercise, other: Exercise, found: Alike) -> str:
    """How another exercise differs; "" where nothing that is known does. Both come ``with_facts()``."""
    one, theirs = traits_of(exercise), found.other
    words = [other.get_pattern_display()] if theirs.pattern != one.pattern else []
    said = {
        "implement": other.get_implement_display(),
        "angle": _("angle: %(angle)s") % {"angle": plain(other.angle) or _("none")},
        "grip": _("grip: %(grip)s") % {"grip": plain(other.grip) or _("any")},
        "limbs": other.get_limbs_display(),
        "counts": _("in %(unit)s") % {"unit": labels.REP_UNITS[other.rep_unit]},
        "skill": _("skill: %(skill)s") % {"skill": other.get_skill_display()},
    }
    words += [said[name] for name in found.differs if name in said]
    joints = joints_between(one, theirs)
    more = {joint: both for joint, both in joints.items() if both[1] > both[0]}
    less = {joint: both for joint, both in joints.items() if both[1] < both[0]}
    for sentence, names in (
        (_("asks more of: %(names)s"), _joints(more)),
        (_("asks less of: %(names)s"), _joints(less)),
        (_("also whole for: %(names)s"), _regions(theirs.regions - one.regions)),
        (_("not whole for: %(names)s"), _regions(one.regions - theirs.regions)),
    ):
        if names:
            # Not a comma between: some of the names have one.
            words.append(sentence % {"names": _(" and ").join(names)})
    return "; ".join(map(str, words + _needs_between(exercise, other) or _finer(exercise, other)))


def _needs_between(exercise: Exercise, other: Exercise) -> list[str]:
    ours, theirs = needs_of(exercise), needs_of(other)
    more = [words for words in theirs if words not in ours]
    less = [words for words in ours if words not in theirs]
    said = []
    if more:
        said.append(_("also needs: %(things)s") % {"things": _(" and ").join(more)})
    if less:
        said.append(_("does without: %(things)s") % {"things": _(" and ").join(less)})
    return said


def _finer(exercise: Exercise, other: Exercise) -> list[str]:
    """What is left to tell two apart that need the same and are of one kind."""
    share = round(100 * other.bodyweight_fraction)
    said = {
        "load_entry": _("load: %(entry)s") % {"entry": other.get_load_entry_display()},
        "bodyweight_fraction": _("moves some %(share)d %% of bodyweight") % {"share": share},
        "tempo": _("tempo %(tempo)s") % {"tempo": "-".join(other.tempo) or _("none")},
        "rep_low": _("%(span)s %(unit)s") % {"span": span_of(other), "unit": labels.REP_UNITS[other.rep_unit]},
    }
    return [words for name, words in said.items() if getattr(exercise, name) != getattr(other, name)]


def _joints(asked: Mapping[str, tuple[int, int]]) -> list[str]:
    """Joints by name, and where both exercises ask something of one, how much this and how much that."""
    severities: dict[int, Any] = dict(ExerciseJoint._meta.get_field("severity").flatchoices)
    words = []
    for joint, (ours, theirs) in asked.items():
        name = str(labels.JOINT_TAGS[joint])
        if ours and theirs:
            facts = {"name": name, "theirs": severities[theirs], "ours": severities[ours]}
            name = _("%(name)s (%(theirs)s, not %(ours)s)") % facts
        words.append(name)
    return words


def _regions(regions: frozenset[str]) -> list[str]:
    return [str(labels.REGIONS[region]) for region in sorted(regions)]
