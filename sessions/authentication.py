"""The key of a district board: it reads one fishery's signed returns, and opens nothing else."""

from dataclasses import dataclass

from django.utils import timezone
from rest_framework import exceptions
from rest_framework.authentication import get_authorization_header

from beats.authentication import TokenAuthentication, digest_of
from beats.shared import wall
from beats.shared.refusals import NotYours
from sessions.models import BoardKey

KEY_MARK = "board-"


@dataclass(frozen=True)
class Board:
    """A district board's machine, where a view asks who is calling."""

    key: BoardKey
    is_authenticated = True


class BoardAuthentication(TokenAuthentication):
    """As for people; and `Authorization: Bearer board-...`, which only reads signed returns."""

    def authenticate(self, request):
        words = get_authorization_header(request).split()
        if len(words) != 2 or not words[1].startswith(KEY_MARK.encode()):
            return super().authenticate(request)
        found = (
            BoardKey.objects.select_related("fishery")
            .filter(
                digest=digest_of(words[1].decode("latin-1")),
                expires_at__gt=timezone.now(),
                revoked_at__isnull=True,
            )
            .first()
        )
        if found is None:
            raise exceptions.AuthenticationFailed(
                "This key is unknown, revoked or expired. Ask the owner for a new one."
            )
        if request.method != "GET":
            raise NotYours("A district board's key reads signed returns and changes nothing.")
        wall.raise_around(found.fishery_id)
        return Board(found), found
