"""What composing the week again would change, before it is done."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.board.known import proof_words
from clients.board.weighed import Weighed, weighed
from clients.board.words import counted_words
from clients.models import Draft
from clients.reads.composing import draft_inputs, picks_of
from clients.reads.differences import differences
from clients.services.drafts import digest_of, recomposed
from programs import labels
from programs.engine.compose import assess
from programs.engine.vocabulary import AUDITED_GROUPS
from programs.reasons import sentence_of
from programs.reasons.words import number


@dataclass(frozen=True, slots=True)
class GroupChange:
    name: str
    before: str
    after: str
    target: str


@dataclass(frozen=True, slots=True)
class Preview:
    changes: list[str]
    groups: list[GroupChange]
    pinned: int
    digest: str
    weighed: Weighed
    proof: str


def preview_of(draft: Draft) -> Preview:
    inputs = draft_inputs(draft)
    names = inputs.names()
    document = recomposed(draft, inputs)
    known = [pick for pick in picks_of(draft.document, inputs.merged) if pick.exercise in inputs.library]
    before, after = assess(inputs.request, known), assess(inputs.request, picks_of(document))
    groups = []
    for group in AUDITED_GROUPS:
        was, now = before.dose[group], after.dose[group]
        if was.dose.counted != now.dose.counted:
            limits = now.judged.range
            target = (
                _("%(low)s to %(high)s") % {"low": number(limits.low), "high": number(limits.high)} if limits else "–"
            )
            groups.append(
                GroupChange(
                    str(labels.GROUPS[group]), counted_words(was.dose.counted), counted_words(now.dose.counted), target
                )
            )
    return Preview(
        changes=[sentence_of(why, names) for why in differences(draft.document, document, inputs)],
        groups=groups,
        pinned=sum(bool(row["pinned"]) for row in draft.document["picks"]),
        digest=digest_of(document),
        weighed=weighed(inputs.request, known, picks_of(document)),
        proof=proof_words(document, inputs.request.weights.rank_step),
    )
