"""The Desk's rows: each matter as a flag, a person, a sentence with its because, a figure and what can be done."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients import labels, proposal_words
from clients.doubts import doubt_sentence
from clients.models import Client, LoggedSet, PainReport, Proposal
from clients.reads.desk_people import Person, Report
from clients.reads.logs import done_words
from clients.services.logs import offered
from clients.sheets import wording
from coachdesk.practice.models import Coach
from programs.drawings.tally import pain_bars, tally_rule
from programs.engine.attention import Matter
from programs.labels import SIDES
from programs.templatetags.parts import icon

FIGURE_WIDTH = 140
PAIN_FROM = 3  # from here on what loads the place is held back
MOST_BARS = 7
NAMES_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Act:
    """One thing to do: a link, or a button of the row's form that sends ``name`` and ``value`` to ``url``."""

    label: str
    url: str
    value: str = ""
    name: str = "do"
    post: bool = False
    look: str = ""  # "first" or "bare"
    returns: bool = False  # a link to a page that leads back here once something was done


@dataclass(frozen=True, slots=True)
class Row:
    flag: str
    flag_text: str
    who: str
    url: str
    second: str
    what: str
    because: str
    figure: SafeString | proposal_words.Figure | str = ""
    acts: tuple[Act, ...] = ()
    chosen: bool = False
    key: str = ""
    about: str = ""  # what the buttons are about, read aloud behind their words
    in_place: bool = False  # the answer takes the row's place
    held: str = ""  # why it is not plain, where the page says so
    more: tuple[str, ...] = ()  # all its reasons, on demand
    offers: str = ""  # other ways on, in words

    def __getitem__(self, name: str) -> object:
        """Templates look a name up as a key first: without this each look-up on each row begins with an error."""
        return getattr(self, name)

    @property
    def icon(self) -> SafeString:
        return drawn_icon(self.flag, 16)

    @property
    def change(self) -> proposal_words.Figure | None:
        return self.figure if isinstance(self.figure, proposal_words.Figure) else None

    @property
    def posts(self) -> str:
        """Where the row's form goes; "" when it has links alone."""
        return next((act.url for act in self.acts if act.post), "")

    @property
    def named(self) -> str:
        return self.about or f"{self.who} {self.flag_text}"


@cache
def drawn_icon(name: str, size: int) -> SafeString:
    """The same sign on every row is drawn once."""
    return icon(name, size)


def row_of(matter: Matter, person: Person, coach: Coach) -> Row | None:
    """The one row of a matter; proposals, doubts and sheets have rows of their own making."""
    makers: dict[str, Callable[[], Row]] = {
        "red_flag": lambda: _red_flag(person),
        "pain": lambda: _pain(person, coach),
        "clearance_missing": lambda: _not_cleared(person, coach),
        "absence": lambda: _absence(matter, person),
        "block_ending": lambda: _block(matter, person),
        "clearance_expiring": lambda: _expiring(matter, person, coach),
    }
    return makers[matter.kind]() if matter.kind in makers else None


def _address(person: Person, name: str = "client") -> str:
    return reverse(name, args=[person.client.public_id])


def _said_on(day: date | None) -> str:
    return wording.day(day)


def _red_flag(person: Person) -> Row:
    note = person.notes[0]
    url = reverse("session-log", args=[note.session_public_id])
    seen = reverse("note-seen", args=[note.public_id])
    words = [str(flag["words"]) for flag in note.flags if not flag.get("seen")]
    return Row(
        "pain",
        _("read this now"),
        person.client.initials,
        _address(person),
        f"{note.session_name}, {_said_on(note.day)}",
        f"“{' '.join(note.text.split())[:240]}”",
        _("Found in it: %(words)s. Words can mislead; read them yourself and ask.") % {"words": ", ".join(words)},
        acts=(
            Act(_("Open"), url, look="first"),
            Act(_("Seen"), seen, "seen", post=True),
        ),
    )


def _pain(person: Person, coach: Coach) -> Row:
    report = max(person.pains, key=lambda row: (row.action == "stop", row.score, row.felt_on, row.pk))
    said_on = _said_on(report.felt_on)
    second = f"{report.session}, {said_on}" if report.session else said_on
    if not coach.sees_health:
        # What hurts, and how much, is for those with the permission.
        return Row(
            "pain",
            _("pain reported"),
            person.client.initials,
            _address(person),
            second,
            _("A report waits for an answer."),
            _("Someone who may read health answers has to look at it; what loads the place is held back until then."),
            acts=(Act(_("Open client"), _address(person), look="first"),),
        )
    more = len(person.pains) - 1
    what = place_words(report)
    if report.exercise is not None:
        what = _("%(place)s, at %(exercise)s") % {"place": what, "exercise": report.exercise}
    if more:
        what = ngettext("%(what)s, and %(n)d more report", "%(what)s, and %(n)d more reports", more) % {
            "what": what,
            "n": more,
        }
    said = f" “{report.note[:120]}”" if report.note else ""
    return Row(
        "pain",
        _("pain %d of 10") % report.score,
        person.client.initials,
        _address(person),
        second,
        f"{what}.{said}",
        str(labels.PAIN_ACTIONS[report.action]),
        figure=_bars(person, report),
        acts=(
            Act(_("Answer"), reverse("client-health", args=[person.client.public_id]), look="first"),
            Act(_("Open log"), reverse("client-logs", args=[person.client.public_id])),
        ),
    )


def place_words(report: PainReport | Report) -> str:
    """ "Right knee"."""
    place = str(labels.BODY_PARTS[report.body_part])
    words = place if report.side == "both" else f"{SIDES[report.side]} {place}"
    return words[:1].upper() + words[1:]


def _bars(person: Person, report: Report) -> SafeString:
    """The same place's reports of the last weeks, oldest first."""
    same = [row.score for row in person.earlier_pains if row.body_part == report.body_part][-MOST_BARS:]
    title = _("Pain of the last four weeks: %s") % ", ".join(map(str, same))
    drawn = pain_bars(
        same, title=title, format_number=lambda value: f"{value:g}", threshold=PAIN_FROM, width=18 * len(same) + 6
    )
    return mark_safe(drawn)  # noqa: S308  our own drawing


def _not_cleared(person: Person, coach: Coach) -> Row:
    hold = next(iter(person.standing.holds), None)
    why = labels.health_sentence(hold) if hold is not None and coach.sees_health else ""
    acts = (
        Act(_("Open health page"), reverse("client-health", args=[person.client.public_id]), look="first")
        if coach.sees_health
        else Act(_("Open client"), _address(person), look="first")
    )
    return Row(
        "caution",
        _("not cleared"),
        person.client.initials,
        _address(person),
        "",
        _("No sheet goes out until this is settled."),
        why or _("Someone who may read health answers knows what is missing."),
        acts=(acts,),
    )


def proposal_row(
    proposal: Proposal, person: Person | None = None, *, whole: bool = False, held: Sequence[str] = ()
) -> Row:
    """One proposal, on the Desk with its person, on the client's own page without.

    ``whole`` holds all its reasons and the other ways on too, and says with ``held`` why it is not plain.
    """
    url = reverse("proposal", args=[proposal.public_id])
    accept = _("Accept") if proposal.new.get("sets") else _("Leave out")
    return Row(
        "proposal",
        proposal_words.flag_word(proposal.kind),
        person.client.initials if person is not None else "",
        _address(person, "client-proposals") if person is not None else "",
        "" if whole else proposal_words.session_words(proposal),
        proposal_words.what(proposal),
        proposal_words.because(proposal),
        figure=proposal_words.figure(proposal),
        acts=(
            Act(accept, url, "accept", post=True, look="first"),
            Act(_("Edit"), url, returns=True),
            Act(_("Decline"), url, "decline", post=True, look="bare"),
        ),
        key=f"p-{proposal.public_id}",
        about=f"{person.client.initials}, {proposal.exercise.name}" if person is not None else proposal.exercise.name,
        in_place=True,
        held=" ".join(held),
        more=tuple(proposal_words.reasons(proposal)) if whole else (),
        offers=", ".join(proposal_words.offers(proposal)) if whole else "",
    )


def more_row(count: int, person: Person, url: str) -> Row:
    """The rest of one client's proposals, behind a link."""
    text = ngettext("%(n)d more for %(name)s", "%(n)d more for %(name)s", count)
    return Row("", "", "", url, "", text % {"n": count, "name": person.client.initials}, "")


def some(names: Sequence[str]) -> str:
    if len(names) <= NAMES_SHOWN:
        return ", ".join(names)
    return _("%(names)s and %(n)d more") % {
        "names": ", ".join(names[:NAMES_SHOWN]),
        "n": len(names) - NAMES_SHOWN,
    }


def doubt_row(row: LoggedSet, person: Person) -> Row:
    session = row.session
    back = (
        reverse("session-log", args=[session.public_id]) + "#doubts"
        if session is not None
        else reverse("client-logs", args=[person.client.public_id])
    )
    better = offered(row)
    settle = reverse("settle-set", args=[row.public_id])
    acts = [Act(_("Check"), back, look="first")]
    if better is not None and better.load is not None:
        offer = f"{wording.number(better.load.value)} {better.load.unit}"
        acts = [
            Act(offer, settle, "offered", "answer", post=True, look="first"),
            Act(_("As typed"), settle, "counts", "answer", post=True),
            Act(_("Open"), back, look="bare"),
        ]
    usual = next((doubt["params"].get("usual") for doubt in row.doubts if doubt["params"].get("usual")), None)
    said = {"exercise": row.exercise.name, "number": row.number, "sets": done_words([row])}
    what = _("%(exercise)s, set %(number)s: %(sets)s.") if row.number else _("%(exercise)s: %(sets)s.")
    return Row(
        "doubt",
        _("doubt"),
        person.client.initials,
        _address(person),
        f"{session.name if session else ''} {_said_on(row.performed_on)}".strip(),
        what % said,
        " ".join(doubt_sentence(doubt["code"], doubt["params"], row.load_unit) for doubt in row.doubts),
        figure=_("usual %s") % f"{wording.number(round(usual, 1))}{wording.NBSP}{row.load_unit}" if usual else "",
        acts=tuple(acts),
    )


def _absence(matter: Matter, person: Person) -> Row:
    overdue = person.overdue
    done, due = person.attended()
    last = _("last trained %s") % wording.day(person.last_session, "j M") if person.last_session else _("never trained")
    if overdue:
        named = ", ".join(f"{near.name} {wording.day(person.day_of(near), 'j M')}" for near in overdue[:3])
        what = ngettext("%d session has no log: ", "%d sessions have no log: ", len(overdue)) % len(overdue) + named
        what += (
            ngettext(" and %d more.", " and %d more.", len(overdue) - 3) % (len(overdue) - 3)
            if len(overdue) > 3
            else "."
        )
    else:
        what = _("Nothing came back lately.")
    because = ""
    if matter.because.code == "away_for_long":
        because = _("%(days)s days away; from eleven on the loads come down.") % {"days": matter.because.params["days"]}
    elif overdue:
        because = _("Type it in, or mark it as missed: what comes next waits for it.")
    url = reverse("client-overdue", args=[person.client.public_id])
    acts = [Act(_("Type in"), reverse("client-logs", args=[person.client.public_id]) + "?show=open", look="first")]
    if overdue:
        if person.client.order_mode == Client.OrderMode.NEXT:
            calendar = reverse("client-calendar", args=[person.client.public_id])
            acts.append(Act(_("Do next"), f"{calendar}#behind-title"))
        acts.append(Act(_("Missed"), url, "missed", "state", post=True))
        acts.append(Act(_("Left out"), url, "dropped", "state", post=True, look="bare"))
    return Row(
        "absence",
        _("absence"),
        person.client.initials,
        _address(person),
        last,
        what,
        because,
        figure=tallied(done, due, _("%(done)d of %(total)d in four weeks")),
        acts=tuple(acts),
    )


def tallied(done: int, total: int, words: str) -> SafeString | str:
    if not total:
        return ""
    text = words % {"done": done, "total": total}
    drawn = tally_rule(done, total, title=text, width=FIGURE_WIDTH)
    return mark_safe(f"{drawn}<span>{text}</span>")  # noqa: S308  our own drawing and words


def _block(matter: Matter, person: Person) -> Row:
    block, days = person.block, int(str(matter.because.params["days"]))
    if days < 0:
        flag = _("ended")
    elif days == 0:
        flag = _("ends today")
    else:
        flag = ngettext("ends in %d day", "ends in %d days", days) % days
    ends = person.standing.expires_on
    both = ends is not None and 0 <= (ends - person.today).days <= 30
    return Row(
        "ending",
        flag,
        person.client.initials,
        _address(person),
        _("block %(number)d, %(weeks)d weeks") % {"number": block.number, "weeks": block.weeks} if block else "",
        _("The next block is not composed yet."),
        _("The health questions run out too: ask both at once.") if both else _("Sheets end with the block."),
        acts=(
            Act(_("Next from this one"), _address(person, "client-next"), look="first"),
            Act(_("Compose anew"), _address(person, "compose-start")),
        ),
    )


def no_block_row(person: Person) -> Row:
    return Row(
        "waiting",
        _("no block"),
        person.client.initials,
        _address(person),
        "",
        _("Nothing is planned yet."),
        _("Compose a week and assign it; the sheets follow."),
        acts=(Act(_("Compose"), reverse("compose-start", args=[person.client.public_id]), look="first"),),
    )


def _expiring(matter: Matter, person: Person, coach: Coach) -> Row:
    days = int(str(matter.because.params["days"]))
    url = reverse("client-health" if coach.sees_health else "client", args=[person.client.public_id])
    return Row(
        "ending",
        ngettext("%d day left", "%d days left", days) % days,
        person.client.initials,
        _address(person),
        "",
        _("Clearance runs out on %s.") % wording.day(matter.day, "j F"),
        _("From then on no sheet goes out."),
        acts=(Act(_("Open health page") if coach.sees_health else _("Open client"), url, look="first"),),
    )
