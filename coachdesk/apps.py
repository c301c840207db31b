from django.apps import AppConfig


class CoachdeskConfig(AppConfig):
    name = "coachdesk"
    label = "coachdesk"
