from django.urls import path

from safety.api import views

urlpatterns = [
    path("alarms/", views.Alarms.as_view(), name="alarms"),
    path("alarms/<int:pk>/", views.AlarmDetail.as_view(), name="alarm"),
]
