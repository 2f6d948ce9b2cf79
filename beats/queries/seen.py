"""Who may see which water. The only place that decides it here."""

from collections.abc import Sequence

from django.db.models import QuerySet
from django.db.models.expressions import RawSQL
from django.http import Http404

from beats.models import Beat, Fishery, Gauge, GaugeKey, Membership, Pool, Reading, User
from beats.shared.phrases import say
from beats.shared.refusals import NotYours

Role = Membership.Role
KEPT = "SELECT fishery_id FROM beats_membership WHERE user_id = %s AND role IN (%s, %s)"
BEATS_KEPT = f"SELECT id FROM beats_beat WHERE fishery_id IN ({KEPT})"  # noqa: S608 - our own words


def fisheries_visible_to(user: User) -> QuerySet[Fishery]:
    return Fishery.objects.filter(memberships__user=user)


def fisheries_kept_by(user: User) -> QuerySet[Fishery]:
    """Fisheries where the person is a keeper."""
    return Fishery.objects.filter(memberships__user=user, memberships__role__in=Membership.KEEPERS)


def kept_by(user: User) -> RawSQL:
    """The same as a list of their ids, to ask within another question.

    By hand, like the beats below: most lists ask these, and Django takes longer to write them than the database to
    answer.
    """
    return RawSQL(KEPT, [user.pk, *Membership.KEEPERS])  # noqa: S611 - values are bound


def beats_kept_by(user: User) -> RawSQL:
    """The ids of their beats. Rows that name a beat are asked for by this, not by a join: both databases then look
    at one column of each, or at its index."""
    return RawSQL(BEATS_KEPT, [user.pk, *Membership.KEEPERS])  # noqa: S611 - values are bound


def beats_visible_to(user: User) -> QuerySet[Beat]:
    return Beat.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery", "gauge")


def pools_visible_to(user: User) -> QuerySet[Pool]:
    seen = Pool.objects.filter(beat__fishery__in=fisheries_visible_to(user))
    return seen.select_related("beat__fishery", "beat__gauge")


def gauges_visible_to(user: User) -> QuerySet[Gauge]:
    return Gauge.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def readings_visible_to(user: User) -> QuerySet[Reading]:
    return Reading.objects.filter(gauge__fishery__in=fisheries_visible_to(user)).select_related("gauge__fishery")


def gauge_keys_visible_to(user: User) -> QuerySet[GaugeKey]:
    """Keys of the gauges one may see; only the owner may list or revoke them."""
    return GaugeKey.objects.filter(gauge__fishery__in=fisheries_visible_to(user)).select_related("gauge__fishery")


def role_in(user: User, fishery: Fishery) -> str | None:
    return Membership.objects.filter(user=user, fishery=fishery).values_list("role", flat=True).first()


THE = {
    Role.OWNER: say("the owner"), Role.GHILLIE: say("the ghillie"), Role.GUEST: say("the guest"),
}  # fmt: skip


def the_parts(roles: Sequence[str]) -> str:
    """Who it is for, as a person would say it."""
    first, *rest = (THE[Role(role)] for role in roles)
    return say("{one} or {others}", one=first, others=the_parts(roles[1:])) if rest else first


def require_role(user: User, fishery: Fishery, *roles: str) -> str:
    """The person's part; a stranger gets a 404, a member with another part is told whose it is."""
    role = role_in(user, fishery)
    if role is None:
        raise Http404
    if role not in roles:
        raise NotYours(
            say(
                "At {fishery_name} only {who} may do this. Ask them.",
                fishery_name=fishery.name,
                who=the_parts(roles),
            )
        )
    return role
