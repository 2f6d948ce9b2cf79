"""Who has which part at a fishery, and the tokens of the owner's own programs."""

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from beats.models import Membership
from beats.pages.acts import acted, posted
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.keyed import KeyForm
from beats.services.tokens import make_token, tokens_of, withdraw_token

BOTH = ("GET", "POST")
DAYS = [("30", _("A month")), ("180", _("Half a year")), ("365", _("A year"))]


class SecretForm(forms.Form):
    """A name to know it by when it is to be withdrawn, and how long it opens anything."""

    label = forms.CharField(label=_("What it is for"), max_length=80)
    days = forms.ChoiceField(label=_("How long it works"), choices=DAYS, initial="180", widget=forms.RadioSelect)

    def clean_days(self) -> int:
        return int(self.cleaned_data["days"])


@page(OWNER)
def people(request, *, now, fishery):
    rows = Membership.objects.filter(fishery=fishery).select_related("user")
    facts = {
        "keepers": rows.filter(role__in=Membership.KEEPERS).order_by("-role", "user__name", "pk"),
        "guests": rows.filter(role=Membership.Role.GUEST).order_by("user__name", "pk"),
        "tokens": tokens_of(request.user, now=now),
    }
    return shown_at(request, fishery, "people/people.html", facts)


@page(OWNER, methods=BOTH)
def new_token(request, *, now, fishery):
    """The secret is on the page that answers and nowhere else; opening this again does not bring it back."""
    form = SecretForm(posted(request))
    made: list[str] = []

    def do(data):
        made.append(make_token(fishery, **data, by=request.user, now=now))

    lead = _t("A program that sends it acts as you, wherever you have a part. Give each program its own.")
    facts = {"title": _t("Make a token"), "button": _t("Make it"), "lead": lead}
    back = reverse("house-people", args=[fishery.slug])
    answer = acted(request, form, do, then=back, facts=facts)
    return secret_shown(request, fishery, made[0], form, back=back) if made else answer


def secret_shown(request, fishery, secret: str, form: forms.Form, *, back: str):
    """The one page that ever holds it."""
    facts = {"secret": secret, "label": form.cleaned_data["label"], "back": back}
    return shown_at(request, fishery, "people/secret.html", facts)


@page(OWNER, methods=BOTH)
def withdraw(request, *, now, fishery, pk):
    """Asked once: what uses it stops at once."""
    token = get_object_or_404(tokens_of(request.user, now=now), pk=pk)
    facts = {"title": _t("Withdraw this token?"), "button": _t("Withdraw it"), "rusty": True,
             "lead": _t("%(label)s: whatever uses it is shut out at once.") % {"label": token.label}}  # fmt: skip
    return acted(
        request, KeyForm(posted(request)),
        lambda _data: withdraw_token(token, fishery=fishery, by=request.user, now=now),
        then=reverse("house-people", args=[fishery.slug]), facts=facts,
    )  # fmt: skip
