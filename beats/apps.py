from django.apps import AppConfig


class BeatsConfig(AppConfig):
    name = "beats"
