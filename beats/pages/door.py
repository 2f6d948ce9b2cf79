"""The door of every page: who is there, in which language, at what time; and every no in words."""

import functools
from collections.abc import Callable
from urllib.parse import urlencode

from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseNotAllowed,
    HttpResponseRedirect,
    JsonResponse,
)
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.gzip import gzip_page

from beats.models import Membership
from beats.pages.show import parts_of, plain_page, wants_json
from beats.pages.told import or_english
from beats.queries import fisheries_visible_to, the_parts
from beats.shared import wall
from beats.shared.phrases import say
from beats.shared.refusals import NotYours, Refusal

GUEST, GHILLIE, OWNER = Membership.Role.GUEST, Membership.Role.GHILLIE, Membership.Role.OWNER
KEEPERS = (GHILLIE, OWNER)
KEPT = "kept form"
LARGEST_KEPT = 8_000


def page(*roles: str, methods: tuple[str, ...] = ("GET",), public: bool = False) -> Callable:
    """A page that is called with `now`; with `roles` the address names a `fishery`, and only these parts get in.

    A stranger to the fishery gets a 404, a member with another part is told whose it is. Nobody signed in is
    led to sign in; what they had typed is kept for them, and sent by their own hand afterwards.
    """

    def guard(view: Callable) -> Callable:
        @gzip_page
        @functools.wraps(view)
        def wrapped(request: HttpRequest, **address) -> HttpResponse:
            with translation.override(translation.get_language_from_request(request)):
                if request.method not in {*methods, "HEAD"} or (request.method == "HEAD" and "GET" not in methods):
                    return HttpResponseNotAllowed(methods)
                if not public and not request.user.is_authenticated:
                    return to_sign_in(request)
                if request.user.is_authenticated:
                    wall.raise_for(request.user.pk)
                return _marked(request, _answer(view, request, roles, address))

        return wrapped

    return guard


def _answer(view: Callable, request: HttpRequest, roles: tuple[str, ...], address: dict) -> HttpResponse:
    try:
        return view(request, now=timezone.now(), **_let_in(request, roles, address))
    except Refusal as refusal:
        return refused(request, refusal)
    except Http404:
        return nothing_here(request)


def _marked(request: HttpRequest, answer: HttpResponse) -> HttpResponse:
    """Whose page it is and in which language: the phone's worker holds pages of one person only."""
    answer.headers["Content-Language"] = translation.get_language()
    if request.user.is_authenticated:
        answer.headers["X-Page-For"] = str(request.user.pk)
    elif "X-Hold" in request.headers:  # asked for by the worker, beside a form that has the cookie of its own page
        request.META.pop("CSRF_COOKIE_NEEDS_UPDATE", None)
    return answer


def _let_in(request: HttpRequest, roles: tuple[str, ...], address: dict) -> dict:
    if not roles:
        return address
    fishery = get_object_or_404(fisheries_visible_to(request.user), slug=address["fishery"])
    mine = next((part.role for part in parts_of(request) if part.fishery_id == fishery.pk), None)
    if mine not in roles:
        raise NotYours(
            say(
                "At {fishery_name} this is for {who}. Ask them.",
                fishery_name=fishery.name,
                who=the_parts(roles),
            )
        )
    return address | {"fishery": fishery}


def refused(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    if wants_json(request):
        return JsonResponse(
            {"code": refusal.code, "sentence": or_english(refusal.sentence)}, status=refusal.status
        )
    return plain_page(request, or_english(refusal.title), or_english(refusal.sentence), status=refusal.status)


def nothing_here(request: HttpRequest) -> HttpResponse:
    words = _("There is nothing here that you may see. Look at the address, or go back to your day.")
    if wants_json(request):
        return JsonResponse({"code": "not-found", "sentence": words}, status=404)
    return plain_page(request, _("Nothing here"), words, status=404)


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """On to the code; what was posted is kept meanwhile."""
    if wants_json(request):
        words = _("You are signed out. What you said is kept on this phone: sign in, and it is sent.")
        return JsonResponse({"code": "signed-out", "sentence": words}, status=401)
    target = request.get_full_path()
    if request.method == "POST":
        target = reverse("kept") if _keep(request) else reverse("home")
    return HttpResponseRedirect(f"{reverse('sign-in')}?{urlencode({'next': target})}", status=303)


def _keep(request: HttpRequest) -> bool:
    """Put what was typed by in the visitor's own session; False when it is too much to keep."""
    typed = [(name, value) for name in request.POST for value in request.POST.getlist(name)]
    typed = [(name, value) for name, value in typed if name != "csrfmiddlewaretoken"]
    if sum(len(name) + len(value) for name, value in typed) > LARGEST_KEPT:
        return False
    request.session[KEPT] = {"path": request.path, "typed": typed}
    return True
