"""Letters of lets: found by the let's own state, sent at least once, after the let is committed."""

import datetime as dt
import threading

import pytest
from django.core import mail
from django.core.mail import get_connection
from django.db import connection, transaction

from bookings.models import Guest, Let, Paper
from bookings.services import papers
from bookings.services.lets import cancel_let, let_rods, share_rod
from tests.factories import NOON, GuestFactory, client_of, guest_with_account

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 5, 11)
MINUTE = dt.timedelta(minutes=1)


@pytest.fixture
def una(beat):
    return guest_with_account(beat.fishery, name="Una")


@pytest.fixture
def let(beat, una, owner):
    return let_rods(beat, booker=una, first_on=MONDAY, last_on=MONDAY, rods=1, guests=[una], by=owner, now=NOON)[0]


def swept(at=NOON):
    return papers.send_papers(clock=lambda: at)


def states():
    return list(Paper.objects.order_by("edition").values_list("edition", "state"))


def test_a_let_is_confirmed_by_one_letter_with_the_permit(let, una):
    swept()
    swept()
    (letter,) = mail.outbox
    assert (letter.to, letter.subject) == (
        [una.email], f"Permission to fish: {let.beat.name}, {let.beat.fishery.name}, 11 May 2026",
    )  # fmt: skip
    ((name, content, kind),) = letter.attachments
    assert (name, content[:5], kind) == (f"permit-{let.pk}-1.pdf", b"%PDF-", "application/pdf")
    assert "Monday 11 May 2026  rod 1  Una" in letter.body


def test_nothing_is_sent_for_a_let_that_is_not_committed(beat, una, owner):
    class Undone(Exception):
        pass

    def undo():
        with transaction.atomic():
            let_rods(beat, booker=una, first_on=MONDAY, last_on=MONDAY, rods=1, by=owner, now=NOON)
            raise Undone

    with pytest.raises(Undone):
        undo()
    swept()
    assert (mail.outbox, states()) == ([], [])


def test_a_changed_let_gets_a_new_letter_and_a_cancelled_one_says_so(let, beat, owner):
    swept()
    share_rod(let, rod=1, guest=GuestFactory(fishery=beat.fishery), by=owner, now=NOON)
    swept()
    cancel_let(let, by=owner, now=NOON)
    swept()
    told = client_of(owner).get(f"/api/v1/lets/{let.pk}/letters/").json()["results"]
    assert {(row["edition"], row["state"]) for row in told} == set(states())
    assert [letter.subject.split(":")[0] for letter in mail.outbox] == [
        "Permission to fish", "Permission to fish", "Cancelled",
    ]  # fmt: skip
    assert states() == [(1, "sent"), (2, "sent"), (3, "sent")]


def test_a_let_called_off_before_anybody_was_told_needs_no_letter(let, owner):
    cancel_let(let, by=owner, now=NOON)
    swept()
    assert (mail.outbox, states()) == ([], [])


def test_an_overtaken_letter_is_not_sent(let, beat, owner):
    papers.write_papers(now=NOON)
    share_rod(let, rod=1, guest=GuestFactory(fishery=beat.fishery), by=owner, now=NOON)
    swept()
    assert (len(mail.outbox), states()) == (1, [(1, "given_up"), (2, "sent")])


def test_a_guest_without_an_address_is_noted_and_nothing_sent(let):
    Guest.objects.update(email="")
    swept()
    assert (mail.outbox, states()) == ([], [(1, "not_needed")])


class Broken:
    """A mail server that is down for a number of tries."""

    def __init__(self, failures):
        self.failures = failures

    def __call__(self, *_args, **_kwargs):
        if self.failures:
            self.failures -= 1
            raise OSError("no mail server")
        return get_connection("django.core.mail.backends.locmem.EmailBackend")


def test_a_mail_server_that_is_down_is_tried_again_later_each_time(let, monkeypatch):
    monkeypatch.setattr("django.core.mail.message.EmailMessage.get_connection", Broken(2))
    sent = [swept(NOON + n * MINUTE / 2).sent for n in range(5)]
    assert sent == [0, 0, 0, 1, 0]  # tried at 0 s, 30 s, and 60 s after that
    assert [letter.extra_headers["Message-ID"] for letter in mail.outbox] == [
        f"<{Paper.objects.get().pk}@rodtally>"
    ]


def test_a_sender_that_died_is_followed_by_another_when_its_lease_is_over(let):
    papers.write_papers(now=NOON)
    papers.outbox.take(Paper, Paper.objects.get().pk, now=NOON)
    assert [swept(NOON + n * MINUTE).sent for n in (1, 2)] == [0, 1]


@pytest.mark.races
@pytest.mark.django_db(transaction=True)
def test_many_senders_at_once_send_one_letter(let):
    def run():
        try:
            swept()
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(mail.outbox), states()) == (1, [(1, "sent")])
    assert Let.objects.get().edition == 1
