"""Pages everybody has."""

from django.urls import path

from beats.pages import language, level, people, phone, reading, sign_in

urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign-in"),
    path("sign-in/code/", sign_in.code, name="sign-in-code"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("sign-out/everywhere/", sign_in.everywhere, name="sign-out-everywhere"),
    path("language/", language.language, name="language"),
    path("kept/", sign_in.kept, name="kept"),
    path("worker.js", phone.worker, name="worker"),
    path("manifest.json", phone.manifest, name="manifest"),
    path("at/<slug:fishery>/level/", level.level, name="water-level"),
    path("at/<slug:fishery>/level/<int:pk>/", reading.reading, name="water-reading"),
    path("at/<slug:fishery>/house/people/", people.people, name="house-people"),
    path("at/<slug:fishery>/house/people/tokens/new/", people.new_token, name="house-new-token"),
    path("at/<slug:fishery>/house/people/tokens/<int:pk>/withdraw/", people.withdraw, name="house-withdraw-token"),
]
