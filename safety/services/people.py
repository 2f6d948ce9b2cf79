"""Whom a stage tells, and by what they can be reached: read once for many alarms."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.conf import settings

from beats.models import Beat, Fishery, Membership
from beats.queries import zone_of
from bookings.models import Guest
from safety import policy
from safety.ladder import BadLadder, By, Who
from safety.ladder_words import in_words
from safety.models import Delivery, Duty, PushAddress
from safety.services.channels_available import channels_available, ways_to

Role = Membership.Role
Way = tuple[str, str, int]
"""(channel, recipient, rank)"""


@dataclass(frozen=True)
class Person:
    """Somebody to tell. `key` is the same for the same person, whatever the channel; `account` is their user."""

    key: str
    name: str
    email: str
    phone: str
    account: int | None = None

    def ways(self, by: Iterable[By]) -> list[Way]:
        """(channel, recipient, rank) of each way that reaches them; a call only when no receipt comes."""
        found = []
        if self.email and By.EMAIL in by:
            found.append((Delivery.Channel.EMAIL, self.email, 0))
        if self.phone and gateway_is_set():
            if By.TEXT in by:
                found.append((Delivery.Channel.TEXT, self.phone, 0))
            if By.VOICE in by:
                found.append((Delivery.Channel.VOICE, self.phone, int(By.TEXT in by)))
        return found


def pushes_of(accounts: Iterable[int]) -> dict[int, list[Way]]:
    """The phones of these people that take pushes: one more copy each. No query where nothing is pushed."""
    found: dict[int, list[Way]] = defaultdict(list)
    if settings.WEB_PUSH_KEY:
        rows = PushAddress.objects.filter(user__in=accounts, user__is_active=True).order_by("pk")
        for row in rows.only("pk", "user_id"):
            found[row.user_id].append((Delivery.Channel.PUSH, row.recipient, 0))
    return found


def angler(guest: Guest) -> Person:
    return Person(f"guest:{guest.pk}", guest.name, guest.email, guest.phone, guest.user_id)


def gateway_is_set() -> bool:
    return channels_available().gateway


def policy_of(beat: Beat) -> policy.WatchPolicy:
    """The beat's policy; one that cannot be read must not silence an alarm, so the usual one then."""
    try:
        return policy.read(beat.watch_policy)
    except BadLadder:
        return policy.WatchPolicy()


@dataclass
class Crew:
    """The keepers and those on duty of each fishery, as of one instant."""

    now: dt.datetime
    _keepers: dict[int, list[tuple[str, Person]]] = field(default_factory=dict)
    _duty: dict[int, set[str] | None] = field(default_factory=dict)
    _policies: dict[int, policy.WatchPolicy] = field(default_factory=dict)
    _pushes: dict[int, list[Way]] = field(default_factory=dict)

    def policy(self, beat: Beat) -> policy.WatchPolicy:
        if beat.pk not in self._policies:
            self._policies[beat.pk] = policy_of(beat)
        return self._policies[beat.pk]

    def promise(self, beat: Beat, *, alarm_at: dt.datetime, alone: bool, guest: Guest | None = None) -> list[str]:
        """The beat's ladder in plain words, for `guest` whose alarm is raised then. None: for somebody of whom
        a number, an address and an emergency contact are known."""
        at = alarm_at.astimezone(zone_of(beat.fishery))
        reached = {who: self.reach(who, guest, beat.fishery) for who in Who}
        return in_words(self.policy(beat).ladder, alarm_at=at, alone=alone, reached_by=reached)

    def reach(self, who: Who, guest: Guest | None, fishery: Fishery) -> frozenset[By]:
        """The ways by which at least one of these people can be told here."""
        if guest is None and who in (Who.ANGLER, Who.CONTACT):
            return channels_available().ways
        people, _ = self.people(who, guest, fishery)
        return frozenset().union(*(ways_to(email=one.email, phone=one.phone) for one in people))

    def know_pushes(self, accounts: Iterable[int | None]) -> None:
        """Read the push addresses of many people at once."""
        unknown = {account for account in accounts if account is not None} - self._pushes.keys()
        if unknown:
            found = pushes_of(unknown)
            self._pushes |= {account: found.get(account, []) for account in unknown}

    def pushes(self, person: Person) -> list[Way]:
        """Beside their other ways, never instead of one."""
        self.know_pushes([person.account])
        return self._pushes[person.account] if person.account is not None else []

    def keepers(self, fishery: Fishery, *roles: str) -> list[Person]:
        """Keepers with one of the parts, the longest known first."""
        if fishery.pk not in self._keepers:
            rows = Membership.objects.filter(
                fishery=fishery, role__in=Membership.KEEPERS, user__is_active=True
            ).select_related("user")
            self._keepers[fishery.pk] = [
                (
                    row.role,
                    Person(f"user:{row.user_id}", str(row.user), row.user.email, row.user.phone, row.user_id),
                )
                for row in rows.order_by("user_id")
            ]
            self.know_pushes(person.account for _, person in self._keepers[fishery.pk])
        return [person for role, person in self._keepers[fishery.pk] if role in (roles or Membership.KEEPERS)]

    def on_duty(self, fishery: Fishery) -> list[Person]:
        """Keepers standing by now. A fishery that keeps no list of duties has all of them by."""
        if fishery.pk not in self._duty:
            listed = Duty.objects.filter(fishery=fishery)
            now = listed.filter(from_at__lte=self.now, until_at__gt=self.now)
            on = {f"user:{pk}" for pk in now.values_list("user_id", flat=True)}
            self._duty[fishery.pk] = on if on or listed.exists() else None
        on = self._duty[fishery.pk]
        everybody = self.keepers(fishery)
        return everybody if on is None else [person for person in everybody if person.key in on]

    def people(self, who: Who, guest: Guest | None, fishery: Fishery) -> tuple[list[Person], str]:
        """(people, why there is nobody)."""
        if who is Who.ANGLER:
            return [angler(guest)], ""
        if who is Who.CONTACT:
            return _contact(guest)
        if who is Who.GHILLIE:
            on = self.on_duty(fishery)
            return (on, "") if on else (self.keepers(fishery), "nobody is on duty: every keeper is told")
        found = self.keepers(fishery, Role.OWNER) if who is Who.OWNER else self.keepers(fishery)
        return found, "" if found else f"the fishery has no {who}"


def _contact(guest: Guest) -> tuple[list[Person], str]:
    phone, email = guest.emergency_contact_phone, guest.emergency_contact_email
    if not phone and not email:
        return [], "no emergency contact is known"
    phone = "" if phone == guest.phone else phone
    email = "" if email == guest.email else email
    if not phone and not email:
        return [], "the emergency contact has the angler's own number or address"
    name = guest.emergency_contact_name or "emergency contact"
    return [Person(f"contact:{guest.pk}", name, email, phone)], ""
