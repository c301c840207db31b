"""The style sheets keep to the tokens, the tokens can be read, and nothing is styled inside the HTML."""

import re

import pytest
from django.conf import settings

STYLES = sorted((settings.BASE_DIR / "static" / "css").glob("*.css"))
TEMPLATES = sorted((settings.BASE_DIR / "templates").rglob("*.html"))
TOKENS = (settings.BASE_DIR / "static" / "css" / "tokens.css").read_text()
GROUNDS = ("paper", "sheet", "sunk")
COLOUR = re.compile(r"#[0-9a-f]{3,8}\b|\brgba?\(|\bhsla?\(", re.IGNORECASE)
DECLARED = re.compile(r"--([a-z0-9-]+):\s*(#[0-9a-f]{6});")


def colours(selector):
    """The colour tokens of the first block that a selector opens."""
    block = TOKENS[TOKENS.index(selector + " {") :]
    return dict(DECLARED.findall(block[: block.index("}")]))


LIGHT = colours(":root")
DARK = colours(":root[data-theme='dark']")


def luminance(colour):
    """Relative luminance (WCAG 2.2)."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("text", ["ink", "ink2", "ink3", "accent", "signal"])
def test_text_can_be_read_on_every_ground(theme, text):
    assert min(contrast(theme[text], theme[ground]) for ground in GROUNDS) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_controls_and_data_can_be_told_from_the_ground(theme):
    assert min(contrast(theme["edge"], theme[ground]) for ground in GROUNDS) >= 3
    assert min(contrast(theme[data], theme["sheet"]) for data in ("d1", "d2", "d3", "d4")) >= 3


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("on-accent", "accent"),
        ("ink", "wash"),
        ("ink2", "wash"),
        ("accent", "wash"),
        ("signal", "signal-wash"),
        ("ink", "signal-wash"),
        ("paper", "ink"),
    ],
)
def test_text_can_be_read_on_coloured_grounds(theme, text, ground):
    assert contrast(theme[text], theme[ground]) >= 4.5


def test_the_device_and_the_switch_give_the_same_dark():
    assert colours(":root:not([data-theme='light'])") == DARK
    assert set(DARK) == set(LIGHT)


@pytest.mark.parametrize("path", [path for path in STYLES if path.name not in ("tokens.css", "print.css")], ids=str)
def test_no_colour_is_written_outside_the_tokens(path):
    assert COLOUR.findall(path.read_text()) == []


def test_every_token_in_use_is_declared():
    styles = "\n".join(path.read_text() for path in STYLES)
    declared = set(re.findall(r"(--[a-z0-9-]+):", styles))
    assert set(re.findall(r"var\((--[a-z0-9-]+)", styles)) <= declared


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(settings.BASE_DIR)))
def test_pages_carry_no_style_or_script_of_their_own(path):
    """Printed sheets are no pages: they are rendered without a content policy, from one document."""
    if "sheets" in path.parts:
        return
    html = path.read_text()
    assert re.findall(r"\sstyle=|<style|\son[a-z]+=|hx-on|js:|javascript:", html) == []
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", html))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: str(path.relative_to(settings.BASE_DIR)))
def test_every_sign_that_a_page_asks_for_is_drawn(path):
    sprite = (settings.BASE_DIR / "static" / "icons" / "sprite.svg").read_text()
    asked = re.findall(r'{% (?:inline_)?icon "([a-z]+)"', path.read_text())
    asked += re.findall(r'parts/_flag.html" with kind="([a-z]+)"', path.read_text())
    assert [name for name in asked if f'id="{name}"' not in sprite] == []
