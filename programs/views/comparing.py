"""Two exercises side by side, with what differs said in words."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coachdesk.practice.access import CoachRequest, coach_required
from programs import labels
from programs.alike import compared
from programs.catalogue import catalogue_of
from programs.drawings.tally import share_bar
from programs.engine.vocabulary import JOINT_TAGS, REGIONS
from programs.library_rows import minutes_of
from programs.models import Exercise, ExerciseJoint, ExerciseText
from programs.pictures import start_and_end
from programs.placed import Placed, places_of
from programs.reads import text_in
from programs.telling import alike_of, clock, differs_in, lacks_of, needs_of, plain, span_of, step_of, traits_of
from programs.views.library import map_of

LONGEST = 80
CHOICES = 20
WHOLE_SET = 4  # quarters


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the comparison: what is compared, what each has, and whether that differs."""

    name: str
    one: str
    other: str

    @property
    def differs(self) -> bool:
        return self.one != self.other


@coach_required
@require_safe
def compare(request: CoachRequest) -> HttpResponse:
    """?a=&b=: both side by side; with one of them the choice of the other, by words (?q=) or from those like it.

    The ticked rows of the list come as ?exercise=&exercise=; only the first two are compared.
    """
    if ticked := request.GET.getlist("exercise")[:2]:
        pairs = "&".join(f"{name}={key}" for name, key in zip("ab", map(_key, ticked), strict=False))
        return redirect(f"{reverse('exercise-compare')}?{pairs}")
    keys = [_key(request.GET[name]) for name in ("a", "b") if request.GET.get(name)]
    rows = Exercise.objects.for_practice(request.user.practice).with_facts().prefetch_related("texts")
    found = {row.public_id: row for row in rows.filter(public_id__in=keys)}
    if len(found) < len(set(keys)):
        raise Http404
    chosen = [found[key] for key in dict.fromkeys(keys)]
    if len(chosen) < 2:
        return render(request, "programs/library/compare_choose.html", _choice(request, chosen))
    return render(request, "programs/library/compare.html", _comparison(request, *chosen))


def _key(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise Http404 from None


def _choice(request: CoachRequest, chosen: list[Exercise]) -> dict[str, Any]:
    """What may be compared with the chosen one, or what to begin with."""
    practice = request.user.practice
    words = request.GET.get("q", "").strip()[:LONGEST]
    offered: list[tuple[Exercise, str]] = []
    if words:
        catalogue = catalogue_of(practice)
        keys = catalogue.listed(catalogue.answering(words, catalogue.shown).sets)[: CHOICES + 1]
        rows = Exercise.objects.in_bulk(keys)
        offered = [(rows[key], rows[key].get_pattern_display()) for key in keys if rows[key] not in chosen][:CHOICES]
    elif chosen:
        offered = alike_of(chosen[0], practice)
    return {"chosen": chosen[0] if chosen else None, "words": words, "offered": offered, "searched": bool(words)}


def _comparison(request: CoachRequest, one: Exercise, other: Exercise) -> dict[str, Any]:
    practice = request.user.practice
    texts = tuple(text_in(each, practice.language) for each in (one, other))
    found = compared(traits_of(one), traits_of(other))
    places = places_of(practice)
    return {
        "one": one,
        "other": other,
        "differs": differs_in(one, other, found),
        "facts": _facts(one, other, practice.unit),
        "maps": (map_of(one), map_of(other)),
        "figures": (start_and_end(one.figure), start_and_end(other.figure)) if one.figure or other.figure else (),
        "shares": _shares(one, other),
        "joints": _joints(one, other),
        "places": [Row(place.name, _there(one, place), _there(other, place)) for place in places],
        "words": [row for row in _words(*texts) if row.one or row.other],
        "sides": [
            {"exercise": each, "text": text, "faults": text.faults if text else []}
            for each, text in zip((one, other), texts, strict=True)
        ],
        "has_faults": any(text and text.faults for text in texts),
    }


def _facts(one: Exercise, other: Exercise, unit: str) -> list[Row]:
    told: list[tuple[str, Callable[[Exercise], Any]]] = [
        (_("Pattern"), lambda each: each.get_pattern_display()),
        (_("Role"), lambda each: each.get_role_display()),
        (_("Implement"), lambda each: each.get_implement_display()),
        (_("Also needs"), lambda each: ", ".join(needs_of(each))),
        (_("Skill"), lambda each: each.get_skill_display()),
        (_("Sides"), lambda each: each.get_limbs_display()),
        (_("Angle"), lambda each: plain(each.angle)),
        (_("Grip"), lambda each: plain(each.grip)),
        (_("Range"), lambda each: f"{span_of(each)} {labels.REP_UNITS[each.rep_unit]}"),
        (_("Rest"), lambda each: clock(each.rest_s)),
        (_("Tempo"), lambda each: "-".join(each.tempo)),
        (_("Load is"), lambda each: each.get_load_entry_display()),
        (_("Usual load step"), lambda each: step_of(each, unit, with_unit=True)),
        (_("Minutes, three sets"), minutes_of),
    ]
    rows = [Row(name, str(tell(one)), str(tell(other))) for name, tell in told]
    return [row for row in rows if row.one or row.other]


def _shares(one: Exercise, other: Exercise) -> list[tuple[Row, SafeString, SafeString]]:
    """Each region that either counts for: the greatest share first."""
    both = [{row.region: row.quarters for row in each.regions.all()} for each in (one, other)]
    regions = [region for region in REGIONS if any(region in shares for shares in both)]
    regions.sort(key=lambda region: [-shares.get(region, 0) for shares in both])
    rows = []
    for region in regions:
        one_share, other_share = (shares.get(region, 0) for shares in both)
        row = Row(capfirst(str(labels.REGIONS[region])), _share(one_share), _share(other_share))
        rows.append((row, _bar(one_share), _bar(other_share)))
    return rows


def _bar(quarters: int) -> SafeString:
    return mark_safe(share_bar(quarters / WHOLE_SET, title="") if quarters else "")  # noqa: S308  numbers only


def _share(quarters: int) -> str:
    return {4: "1", 2: "½", 1: "¼"}.get(quarters, "")


def _joints(one: Exercise, other: Exercise) -> list[Row]:
    severities: dict[int, Any] = dict(ExerciseJoint._meta.get_field("severity").flatchoices)
    both = [{row.joint: row.severity for row in each.joints.all()} for each in (one, other)]
    asked = [joint for joint in JOINT_TAGS if any(joint in joints for joints in both)]
    asked.sort(key=lambda joint: -max(joints.get(joint, 0) for joints in both))
    return [
        Row(
            capfirst(str(labels.JOINT_TAGS[joint])),
            *(str(severities[joints[joint]]) if joint in joints else "" for joints in both),
        )
        for joint in asked
    ]


def _there(exercise: Exercise, place: Placed) -> str:
    return lacks_of(exercise, place) or place.offers(exercise) or _("has it")


def _words(one: ExerciseText | None, other: ExerciseText | None) -> list[Row]:
    told = (
        (_("Reason to choose it"), "reason"),
        (_("Range of motion"), "range_note"),
        (_("Cautions"), "cautions"),
        (_("Easier"), "regression"),
        (_("Harder"), "progression"),
    )
    return [Row(name, getattr(one, field, ""), getattr(other, field, "")) for name, field in told]


urlpatterns = [path("library/compare/", compare, name="exercise-compare")]
