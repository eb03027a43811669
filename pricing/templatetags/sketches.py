"""Small drawings in templates."""

from django import template

from pricing.estimating.sketches import sketch

register = template.Library()
register.filter("sketch", sketch)
