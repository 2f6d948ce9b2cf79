from django.apps import AppConfig


class SafetyConfig(AppConfig):
    name = "safety"

    def ready(self):
        from safety import guards, holdings  # noqa: F401, PLC0415 - register themselves once models are loaded
        from safety.services import resuming  # noqa: F401, PLC0415
