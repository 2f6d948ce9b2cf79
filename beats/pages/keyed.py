"""Forms that, sent twice by a cold thumb, act once."""

import uuid
from typing import Any

from django import forms

from beats.shared.once import Once


def new_key() -> str:
    return str(uuid.uuid4())


class KeyForm(forms.Form):
    """Never sent without a key; a page may lengthen one to tell its own forms apart."""

    key = forms.CharField(max_length=80, widget=forms.HiddenInput, initial=new_key)


class KeyedForm(forms.Form):
    """Carries a key made when it was shown; the service that gets `once_of` knows a second tap by it."""

    key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, required=False)


def once_of(data: dict[str, Any], *what: Any) -> Once | None:
    """The key and what was asked; without a key every request is its own."""
    if not data.get("key"):
        return None
    asked = {name: str(value) for name, value in data.items() if name != "key"}
    return Once.of(str(data["key"]), [*map(str, what), asked])
