"""Keys of district boards, which read the signed returns and nothing else."""

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted, posted
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.keyed import KeyForm
from beats.pages.people import SecretForm, secret_shown
from beats.shared.once import Once
from sessions.models import BoardKey
from sessions.services.board_keys import issue_board_key, revoke_board_key

BOTH = ("GET", "POST")


class BoardKeyForm(KeyForm, SecretForm):
    """As of a token, with a key of its own."""


@page(OWNER)
def keys(request, *, now, fishery):
    standing = BoardKey.objects.filter(fishery=fishery, revoked_at__isnull=True, expires_at__gt=now)
    return shown_at(request, fishery, "season/keys.html", {"keys": standing.order_by("-created_at", "-pk")})


@page(OWNER, methods=BOTH)
def new(request, *, now, fishery):
    """The secret is on the page that answers and nowhere else; a second tap makes none and shows none."""
    form = BoardKeyForm(posted(request))
    made: list[str] = []

    def do(data):
        asked = {"label": data["label"], "days": data["days"]}
        _key, secret, _new = issue_board_key(
            fishery, **asked, by=request.user, now=now, once=Once.of(data["key"], asked)
        )
        made.extend([secret] if secret else [])

    lead = _("Whoever holds it reads the signed returns of this fishery, and nothing else.")
    facts = {"title": _("Make a key for a district board"), "button": _("Make it"), "lead": lead}
    back = reverse("house-keys", args=[fishery.slug])
    answer = acted(request, form, do, then=back, facts=facts)
    return secret_shown(request, fishery, made[0], form, back=back) if made else answer


@page(OWNER, methods=BOTH)
def withdraw(request, *, now, fishery, pk):
    """Asked once."""
    key = get_object_or_404(BoardKey.objects.select_related("fishery"), pk=pk, fishery=fishery)
    lead = _("%(label)s: whoever holds it is shut out at once.") % {"label": key.label}
    facts = {"title": _("Withdraw this key?"), "button": _("Withdraw it"), "rusty": True, "lead": lead}
    return acted(
        request, KeyForm(posted(request)), lambda _data: revoke_board_key(key, by=request.user, now=now),
        then=reverse("house-keys", args=[fishery.slug]), facts=facts,
    )  # fmt: skip
