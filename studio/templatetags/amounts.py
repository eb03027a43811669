"""Amounts as text, in the studio's own currency and measures."""

from django import template

register = template.Library()
