"""This app's rows in the back office."""

from django.apps import apps

from beats.shared.looking import open_to_looking

open_to_looking(apps.get_app_config("fishing_sessions"))
