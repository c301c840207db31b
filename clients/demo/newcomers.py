"""The demo for a practice made a moment ago, if its owner asked for it."""

from coachdesk.practice.models import Coach


def fill_new_practice(owner: Coach, with_demo: bool) -> None:
    from clients.demo.load import load_demo

    if with_demo:
        load_demo(owner)
