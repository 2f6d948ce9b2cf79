"""The owner's pages, and the booker's."""

from django.urls import path

from bookings.pages import guests, invitations, let_acts, let_change, lets, money, my_lets, rights, terms, waiting

HOUSE = "at/<slug:fishery>/house/"
urlpatterns = [
    path("invitations/<int:pk>/accept/", invitations.accept, name="invitation-accept-page"),
    path("invitations/<int:pk>/decline/", invitations.decline, name="invitation-decline-page"),
    path("day/lets/", my_lets.lets, name="my-lets"),
    path("day/lets/<int:pk>/", my_lets.one, name="my-let"),
    path("day/lets/<int:pk>/confirm/", my_lets.confirm, name="my-let-confirm"),
    path("day/lets/<int:pk>/cancel/", my_lets.cancel, name="my-let-cancel"),
    path("day/lets/<int:pk>/party/", my_lets.party, name="my-let-party"),
    path("day/lets/<int:pk>/permit.pdf", my_lets.permit, name="my-let-permit"),
    path("day/<int:guest>/statement/", my_lets.statement, name="my-statement"),
    path("day/<int:guest>/statement/statement.pdf", my_lets.statement_paper, name="my-statement-paper"),
    path("at/<slug:fishery>/guests/", guests.guests, name="guests"),
    path("at/<slug:fishery>/guests/<int:pk>/", guests.contact, name="guest-contact"),
    path(f"{HOUSE}lets/", lets.lets, name="house-lets"),
    path(f"{HOUSE}lets/new/", lets.new, name="house-new-let"),
    path(f"{HOUSE}guests/new/", lets.new_guest, name="house-new-guest"),
    path(f"{HOUSE}lets/<int:pk>/", lets.one, name="house-let"),
    path(f"{HOUSE}lets/<int:pk>/confirm/", lets.confirm, name="house-confirm"),
    path(f"{HOUSE}lets/<int:pk>/cancel/", lets.cancel, name="house-cancel"),
    path(f"{HOUSE}lets/<int:pk>/permit.pdf", lets.permit, name="house-permit"),
    path(f"{HOUSE}lets/<int:pk>/money/", let_acts.entry, name="house-entry"),
    path(f"{HOUSE}lets/<int:pk>/party/", let_acts.party, name="house-party"),
    path(f"{HOUSE}lets/<int:pk>/hand-on/", let_acts.hand_on, name="house-hand-on"),
    path(f"{HOUSE}lets/<int:pk>/change/", let_change.change, name="house-change"),
    path(f"{HOUSE}lets/<int:pk>/split/", let_acts.split, name="house-split"),
    path(f"{HOUSE}takings/", money.takings, name="house-takings"),
    path(f"{HOUSE}takings/picture.svg", money.picture, name="house-takings-picture"),
    path(f"{HOUSE}rights/", rights.rights, name="house-rights"),
    path(f"{HOUSE}rights/open/", rights.opening, name="house-open-season"),
    path(f"{HOUSE}waiting/", waiting.waiting, name="house-waiting"),
    path(f"{HOUSE}waiting/new/", waiting.join, name="house-join-waiting"),
    path(f"{HOUSE}waiting/<int:pk>/off/", waiting.leave, name="house-leave-waiting"),
    path(f"{HOUSE}lets/<int:pk>/waiting/", waiting.for_let, name="house-let-waiting"),
    path(f"{HOUSE}terms/", terms.terms, name="house-terms"),
    path(f"{HOUSE}tariff/", terms.tariff, name="house-tariff"),
    path(f"{HOUSE}tariff/new/", terms.price, name="house-new-price"),
    path(f"{HOUSE}tariff/<int:pk>/end/", terms.price_end, name="house-end-price"),
    path(f"{HOUSE}letting-policy/", terms.letting, name="house-letting-policy"),
]
