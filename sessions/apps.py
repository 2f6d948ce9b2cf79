from django.apps import AppConfig


class OnTheWaterConfig(AppConfig):
    """The label differs from the package: `sessions` is already Django's own."""

    name = "sessions"
    label = "fishing_sessions"

    def ready(self):
        from sessions import objections  # noqa: F401, PLC0415 - registers itself once models are loaded
