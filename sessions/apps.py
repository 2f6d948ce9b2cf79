from django.apps import AppConfig


class OnTheWaterConfig(AppConfig):
    """The label differs from the package: `sessions` is already Django's own."""

    name = "sessions"
    label = "fishing_sessions"

    def ready(self):
        from sessions import calendar_turns, holdings, objections  # noqa: F401, PLC0415 - register themselves
        from sessions.services import reachability  # noqa: F401, PLC0415
