"""First set-up, signing in and out, the account, the practice's coaches."""

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from coachdesk import environment
from coachdesk.practice import setup, throttle
from coachdesk.practice.access import CoachRequest, coach_required, owner_required, public
from coachdesk.practice.forms import CoachForm, PasswordForm, PracticeForm, SetupForm, SignInForm
from coachdesk.practice.models import Coach
from coachdesk.practice.newcomers import practice_made

SETUP_CODE_TRIES = 10
SETUP_WINDOW_S = 15 * 60


@public
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Makes the owner's account: once, from this machine or with the code its terminal shows."""
    if not setup.needed():
        return redirect("sign-in")
    code_needed = not setup.from_this_machine(request)
    initial = {
        "time_zone": "UTC",
        "language": "en",
        "code": request.GET.get("code", ""),
        "demo": environment.flag("COACHDESK_DEMO"),
    }
    form = SetupForm(request.POST or None, code_needed=code_needed, initial=initial)
    if request.method == "POST" and form.is_valid():
        if code_needed and not _code_accepted(request, form):
            return render(request, "practice/set_up.html", {"form": form}, status=422)
        coach = form.save()
        setup.finished()
        practice_made(coach, with_demo=form.cleaned_data["demo"])
        login(request, coach, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("desk")
    return render(request, "practice/set_up.html", {"form": form}, status=422 if form.is_bound else 200)


def _code_accepted(request: HttpRequest, form: SetupForm) -> bool:
    address = request.META.get("REMOTE_ADDR", "")
    if throttle.exceeded("set-up", address, SETUP_CODE_TRIES, SETUP_WINDOW_S):
        form.add_error("code", _("Too many tries. Wait a quarter of an hour, then try again."))
        return False
    if setup.code_matches(form.cleaned_data.get("code", "")):
        return True
    throttle.count("set-up", address, SETUP_WINDOW_S)
    form.add_error("code", _("That is not the code in the terminal."))
    return False


@public
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    if setup.needed():
        return redirect("set-up")
    if request.user.is_authenticated:
        return redirect("desk")
    form = SignInForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid() and form.coach is not None:
        login(request, form.coach)
        wanted = request.POST.get("next", "")
        safe = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
        return redirect(wanted if safe else "desk")
    context = {"form": form, "next": request.POST.get("next") or request.GET.get("next", "")}
    return render(request, "practice/sign_in.html", context, status=422 if form.is_bound else 200)


@coach_required
@require_POST
def sign_out(request: CoachRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


@coach_required
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def account(request: CoachRequest) -> HttpResponse:
    form = PasswordForm(request.POST or None, coach=request.user)
    if request.method == "POST" and form.is_valid():
        request.user.set_password(form.cleaned_data["password"])
        request.user.save(update_fields=["password"])
        update_session_auth_hash(request, request.user)
        messages.success(request, _("Password changed."))
        return redirect("account")
    return render(request, "practice/account.html", {"form": form}, status=422 if form.is_bound else 200)


@owner_required
@require_http_methods(["GET", "POST"])
def practice(request: CoachRequest) -> HttpResponse:
    """The practice's defaults and its coaches."""
    form = PracticeForm(request.POST or None, instance=request.user.practice)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Practice saved."))
        return redirect("practice")
    coaches = Coach.objects.filter(practice=request.user.practice).order_by("name")
    context = {"form": form, "coaches": coaches}
    return render(request, "practice/practice.html", context, status=422 if form.is_bound else 200)


@owner_required
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def coach_new(request: CoachRequest) -> HttpResponse:
    form = CoachForm(request.POST or None, instance=Coach(practice=request.user.practice))
    if request.method == "POST" and form.is_valid():
        coach = form.save()
        messages.success(request, _("%(name)s can sign in now.") % {"name": coach.name})
        return redirect("practice")
    return render(request, "practice/coach_new.html", {"form": form}, status=422 if form.is_bound else 200)


@owner_required
@require_POST
def coach_active(request: CoachRequest, public_id: str) -> HttpResponse:
    """Lets a coach in or keeps them out; their clients and history stay. The owner can't lock themselves out."""
    coach = get_object_or_404(Coach, practice=request.user.practice, public_id=public_id)
    if coach == request.user:
        raise Http404
    coach.is_active = request.POST.get("active") == "1"
    coach.save(update_fields=["is_active"])
    text = _("%(name)s can sign in again.") if coach.is_active else _("%(name)s can’t sign in any more.")
    messages.success(request, text % {"name": coach.name})
    return redirect("practice")
