"""The owner's pages."""

urlpatterns = []
