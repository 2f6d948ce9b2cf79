from django.apps import AppConfig


class BookingsConfig(AppConfig):
    name = "bookings"

    def ready(self):
        from bookings import objections  # noqa: F401, PLC0415 - registers itself once models are loaded
