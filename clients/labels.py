"""The words for health questions, body parts and pain, and the sentences for what follows from them.

Plain and unalarming: they sort nothing out, they say what to ask whom.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from programs.engine.terms import Because

Word = str | Promise

# Asked of the client in this wording, whoever reads it out.
QUESTIONS: dict[str, Word] = {
    "active": _("In the last three months, did you move for half an hour or more on at least three days a week?"),
    "heart_or_vessel_disease": _("Do you have a disease of the heart or blood vessels, or have you had a stroke?"),
    "diabetes_or_metabolic_disease": _("Do you have diabetes or another disease of the metabolism?"),
    "kidney_disease": _("Do you have a kidney disease?"),
    "chest_discomfort_with_effort": _(
        "Do you feel pressure or pain in the chest, neck, jaw or arm when you exert yourself?"
    ),
    "breathless_at_rest_or_lying": _("Are you short of breath at rest, with light tasks, or when you lie flat?"),
    "dizzy_or_fainting": _("Have you been dizzy or fainted, apart from standing up too fast?"),
    "ankle_swelling": _("Do your ankles swell without an injury?"),
    "palpitations": _("Does your heart race or skip when there is no reason for it?"),
    "leg_pain_when_walking": _("Do your calves or legs hurt when you walk and stop hurting when you rest?"),
    "heart_murmur": _("Has anyone told you that you have a heart murmur?"),
    "unusual_fatigue_or_breathlessness": _("Do ordinary tasks leave you more tired or breathless than they used to?"),
    "unstable_heart_condition": _(
        "Are you being looked after for a heart condition that is new or has lately become worse?"
    ),
    "blood_pressure_above_limit": _("As far as you know, is your blood pressure at rest above 160 over 100?"),
    "recent_surgery": _("Have you had an operation in the last three months?"),
    "hernia_with_symptoms": _("Do you have a hernia that bulges or hurts?"),
    "retina_or_recent_eye_surgery": _("Do you have trouble with the retina, or have you had an eye operation lately?"),
    "back_pain_with_leg_weakness": _("Do you have back pain together with a weak or numb leg?"),
    "unexplained_weight_loss_or_fever": _("Have you lost weight, or had a fever, without knowing why?"),
    "pregnant": _("Are you pregnant?"),
    "birth_within_a_year": _("Have you given birth within the last year?"),
    "treated_blood_pressure": _("Do you take medicine for high blood pressure?"),
    "osteoporosis": _("Has anyone told you that your bones are thin?"),
    "joint_replacement": _("Do you have an artificial joint?"),
    "epilepsy": _("Do you have epilepsy or seizures?"),
    "blood_thinners": _("Do you take blood thinners?"),
}
QUESTION_GROUPS: tuple[tuple[Word, tuple[str, ...]], ...] = (
    (_("How active you are"), ("active",)),
    (
        _("What is known"),
        (
            "heart_or_vessel_disease",
            "diabetes_or_metabolic_disease",
            "kidney_disease",
            "treated_blood_pressure",
            "blood_thinners",
            "osteoporosis",
            "joint_replacement",
            "epilepsy",
            "pregnant",
            "birth_within_a_year",
        ),
    ),
    (
        _("What you notice"),
        (
            "chest_discomfort_with_effort",
            "breathless_at_rest_or_lying",
            "dizzy_or_fainting",
            "ankle_swelling",
            "palpitations",
            "leg_pain_when_walking",
            "heart_murmur",
            "unusual_fatigue_or_breathlessness",
        ),
    ),
    (
        _("What wants a word with somebody first"),
        (
            "unstable_heart_condition",
            "blood_pressure_above_limit",
            "recent_surgery",
            "hernia_with_symptoms",
            "retina_or_recent_eye_surgery",
            "back_pain_with_leg_weakness",
            "unexplained_weight_loss_or_fever",
        ),
    ),
)
# The same codes as short names, for lists.
CONDITIONS: dict[str, Word] = {
    "heart_or_vessel_disease": _("heart, vessels or stroke"),
    "diabetes_or_metabolic_disease": _("diabetes or metabolism"),
    "kidney_disease": _("kidneys"),
    "treated_blood_pressure": _("treated blood pressure"),
    "blood_thinners": _("blood thinners"),
    "osteoporosis": _("thin bones"),
    "joint_replacement": _("artificial joint"),
    "epilepsy": _("epilepsy"),
    "pregnant": _("pregnant"),
    "birth_within_a_year": _("birth within a year"),
    "chest_discomfort_with_effort": _("chest discomfort with effort"),
    "breathless_at_rest_or_lying": _("breathless at rest or lying"),
    "dizzy_or_fainting": _("dizzy or fainting"),
    "ankle_swelling": _("swollen ankles"),
    "palpitations": _("racing or skipping heart"),
    "leg_pain_when_walking": _("leg pain when walking"),
    "heart_murmur": _("heart murmur"),
    "unusual_fatigue_or_breathlessness": _("unusually tired or breathless"),
    "unstable_heart_condition": _("heart condition, new or worse"),
    "blood_pressure_above_limit": _("blood pressure above 160 over 100"),
    "recent_surgery": _("recent operation"),
    "hernia_with_symptoms": _("hernia that bulges or hurts"),
    "retina_or_recent_eye_surgery": _("retina or eye operation"),
    "back_pain_with_leg_weakness": _("back pain with a weak leg"),
    "unexplained_weight_loss_or_fever": _("weight loss or fever without a cause"),
}
BODY_PARTS: dict[str, Word] = {
    "neck": _("neck"),
    "shoulder": _("shoulder"),
    "shoulder_blade": _("shoulder blade"),
    "collarbone": _("collarbone"),
    "upper_arm_front": _("upper arm, front"),
    "upper_arm_back": _("upper arm, back"),
    "elbow": _("elbow"),
    "forearm": _("forearm"),
    "wrist": _("wrist"),
    "hand": _("hand or fingers"),
    "chest": _("chest"),
    "ribs": _("ribs"),
    "upper_back": _("upper back"),
    "lower_back": _("lower back"),
    "belly": _("belly"),
    "groin": _("groin"),
    "hip": _("hip"),
    "buttock": _("buttock"),
    "thigh_front": _("thigh, front"),
    "thigh_back": _("thigh, back"),
    "thigh_inner": _("thigh, inner side"),
    "knee": _("knee"),
    "shin": _("shin"),
    "calf": _("calf"),
    "ankle": _("ankle"),
    "foot": _("foot"),
    "head": _("head"),
    "elsewhere": _("somewhere else"),
}
ALARMS: dict[str, Word] = {
    "sharp": pgettext_lazy("pain", "sharp"),
    "radiating": pgettext_lazy("pain", "running down an arm or leg"),
    "swelling": pgettext_lazy("pain", "with swelling"),
    "locking": pgettext_lazy("pain", "the joint locks or gives way"),
    "weakness": pgettext_lazy("pain", "with weakness or numbness"),
    "at_night": pgettext_lazy("pain", "at night"),
}
PAIN_ACTIONS: dict[str, Word] = {
    "go_on": _("go on as planned, noted"),
    "return": _("back in steps, lighter than before the pain"),
    "freeze": _("what loads it stays as it is or gets lighter until you answer"),
    "stop": _("nothing that loads it until you answer"),
}
RESULTS: dict[str, Word] = {
    "cleared": _("May start."),
    "moderate_only": _("May train at moderate effort; a professional’s word comes before hard work."),
    "see_professional": _("A professional’s word comes first."),
    "incomplete": _("Not complete yet."),
}
ADVICE: dict[str, Word] = {
    "breathe_out_on_effort": _("breathe out on the effort"),
    "no_breath_holding": _("no holding of breath"),
    "no_max_test": _("no testing of a max"),
    "supervised": _("trains under supervision"),
    "guardian_consent": _("a guardian has agreed"),
    "technique_first": _("technique before load"),
    "balance_safe": _("set-ups that need no balancing"),
    "no_long_lying_on_the_back": _("no long lying on the back"),
    "no_fall_or_blow": _("nothing with a risk of a fall or a blow"),
    "carer_agrees": _("the maternity carer has agreed"),
    "no_progression_targets": _("no targets to beat"),
    "start_as_after_long_layoff": _("starts as after a long layoff"),
}
DEFERS: Word = _(
    "This program plans training; it does not diagnose or treat. Questions about symptoms, medicines, pregnancy, "
    "injury or disease belong to a licensed professional, whose advice and the local rules come before anything "
    "shown here. If in doubt, stop and ask."
)

_SENTENCES: dict[str, Word] = {
    "questions_missing": _("The health questions have not been answered yet."),
    "guardian_consent_missing": _("A guardian’s consent is not recorded yet."),
    "hold_reported": _("Something was said that wants a professional’s word before any training."),
    "sign_reported": _("A sign was said that a professional should look at before training starts."),
    "cleared_by_professional": _("A professional has given clearance."),
    "not_answered": _("Questions still open: %(count)s."),
    "condition_and_active": _("Something is known, and the person is active without signs: moderate effort may go on."),
    "condition_and_not_active": _(
        "Something is known, and the person has not been active: a professional’s word first."
    ),
    "limits_needed": _("Something was said for which a professional sets the limits."),
    "active_without_signs": _("Active, and nothing was said that speaks against training."),
    "not_active_start_gently": _("Not active lately: light to moderate work that grows slowly."),
    "returned": _("Back since %(returned_on)s: the health questions are asked anew before a sheet goes out."),
    "client_paused": _("Paused: nothing is sent until they are back."),
    "training_waits": _("Training is to wait: nothing is sent for now."),
    "client_left": _("Has left: nothing is sent any more."),
    "answers_too_old": _("The answers of %(answered_on)s are older than twelve months: ask again."),
    "answered_yes": _("Said yes: %(question)s."),
    "moderate_only": _("Moderate effort: at least %(rir)s in reserve, at most %(share)s of a max."),
    "gentle_start": _("A gentle start: at least 3 in reserve in the first weeks."),
    "treated_blood_pressure": _("Treated blood pressure: at least %(rir)s in reserve, rests of %(rest_s)s s or more."),
    "pregnancy": _("Pregnancy: at least %(rir)s in reserve, no targets."),
    "after_birth": _("Within a year after a birth: at least %(rir)s in reserve, led by how it feels."),
    "minor": _("%(age)s years old: technique first, at most %(share)s of a max."),
    "older": _("%(age)s years old: at most %(share)s of a max."),
    "newcomer": _("Week %(weeks)s of training: no set to failure."),
}


def health_sentence(because: Because) -> str:
    """One reason of the health logic as a sentence; its code may carry the "health." of a sheet's hold.

    KeyError for a code that belongs to something else.
    """
    code = because.code.removeprefix("health.")
    return str(_SENTENCES[code]) % {name: _param(name, value) for name, value in because.params.items()}


def _share(value: Any) -> str:
    return f"{number_format(round(float(value) * 100))} %"


def _day(value: Any) -> str:
    return date_format(date.fromisoformat(str(value)))


_PARAMS: Mapping[str, Callable[[Any], str]] = {
    "share": _share,
    "rir": lambda value: number_format(float(value), decimal_pos=None).removesuffix(".0").removesuffix(",0"),
    "answered_on": _day,
    "returned_on": _day,
    "question": lambda value: str(CONDITIONS[value]),
}


def _param(name: str, value: Any) -> str:
    return _PARAMS.get(name, str)(value)
