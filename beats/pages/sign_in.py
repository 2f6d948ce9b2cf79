"""Signing in by a code typed in the browser that asked, and out."""

from django import forms
from django.conf import settings
from django.contrib.auth import login, logout
from django.http import HttpResponseRedirect
from django.urls import reverse
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.client import client_of
from beats.pages.door import KEPT, page
from beats.pages.show import shown
from beats.services.sign_in import HOUR, ask_for_code, use_code
from beats.services.sign_out import sign_out_everywhere
from beats.shared.limits import spend

ASKED = "sign-in asked"
NEXT = "next"
WAY_IN = "django.contrib.auth.backends.ModelBackend"


class EmailForm(forms.Form):
    email = forms.EmailField(
        label=_("Your e-mail address"),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email", "autofocus": True}),
    )


class CodeForm(forms.Form):
    code = forms.CharField(
        label=_("The code, eight figures"),
        max_length=40,
        widget=forms.TextInput(
            attrs={"inputmode": "numeric", "autocomplete": "one-time-code", "autofocus": True, "class": "code"}
        ),
    )


@page(methods=("GET", "POST"), public=True)
def sign_in(request, *, now):
    """Ask for a code."""
    if wanted := _next(request):
        request.session[NEXT] = wanted

    def ask(data):
        request.session[ASKED] = str(
            ask_for_code(data["email"], client=client_of(request), language=translation.get_language(), now=now).pk
        )

    facts = {"title": _("Sign in"), "button": _("Send me a code")}
    return acted(
        request, EmailForm(posted(request)), ask, then=reverse("sign-in-code"),
        template="pages/sign_in.html", facts=facts,
    )  # fmt: skip


@page(methods=("GET", "POST"), public=True)
def code(request, *, now):
    """Type it."""
    if ASKED not in request.session:
        return HttpResponseRedirect(reverse("sign-in"), status=303)

    def use(data):
        if client := client_of(request):
            spend("type a code from", client, allowed=60, each=HOUR, now=now)
        user = use_code(request.session[ASKED], data["code"], now=now)
        onward, kept = request.session.get(NEXT), request.session.get(KEPT)
        login(request, user, backend=WAY_IN)
        request.session.pop(ASKED, None)
        if kept:
            request.session[KEPT] = kept
        return onward or reverse("home")

    facts = {"title": _("Type the code"), "button": _("Sign in"), "demo": settings.DEMO}
    return acted(
        request, CodeForm(posted(request)), use, then=lambda onward: onward,
        template="pages/sign_in_code.html", facts=facts,
    )  # fmt: skip


@page(methods=("GET", "POST"))
def sign_out(request, *, now):  # noqa: ARG001 - every page is told the time
    """Asked for once; the phone's own copies go with it."""
    if request.method == "POST":
        logout(request)
        return shown(request, "pages/signed_out.html")
    return shown(request, "pages/sign_out.html")


@page(methods=("GET", "POST"))
def everywhere(request, *, now):
    """Asked for once; this browser ends with the others."""
    if request.method == "POST":
        sign_out_everywhere(by=request.user, now=now)
        logout(request)
        return shown(request, "pages/signed_out.html", {"everywhere": True})
    return shown(request, "pages/sign_out_everywhere.html")


@page()
def kept(request, *, now):  # noqa: ARG001
    """What was typed when the sign-in had run out: shown again, and sent only by their own hand."""
    return shown(request, "pages/kept.html", {"kept": request.session.pop(KEPT, None)})


def _next(request) -> str:
    wanted = request.GET.get("next", "") or request.session.get(NEXT, "")
    good = url_has_allowed_host_and_scheme(wanted, allowed_hosts=None) and wanted.startswith("/")
    return wanted if good and len(wanted) < 500 else ""
