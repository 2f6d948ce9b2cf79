from django.apps import AppConfig


class BookingsConfig(AppConfig):
    name = "bookings"

    def ready(self):
        from bookings import holdings, objections  # noqa: F401, PLC0415 - register themselves once models are loaded
