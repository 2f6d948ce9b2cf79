"""Which telephones of a person are told by push, and this one taken on or off."""

from django import forms
from django.conf import settings
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted, posted
from beats.pages.door import page
from beats.pages.told import or_english
from safety import push, queries
from safety.services.channels_available import told_otherwise
from safety.services.pushes import add_push_address, drop_push_address


class SubscriptionForm(forms.Form):
    """Filled in by the page's script with what the browser subscribed to; nobody types any of it."""

    endpoint = forms.CharField(max_length=1000, widget=forms.HiddenInput)
    p256dh = forms.CharField(max_length=200, widget=forms.HiddenInput)
    auth = forms.CharField(max_length=100, widget=forms.HiddenInput)
    label = forms.CharField(max_length=60, required=False, widget=forms.HiddenInput)


@page(methods=("GET", "POST"))
def phones(request, *, now):
    def take(data):
        return add_push_address(
            endpoint=data["endpoint"], phone_key=data["p256dh"], auth_secret=data["auth"], label=data["label"],
            by=request.user, now=now,
        )  # fmt: skip

    key = settings.WEB_PUSH_KEY
    facts = {"phones": queries.push_addresses_of(request.user), "public_key": push.public_key(key) if key else "",
             "otherwise": told_otherwise(request.user)}  # fmt: skip
    return acted(
        request, SubscriptionForm(posted(request)), take, then=reverse("my-phones"),
        template="safety/phones.html", facts=facts,
    )  # fmt: skip


@page(methods=("GET", "POST"))
def phone_off(request, *, now, pk):
    address = get_object_or_404(queries.push_addresses_of(request.user), pk=pk)
    facts = {
        "title": _("Push no more to %(phone)s?") % {"phone": address.label or address.host},
        "button": _("Push no more"),
        "lead": or_english(told_otherwise(request.user)),
    }

    def take_off(_data):
        drop_push_address(address, by=request.user, now=now)

    return acted(
        request, forms.Form(posted(request)), take_off,
        then=reverse("my-phones"), facts=facts,
    )  # fmt: skip
