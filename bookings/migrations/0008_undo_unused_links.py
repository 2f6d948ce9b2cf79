"""Accounts are linked to guest entries by the person's own consent: links nobody can have consented to are undone.

Until now entering a guest linked the account of that address at once. A person who never signed in and has no token
has agreed to nothing: they are asked when they first sign in. A link that has been used stays.
"""

from django.db import migrations


def undo_links(apps, schema_editor):
    guest = apps.get_model("bookings", "Guest")
    membership = apps.get_model("beats", "Membership")
    user = apps.get_model("beats", "User")
    token = apps.get_model("beats", "AccessToken")
    unused = user.objects.filter(last_login__isnull=True).exclude(pk__in=token.objects.values("user"))
    linked = guest.objects.filter(user__in=unused).exclude(email="")
    for fishery, person in linked.values_list("fishery", "user"):
        membership.objects.filter(fishery=fishery, user=person, role="guest").delete()
    linked.update(user=None)


def link_again(apps, schema_editor):
    """As before: every entry is linked to the account of its address."""
    guest = apps.get_model("bookings", "Guest")
    membership = apps.get_model("beats", "Membership")
    user = apps.get_model("beats", "User")
    for entry in guest.objects.filter(user__isnull=True, erased_at__isnull=True).exclude(email=""):
        person = user.objects.filter(email=entry.email).first()
        if person is None or guest.objects.filter(fishery=entry.fishery, user=person).exists():
            continue
        guest.objects.filter(pk=entry.pk).update(user=person, declined_at=None)
        membership.objects.get_or_create(fishery=entry.fishery, user=person, defaults={"role": "guest"})


class Migration(migrations.Migration):
    dependencies = [("bookings", "0007_invitations")]
    operations = [migrations.RunPython(undo_links, link_again)]
