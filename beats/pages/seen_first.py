"""A form whose effect is shown before it is made: pressed once to see it, pressed again to do it.

What is shown is not reckoned a second time: the deed is done, told and taken back in one transaction, so
that whatever it would refuse is refused at the first press, in the same words.
"""

import hashlib
from collections.abc import Callable
from typing import Any

from django import forms
from django.db import transaction
from django.http import HttpRequest, HttpResponse

from beats.pages.acts import acted, put_refusal
from beats.pages.show import shown
from beats.shared.refusals import Refusal

TEMPLATE = "pages/seen_first.html"
SEEN = "seen"


def seen_first(
    request: HttpRequest,
    form: forms.Form,
    do: Callable[[dict[str, Any]], Any],
    *,
    tell: Callable[[Any], dict[str, Any]],
    then: str | Callable[[Any], str],
    go: str,
    facts: dict[str, Any],
    template: str = TEMPLATE,
) -> HttpResponse:
    """As `acted`, after `tell(done)` has been on the page for exactly what is sent; `go` names the second press.

    Whoever changes anything in between sees the new effect first. `tell` gives finished lists, not questions.
    """
    if request.method != "POST" or not form.is_valid() or request.POST.get(SEEN) == mark_of(request):
        return acted(request, form, do, then=then, template=template, facts=facts)
    try:
        told = _taken_back(lambda: tell(do(form.cleaned_data)))
    except Refusal as refusal:
        put_refusal(form, refusal)
        return shown(request, template, {"form": form} | facts, status=422)
    once_seen = {"form": form, SEEN: mark_of(request), "button": go}
    return shown(request, template, facts | once_seen | told)


def mark_of(request: HttpRequest) -> str:
    """What was sent, but for the marks that travel with every form."""
    sent = [(name, request.POST.getlist(name)) for name in sorted(request.POST)]
    told = [each for each in sent if each[0] not in {"csrfmiddlewaretoken", SEEN}]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def _taken_back(do: Callable[[], Any]) -> Any:
    with transaction.atomic():
        told = do()
        transaction.set_rollback(True)
    return told
