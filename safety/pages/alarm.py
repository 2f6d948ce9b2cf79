"""One alarm: what happened, who was told, what 999 asks for, and who goes and looks."""

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from safety import card, queries
from safety.models import Alarm
from safety.pages.keeper import entry_facts
from safety.services.answering import answer_for
from safety.services.closing import close_help
from safety.services.writing import card_of

MINUTES = [(15, _("15 minutes")), (30, _("30 minutes")), (60, _("an hour"))]


class AnswerForm(forms.Form):
    minutes = forms.TypedChoiceField(
        label=_("I will know within"), choices=MINUTES, coerce=int, initial=15, widget=forms.RadioSelect
    )
    note = forms.CharField(label=_("Where I look first, if you like"), max_length=300, required=False)


class CloseForm(forms.Form):
    note = forms.CharField(label=_("Whom you spoke to, or what you found"), max_length=300)


@page(*KEEPERS, methods=("GET", "POST"))
def close(request, *, now, fishery, pk):
    """Ending a call for help, with what was found."""
    row = get_object_or_404(queries.alarms_visible_to(request.user), pk=pk, outing__beat__fishery=fishery)

    def do(data):
        return close_help(row, note=data["note"], by=request.user, now=now)

    facts = {"title": _("%(who)s: close the call for help") % {"who": row.outing.guest.name},
             "button": _("They are found: close it"), "fishery": fishery}  # fmt: skip
    return acted(
        request, CloseForm(posted(request)), do, then=reverse("water-alarm", args=[fishery.slug, pk]), facts=facts
    )


@page(*KEEPERS, methods=("GET", "POST"))
def alarm(request, *, now, fishery, pk):
    row = get_object_or_404(queries.alarms_visible_to(request.user), pk=pk, outing__beat__fishery=fishery)

    def answer(data):
        return answer_for(row, minutes=data["minutes"], note=data["note"], by=request.user, now=now)

    told, answers = queries.told_of(row), queries.answers_of(row)
    facts = {
        "title": _("%(who)s: alarm") % {"who": row.outing.guest.name},
        "button": _("I am looking"),
        "alarm": row,
        "card": card.lines(card_of(row, now=now), now=now),
        "told": told,
        "answers": answers,
        "texts": queries.texts_about(row),
        "may_close": row.kind == Alarm.Kind.HELP and row.cleared_at is None,
        "ran_out": next(iter(answers), None),
        **entry_facts(row.outing, fishery, now=now),
        "held": next((each for each in answers if each.promised_until > now), None),
    }
    return acted(
        request, AnswerForm(posted(request)), answer, then=reverse("water-alarm", args=[fishery.slug, pk]),
        template="safety/alarm.html", facts=facts,
    )  # fmt: skip
