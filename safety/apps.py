from django.apps import AppConfig


class SafetyConfig(AppConfig):
    name = "safety"

    def ready(self):
        from safety import (  # noqa: PLC0415 - register themselves once models are loaded
            beat_calls,  # noqa: F401
            guards,  # noqa: F401
            holdings,  # noqa: F401
        )
        from safety.services import resuming  # noqa: F401, PLC0415
