"""A refusal: a rule said no, in words an angler can act on."""

from collections.abc import Mapping, Sequence

from beats.shared.phrases import say

PROBLEM_BASE = "/api/v1/problems/"


class Refusal(Exception):
    """Base of every named no. Subclasses set `code` (stable), `title` and `status` (HTTP).

    `sentence` tells the person what is the matter and what to do; `errors` names fields.
    """

    code = "refused"
    title: str = say("Refused")
    status = 409

    def __init__(self, sentence: str, *, errors: Mapping[str, Sequence[str]] | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.errors = {field: list(texts) for field, texts in (errors or {}).items()}


class NotYours(Refusal):
    """The person may see the thing but has no part that allows this act."""

    code = "not-your-part"
    title = say("Not your part")
    status = 403


class KeyReused(Refusal):
    """An Idempotency-Key came again with another request."""

    code = "key-reused"
    title = say("Key already used")
    status = 422


class Stale(Refusal):
    """If-Match named a version that is no longer the newest."""

    code = "stale"
    title = say("Changed meanwhile")
    status = 412


def catalogue() -> dict[str, type[Refusal]]:
    """Every refusal there is, by code: what the problems page lists."""
    found: dict[str, type[Refusal]] = {}
    waiting = list(Refusal.__subclasses__())
    while waiting:
        kind = waiting.pop()
        waiting.extend(kind.__subclasses__())
        found[kind.code] = kind
    return dict(sorted(found.items()))
