"""Forms of the ground floor, and how every form of the project is drawn."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, SetPasswordForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.forms.renderers import TemplatesSetting

from studio.models.people import Role

TRUST = "Sees costs, profit and customers' addresses"


class Renderer(TemplatesSetting):
    """Draw a field as label, hint, error and input, in that order."""

    field_template_name = "studio/forms/field.html"


class SignIn(AuthenticationForm):
    """E-mail address (or the user name a host gave out) and password."""

    error_messages = {
        "invalid_login": "That e-mail address and password do not go together. Please try again.",
        "inactive": "This account has been closed.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "E-mail address"
        self.fields["username"].widget.attrs.update(inputmode="email", enterkeyhint="next")
        self.fields["password"].widget.attrs["enterkeyhint"] = "go"

    def clean_username(self) -> str:
        name = self.cleaned_data["username"].strip()
        return name.lower() if "@" in name else name


GOOD_PASSWORD = "At least 8 characters. Three or four unrelated words are easy to remember."


class PasswordChange(PasswordChangeForm):
    """The old password, and a new one twice."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = GOOD_PASSWORD
        self.fields["new_password2"].label = "New password once more"
        self.fields["new_password2"].help_text = ""


class NewPassword(SetPasswordForm):
    """A new password twice, for who has forgotten the old one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = GOOD_PASSWORD
        self.fields["new_password2"].label = "New password once more"
        self.fields["new_password2"].help_text = ""


class ForgottenPassword(forms.Form):
    """Whose password was forgotten."""

    email = forms.EmailField(
        label="E-mail address",
        max_length=150,
        help_text="The one you sign in with.",
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )


class AccountForm(forms.Form):
    """The name, e-mail address and password of a new person."""

    person = forms.CharField(
        label="Your name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    email = forms.EmailField(
        label="E-mail address",
        max_length=150,
        help_text="You sign in with it.",
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    password = forms.CharField(
        label="Password",
        strip=False,
        help_text=GOOD_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_password(self) -> str:
        validate_password(self.cleaned_data["password"])
        return self.cleaned_data["password"]


class NewStudio(forms.Form):
    """A studio's name; whatever else it needs is asked once it is open, or set."""

    studio_name = forms.CharField(
        label="Name of the studio",
        max_length=120,
        help_text="As it should stand on quotes. It can be changed.",
    )


class NewStudioAndAccount(NewStudio, AccountForm):
    """A new studio and the account of its first owner, on one page."""

    field_order = ("studio_name", "person", "email", "password")


class InvitePerson(forms.Form):
    """Whom to invite and what they may do."""

    email = forms.EmailField(label="E-mail address")
    role = forms.ChoiceField(
        label="What they may do",
        choices=Role.choices,
        initial=Role.MAKER,
        widget=forms.RadioSelect,
    )
    sees_costs = forms.BooleanField(
        label=TRUST,
        help_text="Counts for a maker. Owners always see it, viewers never.",
        required=False,
    )


class RoleChoice(forms.Form):
    """What a member may do and see from now on."""

    role = forms.ChoiceField(choices=Role.choices)
    sees_costs = forms.BooleanField(required=False)


class NewToken(forms.Form):
    """What a token is for."""

    label = forms.CharField(
        label="What is it for?", max_length=60, help_text="Such as “Shop website” or “My script”."
    )

    def clean_label(self) -> str:
        label = self.cleaned_data["label"]
        if not label.isprintable():
            raise ValidationError("Use letters and figures only.", code="unprintable")
        return label


class WhyForm(forms.Form):
    """The reason for taking back something that was done."""

    why = forms.CharField(label="Why", max_length=200)
