"""Pages of the day's fishing and of the book."""

urlpatterns = []
