"""Where the owner begins: what waits for them, then where everything is."""

from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from sessions.owners_desk import desk_of


@page(OWNER)
def house(request, *, now, fishery):
    return shown_at(request, fishery, "season/desk.html", {"desk": desk_of(fishery, now=now)})
