"""Letters of lets: the sweep asks which let has an edition nobody was told of, writes that down, sends it.

Nothing is sent before the let is committed, since only a committed let can be found; a letter goes at
least once, and twice only if a sender dies between the mail server taking it and the note of it.
"""

import datetime as dt
from collections.abc import Callable, Iterable

from django.core.mail import EmailMessage
from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from beats.queries import local_day
from beats.shared import outbox
from beats.shared.outbox import Outgoing
from bookings import permits
from bookings.models import Let, Paper
from bookings.papers.parts import as_text
from bookings.papers.permit import sections

BATCH = 200
WAITS = [dt.timedelta(seconds=30) * 2**n for n in range(6)] + [dt.timedelta(hours=1)] * 24


def untold_lets() -> QuerySet[Let]:
    """Lets, confirmed or called off, of whose present edition there is no letter yet."""
    papers = Paper.objects.filter(let=OuterRef("pk"))
    told_before = Exists(papers.filter(edition__lt=OuterRef("edition")))
    worth_telling = Q(status=Let.Status.CONFIRMED) | Q(status=Let.Status.CANCELLED) & told_before
    return Let.objects.filter(worth_telling & ~Exists(papers.filter(edition=OuterRef("edition")))).order_by("pk")


def write_papers(*, now: dt.datetime) -> int:
    """A letter for every untold edition; how many. One that goes to nobody, or comes too late, is not needed."""
    written = 0
    for let in untold_lets().select_related("booker", "beat__fishery")[:BATCH]:
        email = let.booker.email
        state = Outgoing.State.WAITING if letter_wanted(let, now=now) else Outgoing.State.NOT_NEEDED
        try:
            with transaction.atomic():
                Paper.objects.create(
                    let=let, edition=let.edition, recipient=email, state=state, written_at=now, next_try_at=now
                )
        except IntegrityError:  # another sweep wrote it
            continue
        written += 1
    return written


def letter_wanted(let: Let, *, now: dt.datetime) -> bool:
    """Whether there is an address to write to, and a day still to come."""
    return bool(let.booker.email) and let.last_on >= local_day(let.beat.fishery, now)


def write_no_letters(lets: Iterable[Let], *, now: dt.datetime) -> None:
    """Note that the present edition of these lets needs no letter; later editions are written about as usual."""
    not_needed = Outgoing.State.NOT_NEEDED
    Paper.objects.bulk_create(
        Paper(let=let, edition=let.edition, state=not_needed, written_at=now, next_try_at=now) for let in lets
    )


def send_papers(*, clock: Callable[[], dt.datetime]) -> outbox.Round:
    """Write what is untold, then send what is due. Idempotent; any number may run at once."""
    write_papers(now=clock())
    return outbox.send_due(Paper, lambda paper: _send(paper, clock()), waits=WAITS, clock=clock, at_once=1)


def _send(paper: Paper, now: dt.datetime) -> None:
    let = Let.objects.select_related("beat__fishery", "booker").get(pk=paper.let_id)
    if let.edition != paper.edition:
        raise outbox.GiveUp("A later edition takes its place.")
    if not paper.recipient:
        raise outbox.GiveUp("The guest has no e-mail address any more.")
    message = _letter(let, now)
    message.to = [paper.recipient]
    message.extra_headers = {"Message-ID": f"<{paper.pk}@rodtally>"}  # the same at every try
    if message.send() != 1:
        raise OSError("the mail server took nothing")
    Paper.objects.filter(pk=paper.pk, lease=paper.lease).update(subject=message.subject[:200])


def _letter(let: Let, now: dt.datetime) -> EmailMessage:
    if let.status == Let.Status.CANCELLED:
        title, told = permits.cancellation(let, now=now)
        return EmailMessage(subject=title, body=as_text(title, told))
    permit = permits.permit(let, now=now)
    message = EmailMessage(subject=permit.subject, body=as_text(permit.title, sections(permit)))
    message.attach(f"permit-{let.pk}-{let.edition}.pdf", permits.printed(permit, now=now), "application/pdf")
    return message
