from django.apps import AppConfig


class BeatsConfig(AppConfig):
    name = "beats"

    def ready(self) -> None:
        from beats import checks  # noqa: F401, PLC0415 - registers them; it needs the models
