"""The shape of the house: what may import what, who may open which view, whose rows may point where."""

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps
from django.db import models
from django.urls import URLPattern, URLResolver, get_resolver

from coachdesk.practice.owned import Owned

ROOT = Path(__file__).resolve().parent.parent
OURS = ("coachdesk", "programs", "clients")
# Each layer may import itself and what stands after it.
LAYERS = ("coachdesk", "clients", "programs", "coachdesk.practice")
ACCESS = {"coach", "owner", "health", "client", "public"}
# Rows that belong to no practice.
PRACTICE_LESS = {"practice.Practice", "practice.Throttle"}


def modules():
    for top in OURS:
        for path in sorted((ROOT / top).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path


def name_of(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def layer_of(module):
    if module.startswith("coachdesk.practice"):
        return LAYERS.index("coachdesk.practice")
    return LAYERS.index(module.split(".")[0])


def imports_of(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_imports_run_one_way(path):
    module = name_of(path)
    wrong = [
        imported
        for imported in imports_of(path)
        if imported.split(".")[0] in OURS and layer_of(imported) < layer_of(module)
    ]
    # What the machine offers (settings, fonts, text libraries) holds no rules and may be asked from everywhere.
    machine = ("coachdesk.environment", "coachdesk.textlibraries", "coachdesk.fonts")
    wrong = [name for name in wrong if name != "coachdesk" and not name.startswith(machine)]
    assert not wrong


@pytest.mark.parametrize(
    "path", [path for path in modules() if name_of(path).startswith("programs.engine")], ids=name_of
)
def test_the_engine_imports_nothing_of_ours_and_no_framework(path):
    foreign = {"django", "django_tasks", "weasyprint", "requests", "sqlite3", "time", "secrets"}
    for imported in imports_of(path):
        top = imported.split(".")[0]
        assert top not in foreign, imported
        assert top not in OURS or imported.startswith("programs.engine"), imported


def test_the_engine_runs_without_django():
    names = [name_of(path) for path in modules() if name_of(path).startswith("programs.engine")]
    code = "\n".join(
        [
            "import importlib, json, sys",
            *(f"importlib.import_module({name!r})" for name in names),
            "foreign = ('django', 'clients', 'coachdesk')",
            "print(json.dumps([name for name in sys.modules if name.split('.')[0] in foreign]))",
        ]
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == []


def patterns(resolver=None, prefix=""):
    for entry in (resolver or get_resolver()).url_patterns:
        route = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            if entry.app_name != "admin":
                yield from patterns(entry, route)
        elif isinstance(entry, URLPattern):
            yield route, entry.callback


@pytest.mark.parametrize(("route", "view"), patterns(), ids=[route for route, _view in patterns()])
def test_every_view_is_marked(route, view):
    assert getattr(view, "access", None) in ACCESS


def own_models():
    return [model for label in ("practice", "programs", "clients") for model in apps.get_app_config(label).get_models()]


@pytest.mark.parametrize("model", own_models(), ids=lambda model: model._meta.label)
def test_every_row_belongs_to_a_practice(model):
    if model._meta.label in PRACTICE_LESS:
        return
    assert issubclass(model, Owned)
    step = model
    for name in model.practice_path.split("__"):
        field = step._meta.get_field(name)
        assert isinstance(field, models.ForeignKey)
        assert not field.null, f"{model._meta.label} can lose its practice at {name}"
        step = field.related_model
    assert step._meta.label == "practice.Practice"


TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
PAGES = [path for path in TEMPLATES if "sheets" not in path.relative_to(ROOT / "templates").parts[:1]]
TEMPLATE_TAGS = re.compile(
    r"\{%\s*comment.*?endcomment\s*%\}|\{#.*?#\}"
    r"|\{%\s*block (?:\w*class|place)\b.*?endblock[^%]*%\}"
    r"|\{%\s*blocktrans(?:late)?.*?endblocktrans(?:late)?\s*%\}|\{%.*?%\}|\{\{.*?\}\}",
    re.DOTALL,
)
WORD = re.compile(r"[^\W\d_]{2,}")
# Signs of the trade and of units that read the same in every language.
UNTRANSLATED = {"kg", "lb", "min", "RIR", "RPE", "Coachdesk", "doctype", "html", "svg", "Ctrl", "Alt"}
READ_OUT = re.compile(r'\b(?:title|alt|aria-label|placeholder)="([^"]*)"')


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
def test_pages_have_no_inline_script_or_style(path):
    text = path.read_text()
    assert not re.search(r"<style\b", text)
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r'\s(?:style|on[a-z]+)="', text)
    assert "javascript:" not in text
    assert "|safe" not in text


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
def test_every_word_of_a_template_can_be_translated(path):
    text = TEMPLATE_TAGS.sub(" ", path.read_text())
    spoken = " ".join(READ_OUT.findall(text))
    text = re.sub(r"<(?:style|script)\b.*?</(?:style|script)>", " ", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->|<[^>]*>|&\w+;", " ", text, flags=re.DOTALL)
    bare = [word for word in WORD.findall(f"{text} {spoken}") if word not in UNTRANSLATED]
    assert not bare, f"not marked for translation: {bare[:8]}"
