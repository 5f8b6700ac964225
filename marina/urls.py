"""All addresses of the site. Each needs a row in `marina/desk/roles.py`, else it is closed."""

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from marina.desk import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sign-in/", LoginView.as_view(template_name="desk/sign_in.html"), name="login"),
    path("sign-out/", LogoutView.as_view(), name="logout"),
    path("me/", views.me, name="me"),
    path("me/password/", views.Password.as_view(), name="password"),
    path("about/", views.about, name="about"),
    path("offline/", views.offline, name="offline"),
    path("sw.js", views.service_worker, name="service-worker"),
    path("health/", views.health, name="health"),
    path("admin/", admin.site.urls),
    path("", include("vessels.urls")),  # first: 'lines/new/' is a form, not a line called new
    path("", include("berths.urls")),
]
