"""The reusable fragments: what they show for what they are given."""

from html.parser import HTMLParser
from types import SimpleNamespace

import pytest
from django import forms
from django.contrib.messages.storage.base import Message
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.template import engines
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.urls import path

PLACES = ("desk", "clients", "compose", "library", "templates")
NAMES = (*PLACES, "search", "account", "sign-out", "set-theme")
urlpatterns = [path(f"{name}/", lambda request: HttpResponse(), name=name) for name in NAMES]

pytestmark = pytest.mark.urls(__name__)


class LoadForm(forms.Form):
    load = forms.DecimalField(help_text="As it is written on it.")
    reps = forms.IntegerField(required=False)
    order = forms.ChoiceField(choices=[("fixed", "fixed days"), ("next", "next in line")], widget=forms.RadioSelect)
    agreed = forms.BooleanField(required=False)


class Tags(HTMLParser):
    """Every start tag as (name, attributes)."""

    def __init__(self, html):
        super().__init__()
        self.found = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))

    def named(self, name, **wanted):
        return [attrs for tag, attrs in self.found if tag == name and wanted.items() <= attrs.items()]


def draw(template, **context):
    return render_to_string(template, context, request=RequestFactory().get("/clients/", {"q": "sit", "page": "2"}))


def draw_words(words, **context):
    return engines["django"].from_string("{% load parts %}" + words).render(context)


def test_a_field_says_what_is_wrong_and_keeps_what_was_typed():
    html = draw("parts/_field.html", field=LoadForm({"load": "72,5 kilo"})["load"], unit="kg")
    box = Tags(html).named("input")[0]
    assert box["value"] == "72,5 kilo"
    assert box["type"] == "text" and box["inputmode"] == "decimal"
    assert box["aria-invalid"] == "true"
    described = [attrs["id"] for _tag, attrs in Tags(html).found if "id" in attrs]
    assert set(box["aria-describedby"].split()) <= set(described)
    assert '<span class="unit">kg</span>' in html


def test_a_whole_number_gets_a_pad_without_a_decimal_mark():
    box = Tags(draw("parts/_field.html", field=LoadForm()["reps"])).named("input")[0]
    assert box["inputmode"] == "numeric"
    assert not {"min", "max", "step"} & set(box)


def test_a_group_of_choices_is_a_fieldset_with_its_question():
    tags = Tags(draw("parts/_field.html", field=LoadForm()["order"]))
    assert len(tags.named("fieldset")) == len(tags.named("legend")) == 1
    assert len(tags.named("input", type="radio")) == 2


def test_the_words_of_a_tick_box_belong_to_it():
    tags = Tags(draw("parts/_field.html", field=LoadForm()["agreed"]))
    assert tags.named("label", **{"class": "choice", "for": tags.named("input")[0]["id"]})


def test_django_draws_a_field_our_way():
    form = LoadForm({"load": "x"})
    drawn = draw("parts/_field.html", field=form["load"])
    assert form["load"].as_field_group().split() == drawn.split()


def test_the_error_summary_links_to_each_field_and_is_not_there_without_errors():
    assert {attrs["href"] for attrs in Tags(draw("parts/_form_errors.html", form=LoadForm({}))).named("a")} == {
        "#id_load",
        "#id_order",
    }
    assert draw("parts/_form_errors.html", form=LoadForm()).strip() == ""


def test_a_toast_offers_the_undo_that_its_message_carries():
    message = Message(25, "Bench press pinned.", extra_tags="undo:/journal/7/undo/")
    tags = Tags(draw("parts/_toasts.html", messages=[message]))
    assert tags.named("form", action="/journal/7/undo/", method="post")
    assert tags.named("div", id="toasts", role="status")


def test_a_toast_without_undo_has_no_form_and_escapes_its_words():
    html = draw("parts/_toasts.html", messages=[Message(25, "<b>Saved</b>")], oob=True)
    assert Tags(html).named("form") == []
    assert "&lt;b&gt;Saved" in html
    assert Tags(html).named("div", **{"hx-swap-oob": "innerHTML:#toasts"})


def test_the_because_mark_has_a_name_and_its_reasons_open_without_script():
    reasons = [{"value": "72.5 kg", "text": "One step up.", "facts": ["8, 8, 8 on 7 Oct"]}, {"text": "A main lift."}]
    html = draw("parts/_because.html", name="72.5 kg, 4 × 6–8", reasons=reasons)
    assert Tags(html).named("summary", **{"aria-label": "Why 72.5 kg, 4 × 6–8"})
    assert all(words in html for words in ("One step up.", "8, 8, 8 on 7 Oct", "A main lift."))


def test_a_title_block_titles_the_page_with_its_name_alone():
    cells = [{"label": "Client", "value": "Ben", "who": True}, {"label": "Level", "value": "novice"}]
    html = draw("parts/_title_block.html", cells=cells)
    assert html.count("<h1>") == 1 and "<h1>Ben</h1>" in html
    assert len(Tags(html).named("dt")) == 2


def test_the_pager_keeps_what_was_searched_for():
    html = draw("parts/_pager.html", page=Paginator(range(90), 30).page(2))
    assert [attrs["href"] for attrs in Tags(html).named("a")] == ["?q=sit&page=1", "?q=sit&page=3"]
    assert "31–60 of 90" in html


def test_an_empty_state_says_what_to_do_next():
    html = draw("parts/_empty.html", text="No clients yet.", url="/clients/new/", verb="Add a client")
    assert Tags(html).named("a", href="/clients/new/")


@pytest.mark.parametrize("place", PLACES)
def test_the_masthead_marks_the_place_a_page_belongs_to(place):
    words = (
        "{% extends 'base.html' %}{% block title %}Page{% endblock %}"
        f"{{% block place %}}{place}{{% endblock %}}{{% block main %}}<h1>Page</h1>{{% endblock %}}"
    )
    user = SimpleNamespace(name="Ana", practice=SimpleNamespace(name="Net Loft"), is_authenticated=True)
    request = RequestFactory().get("/desk/")
    context = {"user": user, "messages": [], "theme": "dark"}
    html = engines["django"].from_string(words).render(context, request)
    assert {attrs["href"] for attrs in Tags(html).named("a", **{"aria-current": "page"})} == {f"/{place}/"}
    assert Tags(html).named("html", **{"data-theme": "dark"})
    assert len(Tags(html).named("main", id="main")) == 1


def test_a_page_without_a_place_marks_none():
    user = SimpleNamespace(name="Ana", practice=SimpleNamespace(name="Net Loft"), is_authenticated=True)
    context = {"user": user, "messages": [], "theme": "device"}
    html = engines["django"].from_string("{% extends 'base.html' %}").render(context, RequestFactory().get("/desk/"))
    assert Tags(html).named("a", **{"aria-current": "page"}) == []
    assert "data-theme" not in Tags(html).named("html")[0]


def test_an_inline_sign_needs_no_other_file():
    html = draw_words("{% inline_icon 'because' 13 %}")
    assert "<circle" in html and "href" not in html


def test_a_tally_says_its_numbers_and_refuses_more_done_than_there_is():
    assert "12 of 34" in draw_words("{% tally 12 34 %}")
    with pytest.raises(ValueError, match="no tally"):
        draw_words("{% tally 35 34 %}")


@pytest.mark.parametrize(("reserve", "drawn"), [(0, 0), (2, 2), (4, 4), (7, 4)])
def test_reps_in_reserve_are_beads_up_to_four(reserve, drawn):
    assert draw_words("{% beads reserve %}", reserve=reserve).count("<circle") == drawn
