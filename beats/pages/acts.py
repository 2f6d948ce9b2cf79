"""A form and the one deed behind it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse, QueryDict
from django.utils import timezone
from django.utils.translation import gettext as _

from beats.pages.show import shown, wants_json
from beats.pages.told import or_english
from beats.shared.refusals import Refusal, Stale


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent, be it nothing at all; None where the page is only opened."""
    return request.POST if request.method == "POST" else None


def acted(
    request: HttpRequest,
    form: forms.Form,
    do: Callable[[dict[str, Any]], Any],
    *,
    then: str | Callable[[Any], str],
    template: str = "pages/form.html",
    facts: dict[str, Any] | None = None,
) -> HttpResponse:
    """Do it and go on to `then`; a fault or a refusal shows the form again with all that was typed.

    `do` gets the cleaned data. A phone's own script gets a receipt with the server's time instead.
    """
    if request.method != "POST":
        return shown(request, template, {"form": form} | (facts or {}))
    if form.is_valid():
        try:
            done = do(form.cleaned_data)
        except Refusal as refusal:
            put_refusal(form, refusal)
        else:
            return _done(request, then(done) if callable(then) else then)
    else:
        say_what_is_hidden(form)
    if wants_json(request):
        return JsonResponse(
            {"code": getattr(form, "refusal_code", "invalid"), "sentence": sentence_of(form)}, status=422
        )
    return shown(request, template, {"form": form} | (facts or {}), status=422)


def or_stands(do: Callable[[], Any], stands: Callable[[], Any]) -> Any:
    """The deed; where somebody was there first, whatever `stands` finds to be just as asked: a second tap."""
    try:
        return do()
    except Stale:
        if found := stands():
            return found
        raise


def _done(request: HttpRequest, path: str) -> HttpResponse:
    if wants_json(request):
        return JsonResponse({"received_at": timezone.now().isoformat(), "next": path})
    return HttpResponseRedirect(path, status=303)


def put_refusal(form: forms.Form, refusal: Refusal) -> None:
    """A refusal beside the field it names, else above the form. A form's `columns` say which field fills which."""
    form.add_error(None, or_english(refusal.sentence))
    form.is_stale = isinstance(refusal, Stale)
    form.refusal_code = refusal.code
    columns = getattr(form, "columns", {})
    for column, texts in refusal.errors.items():
        if (field := columns.get(column, column)) in form.fields:
            form.add_error(field, [or_english(text) for text in texts])


def say_what_is_hidden(form: forms.Form) -> None:
    """A fault in what nobody types has no place of its own on the page: it is said above the form."""
    if any(field.errors for field in form.hidden_fields()):
        form.add_error(None, _("The page did not arrive whole. Open it again, and do it there."))
        form.is_stale = True


def sentence_of(form: forms.Form) -> str:
    """What is wrong, in one line."""
    lines = list(form.non_field_errors())
    lines += [f"{form[name].label}: {text}" for name in form.fields for text in form[name].errors]
    return " ".join(lines)
