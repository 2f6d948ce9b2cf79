"""Addresses of pages, and what a page says."""

from django.urls import reverse


def at(name, beat, *more):
    """A page of the beat's water."""
    return reverse(name, args=[beat.fishery.slug, *more])


def at_let(name, let):
    return at(name, let.beat, let.pk)


def text(answer) -> str:
    return answer.content.decode()
