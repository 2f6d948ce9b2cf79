"""Addresses of pages, and what a page says and asks."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

from django.urls import reverse

TICKED = {"checkbox", "radio"}


def at(name, beat, *more):
    """A page of the beat's water."""
    return reverse(name, args=[beat.fishery.slug, *more])


def at_let(name, let):
    return at(name, let.beat, let.pk)


def text(answer) -> str:
    return answer.content.decode()


@dataclass
class Asked:
    """One thing a form asks: `kind` is its type, `choices` what may be chosen, `value` what stands there."""

    name: str
    kind: str
    value: str = ""
    choices: list[str] = field(default_factory=list)
    stands: bool = True


@dataclass
class Form:
    action: str
    method: str
    fields: list[Asked] = field(default_factory=list)

    def typed(self) -> list[tuple[str, str]]:
        """What a browser would send."""
        return [(each.name, each.value) for each in self.fields if each.stands]


class Page(HTMLParser):
    """The links of a page, and its forms."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.forms: list[Form] = []
        self.writes: Asked | None = None
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        facts = dict(attrs)
        if tag == "a":
            self.links.append(facts.get("href") or "")
        elif tag == "form":
            self.forms.append(Form(facts.get("action") or "", (facts.get("method") or "get").lower()))
        elif self.forms and tag == "option" and self.writes:
            self._option(facts)
        elif self.forms and facts.get("name") and tag in {"input", "button", "select", "textarea"}:
            self._asked(tag, facts)

    def _asked(self, tag, facts):
        kind = facts.get("type", "text") if tag == "input" else tag
        asked = Asked(facts["name"], kind, facts.get("value") or "")
        if kind in TICKED:
            asked.stands, asked.value = "checked" in facts, asked.value or "on"
        elif kind in {"select", "textarea"}:
            self.writes = asked
        self.forms[-1].fields.append(asked)

    def _option(self, facts):
        value = facts.get("value") or ""
        if "selected" in facts or not self.writes.choices:
            self.writes.value = value
        self.writes.choices.append(value)

    def handle_data(self, data):
        if self.writes and self.writes.kind == "textarea":
            self.writes.value += data

    def handle_endtag(self, tag):
        if self.writes and tag == self.writes.kind:
            self.writes.value = self.writes.value.removeprefix("\n")
            self.writes = None
