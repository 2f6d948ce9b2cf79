"""Forms that, sent twice by a cold thumb, act once."""

import datetime as dt
import math
import uuid
from typing import Any

from django import forms

from beats.shared.once import Once

OLDEST_S = 7 * 24 * 3600.0
AGE_UNKNOWN = "unknown"
"""What a phone sends whose clock was changed while an entry waited."""


def new_key() -> str:
    return str(uuid.uuid4())


class KeyForm(forms.Form):
    """Never sent without a key; a page may lengthen one to tell its own forms apart."""

    key = forms.CharField(max_length=80, widget=forms.HiddenInput, initial=new_key)


class VersionForm(forms.Form):
    """What was read travels along: what somebody else changed meanwhile is not overwritten."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)


class KeyedForm(forms.Form):
    """Carries a key made when it was shown, or the phone's own; the service that gets `once_of` knows a second
    tap by it."""

    key = forms.CharField(max_length=80, widget=forms.HiddenInput, initial=new_key, required=False)


class AgedForm(forms.Form):
    """What a phone kept until there was signal says how long it waited; no number counts as no time."""

    said_age_s = forms.CharField(required=False, widget=forms.HiddenInput)

    def age(self) -> dt.timedelta:
        try:
            seconds = float(self.cleaned_data.get("said_age_s") or 0)
        except ValueError:
            seconds = 0.0
        waited = min(max(seconds, 0.0), OLDEST_S) if math.isfinite(seconds) else 0.0
        return dt.timedelta(seconds=waited)


def once_of(data: dict[str, Any], *what: Any) -> Once | None:
    """The key and what was asked; without a key every request is its own."""
    if not data.get("key"):
        return None
    asked = {name: str(value) for name, value in data.items() if name != "key"}
    return Once.of(str(data["key"]), [*map(str, what), asked])
