"""The back office: every row to look at, none to touch.

Whoever runs the service reads the book here. Changing goes through the verbs of the API, which keep the
rules, lock what must be locked and leave an audit row; a form that writes rows would do none of it.
Secrets and their hashes are not shown.
"""

from django.apps import AppConfig
from django.contrib import admin
from django.db import models

KEPT_BACK = ("password", "digest", "secret", "fingerprint", "request_key", "signature", "endpoint")
COLUMNS = 8


class Looking(admin.ModelAdmin):
    """One model's rows, newest first."""

    list_per_page = 50
    show_full_result_count = False  # counting a season's readings takes longer than showing them
    ordering = ("-pk",)

    def has_add_permission(self, request):  # noqa: ARG002 - Django's own signature
        return False

    def has_change_permission(self, request, obj=None):  # noqa: ARG002
        return False

    def has_delete_permission(self, request, obj=None):  # noqa: ARG002
        return False

    def get_fields(self, request, obj=None):  # noqa: ARG002
        return shown(self.model)

    def get_list_display(self, request):  # noqa: ARG002
        return ("__str__", *shown(self.model)[:COLUMNS])

    def get_list_select_related(self, request):  # noqa: ARG002
        return [
            field.name
            for field in self.model._meta.concrete_fields
            if isinstance(field, models.ForeignKey) and field.name in shown(self.model)[:COLUMNS]
        ]


def shown(model: type[models.Model]) -> list[str]:
    """The columns of a model, without what must stay secret."""
    names = [field.name for field in model._meta.concrete_fields if not field.primary_key]
    return [name for name in names if not any(word in name for word in KEPT_BACK)]


def open_to_looking(app: AppConfig) -> None:
    """Register every model of an app."""
    for model in app.get_models():
        admin.site.register(model, Looking)
