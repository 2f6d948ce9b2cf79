"""What the owner is asked about the watch of a beat: who is told, by what, after how long; what calls rods in."""

from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from beats.models import Beat
from beats.pages.keyed import VersionForm
from safety import ladder, levels, policy
from safety.ladder import By, Who
from safety.services.people import policy_of

WHO = [
    (Who.ANGLER, _("the angler")), (Who.GHILLIE, _("the ghillie on duty")), (Who.KEEPER, _("every keeper")),
    (Who.OWNER, _("the owner")), (Who.CONTACT, _("the emergency contact")),
]  # fmt: skip
BY = [(By.EMAIL, _("e-mail")), (By.TEXT, _("text message")), (By.VOICE, _("telephone call"))]
STALE = [
    (policy.REFUSE, _("stay off the water, or go in company")),
    (policy.WITNESS, _("ask a keeper to watch for them, or go in company")),
]
WEATHER = [
    ("yellow", _("yellow")), ("amber", _("amber")), ("red", _("red")), (levels.NEVER, _("never")),
]  # fmt: skip
FLOOD = [
    ("alert", _("flood alert")), ("warning", _("flood warning")), ("severe", _("severe flood warning")),
    (levels.NEVER, _("never")),
]  # fmt: skip
FIGURES: dict[str, Promise] = {
    "recall_level_m": _("Rods are called in from this level on, in metres (empty: never)"),
    "recall_rise_m_per_h": _("Rods are called in when it rises so many metres an hour (empty: never)"),
    "recall_band_m": _("The call ends so many metres below the mark"),
    "recall_dark_minutes": _("Rods are called in so many minutes before dark (0: never)"),
    "recall_answer_minutes": _("Minutes to answer a call in"),
    "recall_out_minutes": _("Minutes to come off the water in, once it is answered"),
    "receipt_seconds": _("Seconds without a receipt before the next way is tried"),
    "texts_an_hour": _("Texts and calls an hour at most, for company; a lone angler's always go"),
}
LATEST_CONTACT_MIN, LATEST_WARNING_MIN = 1440, 240
"""As the API takes them."""


MINUTES = ("lone_grace_minutes", "grace_minutes", "contact_minutes", "warn_minutes")
"""What the beat keeps beside its policy."""


def _minutes(label, *, low: int, high: int, required: bool = True, help_text="") -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=low, max_value=high, required=required, help_text=help_text)


def _several(label, choices) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label, choices=choices, required=False, widget=forms.CheckboxSelectMultiple
    )


def _one(label, choices) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, widget=forms.RadioSelect)


class WatchForm(VersionForm):
    """The whole of a beat's policy. A step left without a minute and without anybody is no step."""

    def __init__(self, *args, beat: Beat, **more) -> None:
        self.standing = policy_of(beat)
        told = policy.write(self.standing)
        stages = told["ladder"]["stages"]
        first = {name: getattr(beat, name) for name in MINUTES} | {"version": beat.watch_version}
        super().__init__(*args, initial=_as_fields(told, stages) | first, **more)
        self._add_grace()
        self.steps = range(1, min(len(stages) + 2, ladder.MOST_STAGES) + 1)
        for step in self.steps:
            self._add_step(step)
        self._add_rest()

    def _add_grace(self) -> None:
        self.fields |= {
            "lone_grace_minutes": _minutes(
                _("Minutes from the time back to the alarm, for somebody alone (best: 0)"),
                low=0, high=policy.LONGEST_LONE_GRACE_MIN,
                help_text=_("Whoever is on the water now keeps the alarm they have until they give another time."),
            ),
            "grace_minutes": _minutes(
                _("Minutes from the time back to the alarm, in company"), low=0, high=policy.LONGEST_GRACE_MIN
            ),
        }  # fmt: skip

    def _add_step(self, step: int) -> None:
        number, longest = {"step": step}, ladder.LONGEST_AFTER_MIN
        self.fields |= {
            f"after_{step}": _minutes(
                _("Step %(step)s: minutes after the alarm") % number, low=0, high=longest, required=False
            ),
            f"who_{step}": _several(_("Step %(step)s tells") % number, WHO),
            f"by_{step}": _several(_("Step %(step)s tells them by") % number, BY),
            f"again_{step}": _minutes(
                _("Step %(step)s again every so many minutes (empty: once)") % number,
                low=ladder.SHORTEST_REPEAT_MIN, high=longest, required=False,
            ),
        }  # fmt: skip

    def _add_rest(self) -> None:
        clock = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
        self.fields |= {
            "quiet_from": forms.TimeField(
                label=_("No telephone rings for a party in company from"), required=False, widget=clock
            ),
            "quiet_to": forms.TimeField(label=_("until"), required=False, widget=clock),
            "contact_minutes": _minutes(
                _("Somebody alone says every so many minutes that all is well (0: not asked)"),
                low=0, high=LATEST_CONTACT_MIN,
            ),
            "warn_minutes": _minutes(
                _("The angler is reminded so many minutes before they are due (0: not)"),
                low=0, high=LATEST_WARNING_MIN,
            ),
            "when_stale": _one(_("While the watch is not running, somebody alone is advised to"), STALE),
            "recall_weather": _one(_("Rods are called in from this weather warning on"), WEATHER),
            "recall_flood": _one(_("Rods are called in from this flood warning on"), FLOOD),
        }  # fmt: skip
        self.fields |= {name: _figure(name, label) for name, label in FIGURES.items()}

    def clean(self):
        data = super().clean()
        if bool(data.get("quiet_from")) != bool(data.get("quiet_to")) and not {"quiet_from", "quiet_to"} & set(
            self.errors
        ):
            self.add_error("quiet_to", _("Give both hours, or leave both empty."))
        for step in self.steps:
            if (
                data.get(f"after_{step}") is None
                and data.get(f"who_{step}")
                and f"after_{step}" not in self.errors
            ):
                self.add_error(f"after_{step}", _("Say how many minutes after the alarm they are told."))
        return data

    def rules(self) -> dict[str, Any]:
        """What differs from the usual, and whatever was said before: the usual may change, a word given stays."""
        usual = policy.write(policy.WatchPolicy())
        chosen = {name: self.cleaned_data[name] for name in (*FIGURES, *CHOICES)} | {"ladder": self._ladder()}
        return {
            name: value for name, value in chosen.items() if value != usual[name] or name in self.standing.given
        }

    def _ladder(self) -> dict[str, Any]:
        data = self.cleaned_data
        stages = [
            {"after_minutes": data[f"after_{step}"], "who": data[f"who_{step}"], "by": data[f"by_{step}"],
             "repeat_minutes": data[f"again_{step}"]}
            for step in self.steps if data[f"after_{step}"] is not None
        ]  # fmt: skip
        quiet = [f"{data[name]:%H:%M}" for name in ("quiet_from", "quiet_to") if data[name]]
        return {"stages": stages, "quiet": quiet or None}


CHOICES = ("when_stale", "recall_weather", "recall_flood")


def _figure(name: str, label) -> forms.Field:
    low, high = policy.LIMITS[name]
    kind = forms.IntegerField if name in policy.WHOLE else forms.FloatField
    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return kind(label=label, min_value=low, max_value=high, required=name not in policy.MAY_BE_NONE, widget=widget)


def _as_fields(told: dict[str, Any], stages: list[dict[str, Any]]) -> dict[str, Any]:
    first = {name: told[name] for name in (*FIGURES, *CHOICES)}
    quiet = told["ladder"]["quiet"] or ["", ""]
    for step, stage in enumerate(stages, start=1):
        first |= {f"after_{step}": stage["after_minutes"], f"who_{step}": stage["who"], f"by_{step}": stage["by"],
                  f"again_{step}": stage["repeat_minutes"]}  # fmt: skip
    return first | {"quiet_from": quiet[0], "quiet_to": quiet[1]}
