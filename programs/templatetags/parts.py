"""What the reusable fragments need beyond Django's own tags: signs, the tally rule, toasts with an undo."""

import re
from functools import cache, lru_cache

from django import template
from django.conf import settings
from django.contrib.messages.storage.base import Message
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from programs.drawings.tally import tally_rule

register = template.Library()

SYMBOL = re.compile(r'<symbol id="(\w+)" viewBox="0 0 ([\d.]+) ([\d.]+)">\s*(.*?)\s*</symbol>', re.DOTALL)
UNDO = "undo:"
MOST_BEADS = 4


@register.simple_block_tag
def naming(content: str) -> str:
    """{% naming as place %}{% block place %}…{% endnaming %}: hands a block's words to an include."""
    return mark_safe(content.strip())  # noqa: S308  the words come from a template, already escaped there


@register.simple_tag
@lru_cache(maxsize=256)  # a row of a long list has several
def icon(name: str, size: int = 16) -> SafeString:
    """A sign from the sprite, for pages. Drawn only: the word beside it says what it means."""
    width, height = _box(name)
    return format_html(
        '<svg class="icon icon-{}" width="{}" height="{}" aria-hidden="true" focusable="false">'
        '<use href="{}#{}"/></svg>',
        name,
        round(size * width / height),
        size,
        static("icons/sprite.svg"),
        name,
    )


@register.simple_tag
def inline_icon(name: str, size: float = 16) -> SafeString:
    """The same sign drawn in place, for paper, where no other file is fetched."""
    width, height = _box(name)
    return format_html(
        '<svg class="icon icon-{}" viewBox="0 0 {} {}" width="{}" height="{}"><title>{}</title>{}</svg>',
        name,
        f"{width:g}",
        f"{height:g}",
        f"{size * width / height:g}",
        f"{size:g}",
        name,
        mark_safe(_symbols()[name][1]),  # noqa: S308  our own artwork
    )


@register.simple_tag
def tally(done: int, total: int, width: int = 160) -> SafeString:
    """The tally rule, a stroke an item; raises ValueError when more is done than there is."""
    title = _("%(done)d of %(total)d") % {"done": done, "total": total}
    return mark_safe(tally_rule(done, total, title=title, width=width))  # noqa: S308  escapes what it is given


@register.simple_tag
def beads(reserve: int | str) -> SafeString:
    """Reps in reserve as open beads, four at most, and a dash for none: drawn only, the number stands beside it."""
    count = min(int(reserve), MOST_BEADS)
    size, pitch = 5, 8
    if count:
        middles = (size / 2 + 1 + pitch * place for place in range(count))
        drawn = "".join(f'<circle cx="{x:g}" cy="3.5" r="{size / 2:g}"/>' for x in middles)
    else:
        drawn = '<path d="M0 3.5h7"/>'
    width = pitch * max(count, 1) - 1
    return format_html(
        '<svg class="beads" width="{0}" height="7" viewBox="0 0 {0} 7" fill="none" stroke="currentColor" '
        'stroke-width="1.3" aria-hidden="true" focusable="false">{1}</svg>',
        width,
        mark_safe(drawn),  # noqa: S308  numbers only
    )


@register.filter
def undo_url(message: Message) -> str:
    """The address that takes back what a message tells of, or nothing.

    The view says it with the message: messages.success(request, text, extra_tags=f"undo:{url}").
    """
    tags = (message.extra_tags or "").split()
    return next((tag.removeprefix(UNDO) for tag in tags if tag.startswith(UNDO)), "")


@register.filter
def is_error(message: Message) -> bool:
    return message.level_tag == "error"


def _box(name: str) -> tuple[float, float]:
    return _symbols()[name][0]


@cache
def _symbols() -> dict[str, tuple[tuple[float, float], str]]:
    """Name to its box (width, height) and its artwork, read once from the sprite."""
    sprite = (settings.BASE_DIR / "static" / "icons" / "sprite.svg").read_text()
    return {name: ((float(width), float(height)), art) for name, width, height, art in SYMBOL.findall(sprite)}
