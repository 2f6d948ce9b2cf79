from django.apps import AppConfig


class SafetyConfig(AppConfig):
    name = "safety"

    def ready(self):
        from safety import guards  # noqa: F401, PLC0415 - registers itself once models are loaded
