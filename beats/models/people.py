"""People who sign in, what part each has in a fishery, and the tokens their programs carry."""

from collections.abc import Iterator

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models


class UserManager(BaseUserManager):
    def create_user(self, email: str, *, name: str = "", phone: str = "", password: str | None = None):
        user = self.model(email=email.strip().lower(), name=name, phone=phone)
        user.set_password(password)
        user.save()
        return user

    def create_superuser(self, email: str, password: str | None = None, **fields):
        user = self.create_user(email, password=password, **fields)
        user.is_superuser = user.is_staff = True
        user.save(update_fields=["is_superuser", "is_staff"])
        return user


class User(AbstractBaseUser, PermissionsMixin):
    """Somebody who signs in, by e-mail address."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=20, blank=True, help_text="E.164, such as +441234567890")
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)
    sign_outs = models.PositiveIntegerField(
        default=0, db_default=0, help_text="How often they signed out everywhere; a session of before is none"
    )

    USERNAME_FIELD = "email"
    objects = UserManager()

    def get_session_auth_hash(self) -> str:
        """What a browser's session is held against at every request."""
        return self._since_last_sign_out(super().get_session_auth_hash())

    def get_session_auth_fallback_hash(self) -> Iterator[str]:
        return map(self._since_last_sign_out, super().get_session_auth_fallback_hash())

    def _since_last_sign_out(self, digest: str) -> str:
        return f"{digest} {self.sign_outs}" if self.sign_outs else digest

    def __str__(self) -> str:
        return self.name or self.email


class Membership(models.Model):
    """A person's one part in a fishery."""

    class Role(models.TextChoices):
        OWNER = "owner"
        GHILLIE = "ghillie"
        GUEST = "guest"

    KEEPERS = (Role.OWNER, Role.GHILLIE)

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    fishery = models.ForeignKey("beats.Fishery", on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "fishery"], name="one_part_in_a_fishery")]

    def __str__(self) -> str:
        return f"{self.user}, {self.role} at {self.fishery}"


class AccessToken(models.Model):
    """A secret a person's program sends; only its SHA-256 is kept."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="tokens")
    label = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.label} of {self.user}"
