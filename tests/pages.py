"""What a page says and what stands in its boxes."""

import re


def text_of(response):
    """The words, without tags and with single spaces."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def value_of(page, name):
    """What stands in a box; "" for nothing."""
    box = re.search(rf'<input[^>]* name="{name}"[^>]*>', page.content.decode())
    found = re.search(r' value="([^"]*)"', box.group(0))
    return found.group(1) if found else ""
