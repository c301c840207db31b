"""The list of clients and the head of one client's pages, at a fixed number of queries."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

from django.db import models
from django.db.models import Count, F, Max, Min, Q
from django.urls import NoReverseMatch, reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from clients.clock import today_for
from clients.cycles import WEEK_DAYS, first_day, round_of_words, round_on, rounds_in
from clients.models import Block, Client, Limit, PainReport, Proposal, TrainingSession
from clients.reads.health import Standing, standing_of, standings_of
from coachdesk.practice.models import Coach, Practice
from programs import labels

WINDOW_DAYS = 28
LATE_DAYS = 14  # a session done later than that after its day is no longer looked for
AHEAD_DAYS = 120

# The parts of a client's pages: (name of the address, word). A part whose address does not exist is left out.
PARTS = (
    ("client", gettext_lazy("Profile")),
    ("client-block", gettext_lazy("Block")),
    ("client-calendar", gettext_lazy("Calendar")),
    ("client-sheets", gettext_lazy("Sheets")),
    ("client-logs", gettext_lazy("Logs")),
    ("client-progress", gettext_lazy("Progress")),
    ("client-proposals", gettext_lazy("Proposals")),
    ("client-notes", gettext_lazy("Notes")),
    ("client-documents", gettext_lazy("Documents")),
)
HEALTH_PART = ("client-health", gettext_lazy("Health"))


@dataclass(frozen=True, slots=True)
class Attendance:
    """Sessions done of those due in the last four weeks, and the sessions before and after today."""

    done: int = 0
    due: int = 0
    last: date | None = None
    next: date | None = None
    next_undated: bool = False  # something is planned, on no fixed day


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list. ``flags`` are (kind, words) in the order in which they are shown."""

    client: Client
    url: str
    flags: tuple[tuple[str, str], ...]
    attendance: Attendance
    block: str


def attendance_of(
    client_ids: Collection[int], today: date, among: models.QuerySet[Client] | None = None
) -> dict[int, Attendance]:
    """Per client: three queries, however long the history. A session left out on purpose is not due.

    ``among`` may give the same clients as a query: cheaper than a long list of ids.
    """
    first = today - timedelta(days=WINDOW_DAYS - 1)
    sessions = TrainingSession.objects.filter(block__client__in=_wanted(client_ids, among)).order_by()
    state = TrainingSession.State
    in_window = Q(planned_on__range=(first, today))
    done = in_window & Q(state=state.TRAINED)
    due = done | in_window & (Q(state=state.MISSED) | Q(state=state.PLANNED, planned_on__lt=today))
    reach = (first - timedelta(days=LATE_DAYS), today + timedelta(days=AHEAD_DAYS))
    dated = {
        row["block__client_id"]: row
        for row in sessions.filter(planned_on__range=reach)
        .values("block__client_id")
        .annotate(
            done=Count("pk", filter=done),
            due=Count("pk", filter=due),
            last=Max("trained_on"),
            next=Min("planned_on", filter=Q(state=state.PLANNED, planned_on__gte=today)),
        )
    }
    undated: dict[int, list[Undated]] = {}
    for client_id, session_state, trained_on, starts_on, cycle, cycle_days, minimum in sessions.filter(
        planned_on=None, block__starts_on__gte=first - timedelta(weeks=26)
    ).values_list(
        "block__client_id",
        "state",
        "trained_on",
        "block__starts_on",
        "cycle",
        "block__cycle_days",
        "block__client__week_minimum",
    ):
        ends = first_day(starts_on, cycle + 1, cycle_days) - timedelta(days=1)
        undated.setdefault(client_id, []).append(Undated(session_state, trained_on, ends, minimum))
    found = {
        client_id: _joined(dated.get(client_id), undated.get(client_id, ()), first, today) for client_id in client_ids
    }
    long_ago = [client_id for client_id, one in found.items() if one.last is None]
    # Asked with an impossible id too, so that the number of queries does not depend on who trained when.
    earlier = dict(
        TrainingSession.objects.filter(block__client_id__in=[*long_ago, 0], trained_on__isnull=False)
        .order_by()
        .values_list("block__client_id")
        .annotate(last=Max("trained_on"))
    )
    for client_id in long_ago:
        one = found[client_id]
        found[client_id] = Attendance(one.done, one.due, earlier.get(client_id), one.next, one.next_undated)
    return found


class Undated(NamedTuple):
    """A session of a list: its state, and the last day of its round. ``minimum`` sessions make a round complete."""

    state: str
    trained_on: date | None
    ends: date
    minimum: int | None


def _joined(dated: Mapping[str, Any] | None, undated: Iterable[Undated], first: date, today: date) -> Attendance:
    done, due = (dated["done"], dated["due"]) if dated else (0, 0)
    last, following = (dated["last"], dated["next"]) if dated else (None, None)
    open_ahead = False
    undated = list(undated)
    trained = Counter(row.ends for row in undated if row.state == TrainingSession.State.TRAINED)
    lacking = {row.ends: row.minimum - trained[row.ends] for row in undated if row.minimum is not None}
    for state, trained_on, week_ends, minimum in undated:
        if state == TrainingSession.State.TRAINED and trained_on is not None:
            last = max(last or trained_on, trained_on)
            if first <= trained_on <= today:
                done, due = done + 1, due + 1
        elif state == TrainingSession.State.MISSED or state == TrainingSession.State.PLANNED:
            needed = minimum is None or lacking[week_ends] > 0
            if first <= week_ends < today and needed:
                due += 1
                if minimum is not None:
                    lacking[week_ends] -= 1
            open_ahead |= state == TrainingSession.State.PLANNED and week_ends >= today
    return Attendance(done, due, last, following, open_ahead and following is None)


def client_rows(
    clients: Sequence[Client], coach: Coach, today: date, among: models.QuerySet[Client] | None = None
) -> list[Row]:
    """The lines for these clients: nine queries however many. ``among`` as in ``attendance_of``."""
    ids = [client.pk for client in clients]
    attendance = attendance_of(ids, today, among)
    wanted = _wanted(ids, among)
    pain: dict[int, int] = dict(
        PainReport.objects.filter(client__in=wanted, state=PainReport.State.OPEN)
        .order_by()
        .values_list("client_id")
        .annotate(Max("score"))
    )
    waiting: dict[int, int] = dict(
        Proposal.objects.waiting().filter(client__in=wanted).order_by().values_list("client_id").annotate(Count("pk"))
    )
    blocks = {
        client_id: (number, starts_on, weeks, cycle_days)
        for client_id, number, starts_on, weeks, cycle_days in Block.objects.active()
        .filter(client__in=wanted)
        .values_list("client_id", "number", "starts_on", "weeks", "cycle_days")
    }
    standings = standings_of(clients, wanted, today)
    rows = []
    for client in clients:
        flags = []
        if client.pk in pain:
            words = _("pain %d of 10") % pain[client.pk] if coach.sees_health else _("to be answered")
            flags.append(("pain" if coach.sees_health else "waiting", words))
        if client.status == Client.Status.PAUSED and client.paused_until:
            flags.append(("absence", _("back on %s") % short_day(client.paused_until)))
        if client.status == Client.Status.LEFT and client.keep_until:
            flags.append(("ending", _("kept until %s") % date_format(client.keep_until, "j M Y")))
        if client.intake_step:
            flags.append(("waiting", _("not taken in yet")))
        elif client.status != Client.Status.LEFT and not standings[client.pk].cleared:
            flags.append(("caution", _("not cleared")))
        if client.pk in waiting:
            count = waiting[client.pk]
            flags.append(("proposal", ngettext("%d proposal", "%d proposals", count) % count))
        block = blocks.get(client.pk)
        rows.append(
            Row(
                client,
                reverse("client", args=[client.public_id]),
                tuple(flags),
                attendance[client.pk],
                week_words(*block[:3], today, block[3]) if block else "",
            )
        )
    return rows


def _wanted(ids: Collection[int], among: models.QuerySet[Client] | None) -> Any:
    return ids if among is None else among.order_by().values("pk")


def counts_by_status(practice: Practice) -> dict[str, int]:
    return dict(Client.objects.for_practice(practice).order_by().values_list("status").annotate(Count("pk")))


def week_words(number: int, starts_on: date, weeks: int, today: date, cycle_days: int = WEEK_DAYS) -> str:
    """The block and its week, or its cycle: "2, week 3 of 6"."""
    now = round_on(starts_on, weeks, today, cycle_days)
    if now == 0:
        return _("%(block)d, from %(day)s") % {"block": number, "day": short_day(starts_on)}
    words = round_of_words(now, rounds_in(weeks, cycle_days), cycle_days)
    return _("%(block)d, %(week)s") % {"block": number, "week": words}


def short_day(day: date) -> str:
    return date_format(day, "j M")


def status_words(client: Client) -> str:
    """ "paused since 3 Nov 2026, back on 10 Jan 2027"; "active" and "enquiry" as they are."""
    words = str(client.get_status_display())
    if client.status_since and client.status in (Client.Status.PAUSED, Client.Status.LEFT):
        words = _("%(status)s since %(day)s") % {"status": words, "day": date_format(client.status_since, "j M Y")}
    if client.status == Client.Status.PAUSED and client.paused_until:
        words = _("%(status)s, back on %(day)s") % {"status": words, "day": date_format(client.paused_until, "j M Y")}
    if client.status == Client.Status.LEFT and client.keep_until:
        words = _("%(status)s, kept until %(day)s") % {"status": words, "day": date_format(client.keep_until, "j M Y")}
    return words


def limit_words(limit: Limit) -> str:
    """“left shoulder, overhead”; going easy and an end are said."""
    name = str(labels.JOINT_TAGS[limit.joint]) if limit.joint else str(limit.exercise)
    words = name if limit.side == "both" else f"{labels.SIDES[limit.side]} {name}"
    if not limit.strict:
        words = _("%s (go easy)") % words
    if limit.until:
        words = _("%(what)s until %(day)s") % {"what": words, "day": short_day(limit.until)}
    return words


def clearance_words(standing: Standing, *, sees_health: bool) -> str:
    if not standing.cleared:
        return _("not cleared")
    if sees_health and standing.expires_on is not None:
        return _("cleared until %s") % date_format(standing.expires_on, "j M Y")
    return _("cleared")


def client_head(client: Client, current: str = "client", coach: Coach | None = None) -> dict[str, Any]:
    """The context of ``clients/_client_head.html``: client, cells, words, words_name. Eight queries.

    ``current`` is the address name of the part that is open ("client-progress"). Without a coach who may read health
    answers it says cleared or not, and nothing more.
    """
    today = today_for(client)
    sees_health = coach is not None and coach.sees_health
    standing = standing_of(client, today)
    block = client.blocks.active().values_list("number", "starts_on", "weeks", "cycle_days").first()
    limits = [row for row in client.limits.select_related("exercise") if row.holds_on(today)]
    seen = attendance_of([client.pk], today)[client.pk]
    cells: list[dict[str, Any]] = [
        {"label": _("Client"), "value": client.name, "who": True},
    ]
    if client.status != Client.Status.ACTIVE:
        cells.append({"label": _("Status"), "value": status_words(client)})
    cells += [
        {"label": _("Level"), "value": client.get_experience_display()},
    ]
    if block:
        number, starts_on, weeks, cycle_days = block
        week = round_on(starts_on, weeks, today, cycle_days)
        words = round_of_words(week, rounds_in(weeks, cycle_days), cycle_days)
        cells.append(
            {
                "label": _("Block %d") % number,
                "value": words if week else _("from %s") % short_day(starts_on),
            }
        )
    else:
        cells.append({"label": _("Block"), "value": _("none yet")})
    cells.append(
        {
            "label": _("Adherence, 4 weeks"),
            "value": _("%(done)d of %(due)d sessions") % {"done": seen.done, "due": seen.due} if seen.due else "–",
        }
    )
    cells.append({"label": _("Spare"), "value": "; ".join(map(limit_words, limits)) or _("nothing")})
    cells.append({"label": _("Clearance"), "value": clearance_words(standing, sees_health=sees_health)})
    if sees_health:
        cells.append({"label": _("Pain"), "value": pain_words(client)})
    parts = [*PARTS, HEALTH_PART] if sees_health else PARTS
    words_list = []
    for name, word in parts:
        url = address(name, client)
        if url:
            words_list.append({"label": word, "url": url, "current": name == current})
    return {
        "client": client,
        "cells": cells,
        "words": words_list,
        "words_name": _("Parts of %s’s pages") % client.name,
        "standing": standing,
    }


def pain_words(client: Client) -> str:
    """The highest open report, else when the last one was. One query."""
    newest = list(
        client.pain_reports.order_by(F("felt_on").desc(), "-pk").values_list("state", "score", "felt_on")[:20]
    )
    unanswered = [score for state, score, _day in newest if state == PainReport.State.OPEN]
    if unanswered:
        return _("%d of 10, to be answered") % max(unanswered)
    if newest:
        return _("none since %s") % short_day(newest[0][2])
    return _("none reported")


def address(name: str, client: Client) -> str:
    """The address of a part of the client's pages; empty where the part does not exist."""
    try:
        return reverse(name, args=[client.public_id])
    except NoReverseMatch:
        return ""


def compose_address(client: Client) -> str:
    """Where a week is composed for this client."""
    return address("compose-start", client)
